"""A checked document → dataclasses in SI. Keys that the document leaves out keep the dataclass's default."""

from __future__ import annotations

from typing import Any

from scenarios.format.keys import keys_of
from scenarios.format.tables import Table, Variants
from scenarios.spec import Variation
from sim.unit import Soil


def build(table: Table, document: dict[str, Any]) -> Any:
    """The dataclass that a table stands for, from its part of a checked document (edge units → SI)."""
    values: dict[str, Any] = {}
    for name, given in document.items():
        if name in table.keys and name != "base":
            key = table.keys[name]
            values[key.field] = key.si(given)
        elif name in table.tables:
            values[name] = build(table.tables[name], given)
        elif name in table.lists:
            values[name] = tuple(build_item(table.lists[name], item) for item in given)
    assert table.group is not None
    return table.group(**values)


def build_item(variants: Variants, document: dict[str, Any]) -> Any:
    """The dataclass that one table of a list stands for."""
    kind = document[variants.tag] if variants.tag else ""
    return build(variants.tables[kind], document)


def build_soil(document: dict[str, Any]) -> tuple[Soil, Variation]:
    """The table [soil] → the soil itself and how its strength varies along the track."""

    def part(group: type) -> Any:
        keys = keys_of(group)
        return group(**{keys[name].field: keys[name].si(given) for name, given in document.items() if name in keys})

    return part(Soil), part(Variation)
