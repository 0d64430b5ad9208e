"""Every value that a stored paddock rests on, with its meaning and where it comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from typing import Any, get_args, get_type_hints

from analysis.paddock.table import PaddockTable
from analysis.report.assumptions import GIVEN, Assumption, listed, unit_groups
from scenarios.paddock.spec import Passes, PlanFeature, PlanStones
from scenarios.spec import Roughness, Variation
from sim.unit import Settings, Soil, Unit

GIVEN_HERE = "given in the paddock file"


def paddock_assumptions(table: PaddockTable) -> list[tuple[str, list[Assumption]]]:
    """Groups of values in the order of a paddock file: (title, values)."""
    found, ground = table.inputs, table.inputs["ground"]
    shapes = {shape.kind: shape for shape in get_args(PlanFeature)}
    groups: list[tuple[str, Any]] = [
        ("Settings", rebuilt(Settings, found["settings"])),
        ("Machine", table.machine),
        ("Passes", rebuilt(Passes, found["passes"])),
        ("Soil", rebuilt(Soil, found["soil"])),
        ("Strength along the rows", rebuilt(Variation, found["variation"])),
        *((f"Zone: {zone.name}", zone) for zone in table.zones),
        *((f"Ground: {f['kind'].replace('_', ' ')}", rebuilt(shapes[f["kind"]], f)) for f in ground["features"]),
        ("Stones", rebuilt(PlanStones, found["stones"])),
        ("Limits", table.limits),
        *unit_groups(rebuilt(Unit, found["unit"])),
    ]
    if ground["roughness"] is not None:
        groups.insert(5, ("Roughness of the ground", rebuilt(Roughness, ground["roughness"])))
    return [
        (title, [replace(row, source=GIVEN_HERE) if row.source == GIVEN else row for row in rows])
        for title, rows in listed(groups)
    ]


def rebuilt(shape: Any, values: Mapping[str, Any]) -> Any:
    """A dataclass from its values as stored: groups within it are mappings, points and series are lists."""
    hints = get_type_hints(shape)
    return shape(**{f.name: _value(hints[f.name], values[f.name]) for f in fields(shape) if f.name in values})


def _value(hint: Any, value: Any) -> Any:
    if isinstance(value, Mapping):
        return rebuilt(next(kind for kind in (hint, *get_args(hint)) if is_dataclass(kind)), value)
    return tuple(value) if isinstance(value, list) else value
