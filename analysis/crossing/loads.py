"""Loads on wheels, disc, pins and gas over a run."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.peaks import BESIDE, peaks
from sim.record import PINS, Run
from sim.unit import ATMOSPHERE

BLOCK = 4096  # steps of which the pins are looked at together


class WheelLoad(NamedTuple):
    """Load on a wheel over a run [N], and the share of travel without load."""

    mean: float
    sd: float
    p05: float
    p95: float
    off_share: float
    peak: float  # at a step


class PinLoad(NamedTuple):
    """Size of a pin's reaction over a run [N]."""

    peak: float
    rms: float
    mean: float


class Gas(NamedTuple):
    """Oil pressure at the accumulator, gauge [Pa]; `out` where the accumulator ran out of oil (V > V_acc)."""

    pressure_min: float
    pressure_max: float
    out: bool


def wheel_load(run: Run, channel: str = "gauge_load") -> WheelLoad:
    """Mean, scatter, 5 % and 95 % points, share of travel at zero and peak, of "gauge_load" or "press_load"."""
    load = run.series[channel]
    low, high = np.percentile(load, (5.0, 95.0))
    return WheelLoad(
        float(load.mean()), float(load.std()), float(low), float(high), float(np.mean(load <= 0.0)),
        float(load.max()),
    )  # fmt: skip


def pin_squares(run: Run) -> NDArray[np.float64]:
    """Squared size of every pin's reaction at every step, shape (n, 14) [N²]."""
    return _squares(run.pins)


def _squares(pins: NDArray[np.float64]) -> NDArray[np.float64]:
    x, z = pins[:, :, 0], pins[:, :, 1]
    return x * x + z * z


def pin_loads(run: Run) -> dict[str, PinLoad]:
    """Peak (between steps: see `crossing.peaks`), root mean square and mean of all pins, in the order of `PINS`."""
    n = len(run.pins)
    highest, square, size = np.zeros(len(PINS)), np.zeros(len(PINS)), np.zeros(len(PINS))
    for first in range(0, n, BLOCK):
        begin, last = max(first - BESIDE, 0), min(first + BLOCK, n)
        squares = _squares(run.pins[begin : last + BESIDE])
        here = slice(first - begin, last - begin)
        highest = np.maximum(highest, peaks(squares, here.start, here.stop))
        square += squares[here].sum(axis=0)
        size += np.sqrt(squares[here]).sum(axis=0)
    found = zip(PINS, np.sqrt(highest).tolist(), np.sqrt(square / n).tolist(), (size / n).tolist(), strict=True)
    return {name: PinLoad(*loads) for name, *loads in found}


def pin_table(pins: Mapping[str, PinLoad]) -> dict[str, dict[str, float]]:
    """JSON form of pin loads, by pin."""
    return {name: {"peak_N": load.peak, "rms_N": load.rms, "mean_N": load.mean} for name, load in pins.items()}


def worst_pin(run: Run, first: int = 0, last: int | None = None) -> tuple[str, float]:
    """Name and peak [N] (see `crossing.peaks`) of the pin that bears most between two steps (last not included)."""
    found = peaks(pin_squares(run), first, last)
    worst = int(found.argmax())
    return PINS[worst], float(np.sqrt(found[worst]))


def stone_peak(run: Run) -> float:
    """Largest force of a stone on the disc, between steps (see `crossing.peaks`) [N]."""
    return float(peaks(run.series["rock_force"][:, None])[0])


def gas(run: Run) -> Gas:
    """Lowest and highest oil pressure at the accumulator, and whether it ran out of oil."""
    pressure = run.series["oil_pressure"]
    out = bool((run.series["gas_volume"] > run.unit.accumulator.volume).any())
    return Gas(float(pressure.min()) - ATMOSPHERE, float(pressure.max()) - ATMOSPHERE, out)
