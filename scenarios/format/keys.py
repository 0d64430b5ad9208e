"""Keys of a scenario file, read from the metadata of dataclass fields: name, unit, range, default, meaning."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, fields
from functools import cache
from typing import Any, get_type_hints

from scenarios.format.edge_units import bound_to_edge, file_key, number_text, to_edge, to_si, unit_text
from scenarios.format.numbers import plain_number, plain_whole
from sim.unit import Settings

# Words and whole numbers of Settings that carry no metadata of their own.
SETTINGS_META: dict[str, dict[str, Any]] = {
    "setting": {
        "choices": ("redone", "unchanged"),
        "doc": "depth setting: redone for this pressure and speed as a grower does, or unchanged since the reference",
    },
    "toolbar": {
        "choices": ("carried", "level"),
        "doc": "toolbar: carried over the ground by its own wheels, or level as on a test bench",
    },
    "gas": {"choices": ("real", "ideal"), "doc": "nitrogen: as a real or as an ideal gas"},
    "oil": {
        "choices": ("trapped", "held"),
        "doc": "oil: trapped in the line, or a valve holds the pressure slowly",
    },
    "press_notch": {
        "unit": "1",
        "low": -10,
        "high": 10,
        "edge": "1",
        "doc": "notches of the press wheel's spring against the unit's own preload",
    },
}


# Lists of any length, and what may be given there.
LISTS = {
    "names": 'a list of texts in quotes: ["…", "…"]',
    "numbers": "a list of numbers: [1, 2]",
    "rows": "a list of lists of numbers: [[1, 0], [0, 1]]",
}


@dataclass(frozen=True)
class Key:
    """One key of a table; all figures in the edge unit.

    `kind`: number, whole, pair (a point x, z, or two bounds), series, choice, text; of `LISTS` the lists of any length.
    """

    name: str
    field: str
    kind: str
    doc: str
    edge: str = "1"
    low: float = 0.0
    high: float = 0.0
    default: Any = None
    example: Any = None
    source: str = ""
    choices: tuple[str, ...] = ()
    rising: bool = False
    axes: str = "x, z"  # of a point
    needed: bool = False

    @property
    def allowed(self) -> str:
        """What may be given, in words."""
        if self.kind == "choice":
            words = [f'"{word}"' for word in self.choices]
            return f"{', '.join(words[:-1])} or {words[-1]}"
        if self.kind == "text" or self.kind in LISTS:
            return LISTS.get(self.kind, "a text in quotes")
        bounds = f"{number_text(self.low)} to {number_text(self.high)}{unit_text(self.edge)}"
        if self.kind == "whole":
            return f"a whole number, {bounds}"
        if self.kind == "pair":
            return f"[least, most], each {bounds}" if self.rising else f"[{self.axes}], each {bounds}"
        if self.kind == "series":
            return f'a list of numbers, or a text "first:last:count" or "6,8,10", each {bounds}'
        return bounds

    def accepts(self, value: Any) -> bool:
        """Whether a number, whole number or word (edge unit) is allowed here."""
        if self.kind == "choice":
            return value in self.choices
        if isinstance(value, bool) or not isinstance(value, int if self.kind == "whole" else int | float):
            return False
        return self.low <= value <= self.high

    def si(self, value: Any) -> Any:
        """A checked value of the file → what the dataclass holds (SI)."""
        if self.kind in ("choice", "text"):
            return value
        if self.kind in LISTS:
            return _tuples(value)
        if self.kind == "whole":
            return int(value)
        if self.kind == "pair":
            return (to_si(float(value[0]), self.edge), to_si(float(value[1]), self.edge))
        if self.kind == "series":
            return tuple(to_si(v, self.edge) for v in read_series(value))
        return to_si(float(value), self.edge)


def _tuples(value: Any) -> Any:
    """Lists of lists as tuples of tuples, whole numbers in them as numbers."""
    if isinstance(value, list | tuple):
        return tuple(_tuples(item) for item in value)
    return value if isinstance(value, str) else float(value)


def read_series(value: Any) -> list[float]:
    """Values of a search: a list of numbers, one number, or a text: "first:last:count" (ends included) or "6,8,10".

    Returns the values as given (edge units), rising, without repeats. Raises ValueError with the reason.

    >>> read_series("30:90:4"), read_series([60, 30]), read_series("10, 6, 8")
    ([30.0, 50.0, 70.0, 90.0], [30.0, 60.0], [6.0, 8.0, 10.0])
    """
    if isinstance(value, str):
        return _read_list(value) if "," in value else _read_triple(value)
    items = value if isinstance(value, list | tuple) else [value]
    if not items:
        raise ValueError("the list is empty")
    if len(items) > 1000:
        raise ValueError("more than 1000 values")
    for item in items:
        if isinstance(item, bool) or not isinstance(item, int | float):
            raise ValueError("not all values are numbers")
    return sorted({float(item) for item in items})


def _read_list(value: str) -> list[float]:
    try:
        return read_series([_sure(plain_number(part)) for part in value.split(",")])
    except ValueError as error:
        if str(error) == "more than 1000 values":
            raise
        raise ValueError("not of the form 6,8,10, numbers with commas between them") from None


def _sure(value: float | None) -> float:
    """A number. Raises ValueError where there is none."""
    if value is None:
        raise ValueError
    return value


def _read_triple(value: str) -> list[float]:
    parts = value.split(":")
    if len(parts) not in (1, 3):
        raise ValueError("not of the form first:last:count")
    try:
        numbers = [_sure(plain_number(part)) for part in parts[:2]]
        count = int(_sure(plain_whole(parts[2]))) if len(parts) == 3 else 1
    except ValueError:
        raise ValueError("not of the form first:last:count, with a whole count") from None
    if not 1 <= count <= 1000:
        raise ValueError("the count is not between 1 and 1000")
    if len(parts) == 1:
        return numbers
    first, last = numbers
    if count == 1 and first == last:
        return [first]
    if count == 1:
        raise ValueError(f"a count of 1 leaves {parts[1]} out: the third number is how many values, not their step")
    if not last > first:
        raise ValueError("the last value is not above the first")
    step = (last - first) / (count - 1)
    return [round(first + i * step, 9) for i in range(count)]


def key_of(item: Field[Any], hint: Any, meta: Mapping[str, Any]) -> Key:
    """The key that a dataclass field with this type and metadata stands for."""
    common: dict[str, Any] = {
        "field": item.name,
        "doc": meta["doc"],
        "source": meta.get("source", ""),
        "needed": bool(meta.get("needed", False)),
    }
    if "choices" in meta:
        name = meta.get("key") or item.name
        return Key(name, kind="choice", choices=meta["choices"], default=_plain(item),
                   example=meta.get("example"), **common)  # fmt: skip
    if "listed" in meta:
        return Key(item.name, kind=meta["listed"], example=meta["example"], **common)
    if "text" in meta:
        return Key(item.name, kind="text", default=_plain(item), example=meta.get("example"), **common)
    return _number_key(item, hint, meta, common)


def _number_key(item: Field[Any], hint: Any, meta: Mapping[str, Any], common: dict[str, Any]) -> Key:
    edge = meta["edge"]
    middle = (meta["low"] + meta["high"]) / 2
    example = meta.get("example")
    return Key(
        file_key(item.name, edge),
        kind=_kind(hint, meta),
        edge=edge,
        low=bound_to_edge(meta["low"], edge, middle),
        high=bound_to_edge(meta["high"], edge, middle),
        default=_edge_value(_plain(item), edge),
        example=_edge_value(example, edge),
        rising=bool(meta.get("rising", False)),
        axes=meta.get("axes", "x, z"),
        **common,
    )


def _plain(item: Field[Any]) -> Any:
    """Default of a field, None if it has none."""
    return None if item.default is MISSING else item.default


def _edge_value(value: Any, edge: str) -> Any:
    """A default or example in SI → edge unit, element by element for pairs and series."""
    if value is None or isinstance(value, int):
        return value
    if isinstance(value, tuple):
        return tuple(to_edge(v, edge) for v in value)
    return to_edge(value, edge)


def _kind(hint: Any, meta: Mapping[str, Any]) -> str:
    if "series" in meta:
        return "series"
    if hint is int:
        return "whole"
    return "pair" if "tuple" in str(hint) else "number"


@cache
def keys_of(group: type) -> dict[str, Key]:
    """All keys of a dataclass by their name in the file, in the order of its fields; one dict for all who ask.

    Fields without metadata, or with that of `kinds`, are tables or lists of tables, left to `scenarios.format.tables`.
    """
    hints = get_type_hints(group)
    extra = SETTINGS_META if group is Settings else {}
    described = ((item, item.metadata or extra.get(item.name)) for item in fields(group))
    found = [key_of(item, hints[item.name], meta) for item, meta in described if meta and "kinds" not in meta]
    return {key.name: key for key in found}


SETTINGS_KEYS = keys_of(Settings)
