"""Oil pressure over gas volume along one crossing, beside the gas kept at its temperature."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.loads import Gas, gas
from sim.laws.gas import gas_law, state_at
from sim.record import Run
from sim.run import prepare
from sim.unit import ATMOSPHERE

CURVE = 80  # points of the isotherm


class GasLoop(NamedTuple):
    """Volumes in cm³, gauge pressures in bar."""

    volume: NDArray[np.float64]  # of the crossing, (n,)
    pressure: NDArray[np.float64]
    slow_volume: NDArray[np.float64]  # over the volumes of the crossing at the gas's temperature, (CURVE,)
    slow_pressure: NDArray[np.float64]
    set_volume: float  # as set
    full_volume: float  # of the accumulator
    found: Gas


def gas_loop(run: Run) -> GasLoop:
    """The loop of a crossing."""
    full = run.unit.accumulator.volume * 1e6
    volume, pressure = run.series["gas_volume"] * 1e6, (run.series["oil_pressure"] - ATMOSPHERE) / 1e5
    span = np.linspace(max(float(volume.min()), 1.0), min(float(volume.max()), full), CURVE)
    slow = isotherm(run, span / 1e6) if span[-1] > span[0] else np.full(CURVE, np.nan)
    start = prepare(run.unit, run.soil, run.track.rock, run.settings).gas.volume * 1e6
    return GasLoop(volume, pressure, span, slow, start, full, gas(run))


def isotherm(run: Run, volume: NDArray[np.float64]) -> NDArray[np.float64]:
    """Gauge pressure [bar] of the accumulator's gas at its working temperature, by its volume [m³]; shape kept."""
    law, kelvin = gas_law(run.settings), run.settings.gas_temperature
    mass = prepare(run.unit, run.soil, run.track.rock, run.settings).gas.mass
    return np.array([(state_at(mass / v, kelvin, law)[0] - ATMOSPHERE) / 1e5 for v in volume])
