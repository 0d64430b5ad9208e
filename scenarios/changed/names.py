"""Which key a dotted name means: `unit.disc.edge_width_mm`, `unit.disc.hub_m.x` for one coordinate of a point.

Names of moves (`scenarios.together`) stand for their first member.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import replace
from typing import Any, NamedTuple

from scenarios.format.errors import ScenarioError, closest, fault, shown
from scenarios.format.keys import Key
from scenarios.format.numbers import plain_number
from scenarios.format.tables import ROOT, Table
from scenarios.together import MOVES


class Named(NamedTuple):
    """A key of a file by its dotted name. part: which coordinate of a point, None: the key as a whole."""

    name: str
    path: tuple[str, ...]  # the tables down to it, and its own name
    key: Key
    part: int | None = None


def names_in(root: Table = ROOT, path: tuple[str, ...] = ()) -> Iterator[Named]:
    """Every key that is no part of a list of tables, points as a whole and coordinate by coordinate."""
    for key in root.keys.values():
        own = (*path, key.name)
        yield Named(".".join(own), own, key)
        for part, axis in enumerate(axes_of(key)):
            yield Named(".".join((*own, axis)), own, key, part)
    for name, inner in root.tables.items():
        yield from names_in(inner, (*path, name))


def axes_of(key: Key) -> tuple[str, ...]:
    """Names of a point's coordinates; () of a key that is none.

    >>> axes_of(ROOT.tables["unit"].tables["disc"].keys["hub_m"])
    ('x', 'z')
    """
    return tuple(key.axes.split(", ")) if key.kind == "pair" and not key.rising else ()


def find_name(name: str, root: Table = ROOT) -> Named | None:
    """What a dotted name means; a move means its first member; None where no key has that name."""
    move = MOVES.get(name)
    wanted = move.members[0] if move else name
    *tables, last = wanted.split(".")
    table = root
    for count, step in enumerate(tables):
        if step in table.tables:
            table = table.tables[step]
            continue
        key = table.keys.get(step)
        axes = axes_of(key) if key is not None else ()
        if key is not None and count == len(tables) - 1 and last in axes:
            return Named(wanted, tuple(tables), key, axes.index(last))
        return None
    found = table.keys.get(last)
    return None if found is None else Named(wanted, (*tables, last), found)


def name_fault(where: str, name: str, root: Table = ROOT) -> str:
    """Why no key has that name, and which one may be meant."""
    allowed = "a key by its full name, TABLE.KEY"
    kind = _kind_of(name, root)
    if kind == "list":
        return fault(where, "a list of tables", f"{allowed}; lists of tables are changed in the file", "a copy of it")
    if isinstance(kind, Table):
        inner = f"one of its keys or tables: {', '.join([*kind.keys, *kind.tables])}"
        first = next((one for one in names_in(kind) if one.key.kind == "number"), None)
        return fault(where, "a whole table", inner, f"{name}.{first.name}" if first else "one of them")
    return fault(
        where,
        "no such key",
        allowed,
        " or ".join(_nearest(name, root)) or "rowbench new my_field: every key with its meaning",
    )


def root_example(root: Table) -> str:
    """A name to show how one looks."""
    return "unit.disc.edge_width_mm" if "unit" in root.tables else next(names_in(root)).name


def _kind_of(name: str, root: Table) -> Table | str | None:
    """The table of that name, "list" of a list of tables or what is under one."""
    table = root
    for step in name.split("."):
        bare = step.split("[")[0]
        if bare in table.lists:
            return "list"
        if step not in table.tables:
            return None
        table = table.tables[step]
    return table


def _nearest(name: str, root: Table) -> list[str]:
    """Full names that may have been meant: those that end so, else the likeliest; up to four."""
    every = [*dict.fromkeys([*(one.name for one in names_in(root)), *(MOVES if "unit" in root.tables else ())])]
    *_, last = name.split(".")
    whole = [one.name for one in names_in(root) if one.part is None]
    same = [one for one in whole if one.split(".")[-1] == last or one.split(".")[-1].startswith(f"{last}_")]
    held = [one for one in same if one.split(".")[:-1] and set(name.split(".")[:-1]) & set(one.split(".")[:-1])]
    found = held or same
    if found and last:
        return found[:4] if len(found) <= 4 else [closest(name, found) or found[0]]
    near = closest(name, every)
    if near is None:
        tails = {one.split(".")[-1]: one for one in reversed(whole)}
        tail = closest(last, tails)
        near = tails[tail] if tail else None
    return [near] if near else []


def read_value(text: str, key: Key) -> Any:
    """A value as it would stand in a file: TOML, texts also without quotes; what is neither stays a text.

    >>> disc = ROOT.tables["unit"].tables["disc"].keys
    >>> [read_value(*one) for one in (("4", disc["radius_m"]), ("[0, -1]", disc["hub_m"]), ("left", disc["pushed"]))]
    [4, [0, -1], 'left']
    """
    worded = key.kind in ("choice", "text")
    if not worded or text.lstrip()[:1] in ("'", '"'):
        try:
            held = tomllib.loads(f"value = {text}")
        except (tomllib.TOMLDecodeError, RecursionError, ValueError):  # ValueError: Python's own bound on figures
            held = {}
        if list(held) == ["value"]:
            return held["value"]
    number = None if worded else plain_number(text)
    return text if number is None else number


def read_pair(text: str, where: str, root: Table = ROOT) -> tuple[str, Named, Any]:
    """KEY=VALUE → the name as it was written, what it means, the value. Raises ScenarioError."""
    name, sign, value = (part.strip() for part in text.partition("="))
    if not sign or not name:
        allowed = "KEY=VALUE, a key of the file by its full name"
        raise ScenarioError([fault(where, f"given {shown(text)}", allowed, f"{where} {root_example(root)}=4")])
    found = find_name(name, root)
    if found is None:
        raise ScenarioError([name_fault(f"{where} {shown(text).strip(chr(34))}", name, root)])
    return name, found, read_value(value, found.key if found.part is None else as_number(found.key))


def as_number(key: Key) -> Key:
    """The key of one coordinate of a point."""
    return replace(key, kind="number")
