"""The checked form of a file: pydantic models made from `scenarios.format.tables`, and the faults they find.

This is the only module that imports pydantic; `scenarios.format.assembly` imports it when a file is read. The models
check names, types and ranges in edge units; nothing is converted here and nothing is filled in.
"""

from __future__ import annotations

from collections.abc import Collection
from functools import cache
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, create_model
from pydantic.functional_validators import AfterValidator, PlainValidator

from scenarios.format.keys import Key, read_series
from scenarios.format.messages import OUT_OF_RANGE, Fault, fault_of
from scenarios.format.tables import FileKind, Table, Variants

_CLOSED = ConfigDict(extra="forbid", strict=True)
_MADE: dict[tuple[Any, ...], tuple[Table, Any]] = {}  # models, with their tables, so that these keep their ids


def check(document: dict[str, Any], file: str, kind: FileKind) -> list[Fault]:
    """Faults of a parsed TOML document against its kind of file, all of them, each with the path of its table."""
    try:
        _model(kind).model_validate(document)
    except ValidationError as error:
        return [fault_of(item, file, kind) for item in error.errors(include_url=False)]
    return []


@cache
def _model(kind: FileKind) -> type[BaseModel]:
    return _table_model(kind.root, "File", needed=kind.needs)


def _table_model(table: Table, name: str, *, tag: tuple[str, str] | None = None, needed: Collection[str] = ()) -> Any:
    """A pydantic model that holds exactly the keys, tables and lists of a table; `needed`: tables it must hold.

    Made once for a table that stands in several kinds of file: a millisecond each.
    """
    asked = (id(table), name, tag, tuple(needed))
    if asked not in _MADE:
        _MADE[asked] = table, _new_model(table, name, tag, needed)
    return _MADE[asked][1]


def _new_model(table: Table, name: str, tag: tuple[str, str] | None, needed: Collection[str]) -> Any:
    parts: dict[str, Any] = {key.name: (_key_type(key), ... if key.needed else None) for key in table.keys.values()}
    for inner, sub in table.tables.items():
        parts[inner] = (_table_model(sub, f"{name}_{inner}"), ... if inner in needed else None)
    for inner, variants in table.lists.items():
        parts[inner] = (_list_type(variants, f"{name}_{inner}"), None)
    # `class` and other words of Python or of pydantic are legal keys of a file: give the fields plain names.
    fields = {f"f{i}": (kind, Field(default, alias=key)) for i, (key, (kind, default)) in enumerate(parts.items())}
    if tag:
        fields["f_tag"] = (Literal[tag[1]], Field(..., alias=tag[0]))
    return create_model(name, __config__=_CLOSED, **fields)  # type: ignore[call-overload]


def _list_type(variants: Variants, name: str) -> Any:
    if not variants.tag:
        return list[_table_model(variants.tables[""], name)]  # type: ignore[misc]
    models = [
        _table_model(table, f"{name}_{kind}", tag=(variants.tag, kind)) for kind, table in variants.tables.items()
    ]
    union: Any = models[0]
    for model in models[1:]:
        union = union | model
    return list[Annotated[union, Field(discriminator="f_tag")]]


def _key_type(key: Key) -> Any:
    if key.kind == "number":
        return _number(key)
    if key.kind == "whole":
        return Annotated[int, Field(ge=int(key.low), le=int(key.high))]
    if key.kind == "pair":
        pair: Any = Annotated[list[_number(key)], Field(min_length=2, max_length=2)]  # type: ignore[misc]
        return Annotated[pair, AfterValidator(_rising)] if key.rising else pair
    if key.kind == "series":
        return Annotated[Any, PlainValidator(lambda value: _series(value, key))]
    if key.kind == "choice" or key.kind in _LISTS:
        return _LISTS.get(key.kind) or Literal[key.choices]
    return Annotated[str, Field(min_length=1 if key.needed else 0, max_length=1000), AfterValidator(_one_line)]


_FINITE = Annotated[float, Field(allow_inf_nan=False)]
_FEW = Field(max_length=1000)
_LISTS: dict[str, Any] = {
    "names": Annotated[list[Annotated[str, Field(max_length=1000)]], _FEW],
    "numbers": Annotated[list[_FINITE], _FEW],
    "rows": Annotated[list[Annotated[list[_FINITE], _FEW]], _FEW],
}


def _number(key: Key) -> Any:
    return Annotated[float, Field(ge=key.low, le=key.high, allow_inf_nan=False)]


def _one_line(value: str) -> str:
    """No marks that move a terminal's cursor or are no characters."""
    if any(not mark.isprintable() and mark not in "\n\t\N{NO-BREAK SPACE}" for mark in value):
        raise ValueError("it holds control characters")
    return value


def _rising(value: list[float]) -> list[float]:
    if value[0] > value[1]:
        raise ValueError("the first is above the second")
    return value


def _series(value: Any, key: Key) -> list[float]:
    numbers = read_series(value)
    for number in numbers:
        if not key.low <= number <= key.high:
            raise ValueError(f"{number:g} {OUT_OF_RANGE}")
    return numbers
