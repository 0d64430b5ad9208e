"""The tables that a kind of file may hold, built from the dataclasses that they turn into.

A `FileKind` is all that the checks (`scenarios.format.schema`, `messages`, `assembly`) need to know of a kind of file:
scenarios here, paddocks in `scenarios.paddock.tables`.
"""

from __future__ import annotations

import types
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from typing import Any, get_args, get_origin, get_type_hints

from scenarios.doubt.prior import Prior
from scenarios.doubt.uncertain import Uncertain
from scenarios.format.keys import Key, keys_of
from scenarios.spec import Ground, Limits, Machine, Search, Stones, Variation
from sim.unit import Settings, Soil, Unit


@dataclass(frozen=True)
class Variants:
    """A list of tables `[[name]]`: of one kind (tag ""), or of several that the key `tag` tells apart."""

    tag: str
    tables: dict[str, Table]


@dataclass(frozen=True)
class Table:
    """One table: its keys, the tables in it and the lists of tables in it."""

    doc: str
    keys: dict[str, Key] = field(default_factory=dict)
    tables: dict[str, Table] = field(default_factory=dict)
    lists: dict[str, Variants] = field(default_factory=dict)
    group: type | None = None

    @property
    def names(self) -> list[str]:
        """All that may stand in this table."""
        return [*self.keys, *self.tables, *self.lists]


@dataclass(frozen=True, eq=False)
class FileKind:
    """A kind of file: its tables, and the words for them in messages."""

    root: Table
    top: str = "the top of a file"  # how a message names the place outside all tables
    needs: Mapping[str, str] = field(default_factory=dict)  # tables that have to be there → a line to begin them with
    lent: tuple[str, ...] = ()  # tables that the file named as the unit's base brings along, even a scenario
    kind_in_full: bool = False  # a wrong kind in a list: what to try is the whole line, not the word alone


def table_of(group: type) -> Table:
    """The table that a dataclass stands for, with the dataclasses that its fields hold as tables in it."""
    tables: dict[str, Table] = {}
    lists: dict[str, Variants] = {}
    hints = get_type_hints(group)
    for item in fields(group):
        inner = list(item.metadata.get("kinds", ())) or _dataclasses_in(hints[item.name])
        if not inner:
            continue
        if get_origin(hints[item.name]) is tuple:
            lists[item.name] = _variants(inner)
        else:
            tables[item.name] = table_of(inner[0])
    return Table(_first_line(group), keys_of(group), tables, lists, group)


def _variants(groups: list[type]) -> Variants:
    if len(groups) == 1:
        return Variants("", {"": table_of(groups[0])})
    return Variants("kind", {str(getattr(group, "kind")): table_of(group) for group in groups})  # noqa: B009


def _dataclasses_in(hint: Any) -> list[type]:
    """Dataclasses named in a type: X, X | None, tuple[X, ...], tuple[X | Y, ...]."""
    if isinstance(hint, type) and is_dataclass(hint):
        return [hint]
    if get_origin(hint) is tuple or isinstance(hint, types.UnionType):
        return [found for arg in get_args(hint) for found in _dataclasses_in(arg)]
    return []


def _first_line(group: type) -> str:
    return (group.__doc__ or "").strip().splitlines()[0]


def with_base(table: Table, what: str, example: str, brought: str = "") -> Table:
    """The table with a key `base` in front: the named thing whose values it takes over."""
    doc = f"{what} whose values{brought} hold where none is given here: a name in the library or a path to a file"
    base = Key("base", field="base", kind="text", doc=doc, default=example)
    keys = {"base": base, **{name: key for name, key in table.keys.items() if name != "base"}}
    return Table(table.doc, keys, table.tables, table.lists, table.group)


def _soil_table() -> Table:
    doc = "Soil under disc, boot and wheels, and how its strength varies along the track."
    return with_base(Table(doc, {**keys_of(Soil), **keys_of(Variation)}), "soil", "firm")


def _root() -> Table:
    title = Key("title", field="title", kind="text", doc="name of the scenario in one line", needed=True)
    shows = Key("shows", field="shows", kind="text", doc="one sentence: what it shows", default="")
    tables = {
        "settings": table_of(Settings),
        "ground": table_of(Ground),
        "stones": table_of(Stones),
        "soil": _soil_table(),
        "machine": table_of(Machine),
        "limits": table_of(Limits),
        "search": table_of(Search),
        "prior": table_of(Prior),
        "uncertain": table_of(Uncertain),
        "unit": with_base(table_of(Unit), "unit", "demo", ", and whose file's [settings],"),
    }
    return Table("A scenario.", {"title": title, "shows": shows}, tables)


ROOT = _root()
SCENARIO = FileKind(ROOT, needs={"ground": "length_m = 100"})

# A file that others take over a unit or a soil from: the tables of a scenario, none of which has to be there.
PART = FileKind(replace(ROOT, keys={name: replace(key, needed=False) for name, key in ROOT.keys.items()}))


def walk(table: Table = ROOT, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], Key]]:
    """Every key under a table with the path of its table; list items under the list's name and their kind."""
    for key in table.keys.values():
        yield path, key
    for name, inner in table.tables.items():
        yield from walk(inner, (*path, name))
    for name, variants in table.lists.items():
        for kind, inner in variants.tables.items():
            yield from walk(inner, (*path, name, kind) if kind else (*path, name))
