"""A unit with all its masses and forces so many times as large, by the unit that each key is described in.

Oil and gas keep their pressures, since air and nitrogen have theirs: the piston has as many times the area, the oil
and the gas as many times the volume, the fitting as many times the area for as many times the flow, and the hose so
many times less resistance.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

from sim.unit import Rock, Soil, Unit

# power of the factor in what a key says, by its unit [SI] …
BY_UNIT = {
    "kg": 1.0, "kg m2": 1.0, "N": 1.0, "N m": 1.0, "N/m": 1.0, "N s/m": 1.0, "N m/rad": 1.0, "N m s/rad": 1.0,
    "N/m^(n+1)": 1.0, "N/m^(n+2)": 1.0, "m3": 1.0, "Pa s/m3": -1.0,
    "m": 0.0, "rad": 0.0, "s": 0.0, "m/s": 0.0, "s/m": 0.0, "s/rad": 0.0, "1": 0.0, "1/(km/h)": 0.0, "kg/m3": 0.0,
}  # fmt: skip
# … or by its name, where the unit does not tell
BY_NAME = {"bore": 0.5, "orifice": 0.5, "strength": 1.0, "reference_strength": 1.0, "bulk_modulus": 0.0}


def heavier(group: Any, factor: float) -> Any:
    """A unit, soil or stone (or a part of one) with masses and forces `factor` times as large.

    Raises KeyError for a key in a unit that is not known here.
    """
    changed = {}
    for item in fields(group):
        value = getattr(group, item.name)
        if is_dataclass(value):
            changed[item.name] = heavier(value, factor)
            continue
        power = BY_NAME[item.name] if item.name in BY_NAME else BY_UNIT[item.metadata["unit"]]
        if power:
            changed[item.name] = value * factor**power
    return replace(group, **changed)


def all_heavier(unit: Unit, soil: Soil, rock: Rock, factor: float) -> tuple[Unit, Soil, Rock]:
    """Unit, soil and stones of that size."""
    return heavier(unit, factor), heavier(soil, factor), heavier(rock, factor)
