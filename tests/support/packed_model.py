"""A packed model for tests that call single kernels."""

from __future__ import annotations

import math

from sim.hydraulics.accumulator import fill
from sim.laws.gas import gas_law
from sim.model import Model, pack
from sim.unit import Rock, Settings, Soil, Unit

CRANK = math.radians(97.5)  # about the crank angle of the default unit at 40 mm


def packed(
    unit: Unit | None = None,
    crank_angle: float = CRANK,
    *,
    settings: Settings | None = None,
    soil: Soil | None = None,
    rock: Rock | None = None,
) -> Model:
    """The model of a unit with its crank locked at an angle [rad]; defaults elsewhere."""
    unit, settings = unit or Unit(), settings or Settings()
    gas = fill(
        unit, settings.oil_pressure, settings.precharge, settings.precharge_temperature, settings.gas_temperature,
        gas_law(settings),
    )  # fmt: skip
    m = pack(unit, soil or Soil(), rock or Rock(), settings, gas, crank_angle)
    return Model(*map(float, m))
