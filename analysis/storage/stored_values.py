"""Dataclasses from what a stored file holds of them in JSON, held against the ranges that their fields describe."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from types import NoneType
from typing import Any, get_args, get_origin, get_type_hints

from analysis.storage.description import tame
from scenarios.format.errors import shown
from scenarios.format.keys import SETTINGS_META
from sim.unit import Settings

NEAR = 1e-9  # share of a bound by which a value in SI may lie beyond it: rounding between units
MOST = 20_000  # items of a list


class Unfit(ValueError):
    """A value that its field does not take: where it is (dotted), what was given, what is allowed."""

    def __init__(self, where: str, given: str, allowed: str) -> None:
        super().__init__(where)
        self.where, self.given, self.allowed = where, given, allowed


def made(shape: Any, values: Any, where: str) -> Any:
    """A dataclass from its values as `dataclasses.asdict` and JSON give them. Raises Unfit for the first that is wrong.

    where: what the values are called in a message. Every field has to be there and no other.
    """
    if not isinstance(values, Mapping):
        raise Unfit(where, _given(values), "a group of values")
    named = {item.name: item for item in fields(shape)}
    lacking, strange = sorted(set(named) - set(values)), sorted(set(values) - set(named) - {"kind"})
    if lacking:
        raise Unfit(f"{where}.{lacking[0]}", "missing", "every value by name")
    if strange:
        raise Unfit(where, _given(strange[0]), "the values that rowbench writes, by name")
    hints, extra = get_type_hints(shape), SETTINGS_META if shape is Settings else {}
    return shape(**{
        name: _value(hints[name], item.metadata or extra.get(name, {}), values[name], f"{where}.{name}")
        for name, item in named.items()
    })  # fmt: skip


def one_of(shapes: tuple[Any, ...], values: Any, where: str) -> Any:
    """The one of several dataclasses whose `kind` the values name; the only one where it has none."""
    if len(shapes) == 1 and not hasattr(shapes[0], "kind"):
        return made(shapes[0], values, where)
    kind = values.get("kind") if isinstance(values, Mapping) else None
    for shape in shapes:
        if shape.kind == kind:
            return made(shape, values, where)
    raise Unfit(f"{where}.kind", _given(kind), ", ".join(shape.kind for shape in shapes))


def items(value: Any, where: str, most: int = MOST) -> list[Any]:
    """A list of at most so many things."""
    if not isinstance(value, list) or len(value) > most:
        raise Unfit(where, _given(value), f"a list of up to {most}")
    return value


def text(value: Any, where: str, most: int = 2000) -> str:
    """A text; "?" stands in it for control characters, which a terminal would act on."""
    if not isinstance(value, str) or len(value) > most:
        raise Unfit(where, _given(value), f"a text of up to {most} characters")
    return tame(value)


def whole(value: Any, where: str, low: int, high: int) -> int:
    """A whole number within bounds."""
    if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
        raise Unfit(where, _given(value), f"a whole number, {low} to {high}")
    return value


def number(value: Any, where: str, low: float, high: float) -> float:
    """A number within bounds, but for rounding."""
    fits = isinstance(value, int | float) and not isinstance(value, bool)
    if not fits or not low - NEAR * abs(low) <= value <= high + NEAR * abs(high):
        raise Unfit(where, _given(value), f"{low:.12g} to {high:.12g}")
    return float(value)


def _value(hint: Any, meta: Mapping[str, Any], value: Any, where: str) -> Any:
    kinds = get_args(hint) if get_origin(hint) not in (tuple, None) else (hint,)
    if value is None and NoneType in kinds:
        return None
    inner = next((kind for kind in kinds if is_dataclass(kind)), None)
    if inner is not None:
        return made(inner, value, where)
    if "choices" in meta or "text" in meta or hint is bool:
        return _word(hint, meta, value, where)
    listed = next((kind for kind in kinds if get_origin(kind) is tuple), None)
    if listed is not None:
        return _listed(listed, meta, value, where)
    return _plain_value(kinds, meta, value, where)


def _plain_value(kinds: tuple[Any, ...], meta: Mapping[str, Any], value: Any, where: str) -> bool | int | float:
    """A yes or no, a whole number or a number."""
    if bool in kinds:
        if not isinstance(value, bool):
            raise Unfit(where, _given(value), "true or false")
        return value
    if int in kinds and float not in kinds:
        return whole(value, where, int(meta["low"]), int(meta["high"]))
    return number(value, where, meta["low"], meta["high"])


def _word(hint: Any, meta: Mapping[str, Any], value: Any, where: str) -> Any:
    """One of some words, a text, or a yes or no."""
    if hint is not bool:
        return _choice(meta["choices"], value, where) if "choices" in meta else text(value, where)
    if not isinstance(value, bool):
        raise Unfit(where, _given(value), "true or false")
    return value


def _choice(choices: tuple[Any, ...], value: Any, where: str) -> Any:
    if not isinstance(value, str | int) or value not in choices:
        raise Unfit(where, _given(value), " or ".join(map(str, choices)))
    return value


def _listed(hint: Any, meta: Mapping[str, Any], value: Any, where: str) -> tuple[Any, ...]:
    inner = get_args(hint)
    found = items(value, where)
    if Ellipsis not in inner and len(found) != len(inner):
        raise Unfit(where, f"{len(found)} values", f"{len(inner)}")
    shapes = tuple(kind for kind in (inner[0], *get_args(inner[0])) if is_dataclass(kind))
    if shapes:
        return tuple(one_of(shapes, item, f"{where}[{k}]") for k, item in enumerate(found))
    return tuple(number(item, f"{where}[{k}]", meta["low"], meta["high"]) for k, item in enumerate(found))


def _given(value: Any) -> str:
    said = shown(value) if isinstance(value, str | int | float | dict | None) else f"a {type(value).__name__}"
    return "given " + "".join(mark if mark.isprintable() else "?" for mark in said)
