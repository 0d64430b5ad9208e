"""In which values two scenarios differ, by dotted key."""

from __future__ import annotations

from typing import Any, NamedTuple

from scenarios.changed.names import Named, names_in
from scenarios.changed.put_in import change_value
from scenarios.format.edge_units import to_edge
from scenarios.scenario import Scenario


class Unlike(NamedTuple):
    """One key whose values differ, as they would stand in a file; "none" where there is none."""

    name: str
    values: tuple[str, ...]


def unlike(scenarios: list[Scenario], tables: tuple[str, ...]) -> list[Unlike]:
    """The keys of these tables in which scenarios differ, in the order of a file, with the value of each."""
    found = []
    for one in names_in():
        if one.part is None and one.path[0] in tables:
            held = [held_at(scenario, one) for scenario in scenarios]
            if any(value != held[0] for value in held[1:]):
                found.append(Unlike(one.name, tuple(change_value(_edge(one, value)) for value in held)))
    return found


def held_at(scenario: Scenario, one: Named) -> Any:
    """What a scenario holds at a key [SI]; None where it holds nothing."""
    top, *tables, _ = one.path
    groups: list[Any] = [getattr(scenario, top, None)]
    if top == "soil":
        groups.append(scenario.variation)
    for step in tables:
        groups = [getattr(group, step, None) for group in groups]
    return next((getattr(group, one.key.field) for group in groups if hasattr(group, one.key.field)), None)


def _edge(one: Named, value: Any) -> Any:
    if value is None or one.key.kind not in ("number", "pair", "series"):
        return value
    return (
        [to_edge(v, one.key.edge) for v in value] if isinstance(value, tuple) else to_edge(float(value), one.key.edge)
    )
