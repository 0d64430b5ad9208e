"""Every number of a scenario by its dotted name: its value, what is allowed, its unit, what it means."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from scenarios.changed.names import Named, find_name, names_in
from scenarios.changed.unlike import held_at
from scenarios.format.edge_units import to_edge
from scenarios.scenario import Scenario
from scenarios.together import MOVES, moved_with


@dataclass(frozen=True)
class NumericKey:
    """A number that may be put in place of a scenario's (`scenarios.load.load`, changes), in edge units.

    whole: whole numbers only; moves: the keys that change with it, of a move of several parts; together: the move that
    it is a member of, "" where it may change alone.
    """

    name: str
    value: float
    low: float
    high: float
    unit: str  # edge unit, a key of `EDGE_UNITS`; "1": a plain number
    doc: str
    whole: bool = False
    moves: tuple[str, ...] = ()
    together: str = ""


def numeric_keys(scenario: Scenario, tables: tuple[str, ...] = ("unit", "soil", "settings")) -> list[NumericKey]:
    """The numbers of a scenario's tables, in the order of its file, then the moves of several parts.

    Points stand coordinate by coordinate (`unit.disc.hub_m.x`). Left out: lists of any kind, values that the scenario
    has none for.
    """
    found = [key for key in _single(scenario) if key.name.split(".")[0] in tables]
    by_name = {key.name: key for key in found}
    return [*found, *(key for move in MOVES.values() if (key := _moved(move.name, by_name)) is not None)]


def _single(scenario: Scenario) -> Iterator[NumericKey]:
    for one in names_in():
        numeric = one.key.kind in ("number", "whole") or one.part is not None
        value = _value(scenario, one) if numeric else None
        if value is not None:
            move = moved_with(one.name)
            yield NumericKey(one.name, value, one.key.low, one.key.high, one.key.edge, one.key.doc,
                             one.key.kind == "whole", together=move.name if move else "")  # fmt: skip


def _moved(name: str, by_name: dict[str, NumericKey]) -> NumericKey | None:
    """A move with the range in which all its members stay within theirs; None where one has no value."""
    move = MOVES[name]
    members = [by_name[one] for one in move.members if one in by_name]
    if len(members) < len(move.members):
        return None
    first = members[0]
    low = max(one.low - one.value for one in members) + first.value
    high = min(one.high - one.value for one in members) + first.value
    return NumericKey(name, first.value, round(low, 9), round(high, 9), first.unit, move.doc, moves=move.members)


def _value(scenario: Scenario, one: Named) -> float | None:
    """What a scenario holds at a key [edge unit]; None where it holds nothing."""
    held = held_at(scenario, one)
    if held is None:
        return None
    number = held if one.part is None else held[one.part]
    return number if one.key.kind == "whole" else to_edge(float(number), one.key.edge)


def numeric_key(scenario: Scenario, name: str) -> NumericKey | None:
    """One of them by its name, whatever its table; None where it is no number of the scenario."""
    found = find_name(name)
    table = () if found is None else (found.path[0],)
    return next((key for key in numeric_keys(scenario, table) if key.name == name), None)
