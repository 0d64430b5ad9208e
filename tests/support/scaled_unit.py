"""A unit, its soil and stones in other measures of mass, force and time, by the unit that each key is described in.

`all_heavier`: all masses and forces so many times as large. Oil and gas keep their pressures, since air and nitrogen
have theirs: the piston has as many times the area, the oil and the gas as many times the volume, the fitting as many
times the area for as many times the flow, and the hose so many times less resistance.

`all_quicker`: all the same forces, times so many times shorter: gravity is so many times squared, masses as many times
less.
"""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

from sim.unit import Rock, Settings, Soil, Unit

# power of the factor in what a key says, by its unit [SI] …
BY_UNIT = {
    "kg": 1.0, "kg m2": 1.0, "N": 1.0, "N m": 1.0, "N/m": 1.0, "N s/m": 1.0, "N m/rad": 1.0, "N m s/rad": 1.0,
    "N/m^(n+1)": 1.0, "N/m^(n+2)": 1.0, "m3": 1.0, "Pa s/m3": -1.0,
    "m": 0.0, "rad": 0.0, "s": 0.0, "m/s": 0.0, "s/m": 0.0, "s/rad": 0.0, "1": 0.0, "1/(km/h)": 0.0, "kg/m3": 0.0,
}  # fmt: skip
# … or by its name, where the unit does not tell
HEAVIER = {"bore": 0.5, "orifice": 0.5, "strength": 1.0, "reference_strength": 1.0, "bulk_modulus": 0.0,
           "pin_strength": 0.0}  # fmt: skip
# powers of mass and of time in a unit [SI], all others 0 and 0; a force holds mass and time squared, that is nothing
MASS_AND_TIME = {
    "kg": (1, 0), "kg m2": (1, 0), "kg/m3": (1, 0), "s": (0, 1), "m/s": (0, -1), "s/m": (0, 1), "s/rad": (0, 1),
    "1/(km/h)": (0, 1), "N s/m": (1, -1), "N m s/rad": (1, -1), "Pa s/m3": (1, -1),
}  # fmt: skip


def quicker(group: Any, factor: float) -> Any:
    """A unit, soil, stone or settings (or a part) with the same forces, in times `factor` times shorter."""
    changed = {}
    for item in fields(group):
        value = getattr(group, item.name)
        if is_dataclass(value):
            changed[item.name] = quicker(value, factor)
            continue
        mass, time = MASS_AND_TIME.get(item.metadata.get("unit", ""), (0, 0))
        if mass or time:
            changed[item.name] = value * factor ** (-2 * mass - time)
    return replace(group, **changed)


def all_quicker(
    unit: Unit, soil: Soil, rock: Rock, settings: Settings, factor: float
) -> tuple[Unit, Soil, Rock, Settings]:
    """Unit, soil, stones and settings of that measure of time, to be crossed where gravity is `factor`² of ours."""
    return quicker(unit, factor), quicker(soil, factor), quicker(rock, factor), quicker(settings, factor)


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
        if "unit" not in item.metadata:  # a choice, or pins of their own: no number that is marched with
            continue
        power = HEAVIER[item.name] if item.name in HEAVIER else BY_UNIT[item.metadata["unit"]]
        if power:
            changed[item.name] = value * factor**power
    return replace(group, **changed)


def all_heavier(unit: Unit, soil: Soil, rock: Rock, factor: float) -> tuple[Unit, Soil, Rock]:
    """Unit, soil and stones of that size."""
    return heavier(unit, factor), heavier(soil, factor), heavier(rock, factor)
