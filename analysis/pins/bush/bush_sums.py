"""What the bushes of pins that carry couples go through, in sums that join: grounds of a window, rows of a paddock."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from analysis.pins.bush.bush_loop import N_SUMS, PEAK, reduce_pins, tilted_bush, worn_bushes
from analysis.pins.bush.couples import Balance, Couples, balance, share_out
from analysis.pins.bush.pressure import mean_pressure, pin_stress
from analysis.pins.duty.rotation import relative_rates
from sim.bushes import Pin
from sim.record import PINS, Run

MAIN = PINS[:4]
EVERY = 4  # steps at which the ends of a range are read
TILT = 6.0  # pressure at the edge over that of M/(dL²)
SHARES = (0.0, 1.0)  # all couples on the lower pins, all on the upper ones


@dataclass(frozen=True, eq=False)
class BushSums:
    """One pin over a stretch. bushes (2, N_SUMS): left and right (a single one: both times the pin itself): ∫F dt,
    ∫F² dt, ∫F|ω| dt and the largest F² [N, s, rad].
    """

    bushes: NDArray[np.float64]
    couple: float  # ∫ its size dt [N m s]
    tilted: float  # what a couple adds to ∫F|ω| at the edge of a single bush [N rad]
    stress: float  # of the pin, highest [Pa]
    edge: float  # highest pressure along a single bush with a couple; else the peak on projected area [Pa]


def _join(a: BushSums, b: BushSums) -> BushSums:
    bushes = a.bushes + b.bushes
    bushes[:, PEAK] = np.maximum(a.bushes[:, PEAK], b.bushes[:, PEAK])
    return BushSums(bushes, a.couple + b.couple, a.tilted + b.tilted, max(a.stress, b.stress), max(a.edge, b.edge))


def joined(found: Iterable[BushSums]) -> BushSums:
    """One pin over stretches one after the other: sums added, peaks the highest."""
    return reduce(_join, found)


def balances(run: Run) -> list[Balance]:
    """What the main links have to hold; on a side slope twice, with either side down."""
    slope = run.unit.pins.side_slope
    return [balance(run, angle) for angle in ((slope, -slope) if slope else (0.0,))]


def rates_of(run: Run, names: Sequence[str], still: Iterable[str] = ()) -> dict[str, NDArray[np.float64]]:
    """Sizes of the turning rates of `COUPLED` pins, (n,) each [rad/s]; still: those known not to turn."""
    arm = np.abs(run.series["arm_rate"])
    found = dict.fromkeys(MAIN, arm) | {"press_arm": np.abs(run.series["press_rate"])}
    if "gauge_arm" in names:
        turns = "gauge_arm" not in still
        rates = relative_rates(run)[:, PINS.index("gauge_arm")] if turns else np.zeros(arm.size)
        found["gauge_arm"] = np.abs(np.ascontiguousarray(rates))
    return {name: found[name] for name in names}


def sums_of(
    run: Run, found: Couples, pins: Mapping[str, Pin], rates: Mapping[str, NDArray[np.float64]]
) -> dict[str, BushSums]:
    """Sums of the pins given over a run; found: who takes the couples, rates: as `rates_of`."""
    sums, shared = np.zeros((len(pins), 2, N_SUMS)), np.zeros((len(pins), 3))
    reduce_pins(
        run.pins.reshape(-1), len(PINS), np.array([PINS.index(name) for name in pins]),
        tuple(found.couple[name].reshape(-1) for name in pins), np.array([per_span(pin) for pin in pins.values()]),
        tuple(rates[name] for name in pins), sums, shared,
    )  # fmt: skip
    sums[:, :, :PEAK] *= run.step
    return {
        name: _of_pin(run, name, pin, found.couple[name], rates[name], sums[k], shared[k])
        for k, (name, pin) in enumerate(pins.items())
    }


def _of_pin(
    run: Run, name: str, pin: Pin, couple: NDArray[np.float64], rate: NDArray[np.float64],
    bushes: NDArray[np.float64], shared: NDArray[np.float64],
) -> BushSums:  # fmt: skip
    at, alone = int(shared[1]), pin.bushes == 1
    peak = math.sqrt(float(bushes[: pin.bushes, PEAK].max()))
    turn, size = float(np.hypot(*couple[:, at])), float(np.hypot(*run.pins[at, PINS.index(name)]))
    edge, tilted = float(mean_pressure(peak, pin.diameter, pin.length)), 0.0
    if alone:
        edge, turned = tilted_bush(
            run.pins.reshape(-1), PINS.index(name), len(PINS), couple.reshape(-1), rate, pin.diameter, pin.length
        )  # fmt: skip
        tilted = TILT / pin.length * turned * run.step
    return BushSums(bushes, float(shared[0]) * run.step, tilted, pin_stress(size, turn, peak, pin), float(edge))


def worn_ends(run: Run, held: Balance, names: Sequence[str] = MAIN) -> dict[str, NDArray[np.float64]]:
    """∫F|ω| dt of both bushes of main pins with all couples on the lower and on the upper pins, (SHARES, 2) [N rad].

    Read at every fourth step: means of loads that change over many steps (a thousandth on rough ground).
    """
    ends = [share_out(run, held, share, EVERY) for share in SHARES]
    rate, flat = rates_of(run, MAIN), run.pins.reshape(-1)
    told: dict[str, NDArray[np.float64]] = {}
    for name in names:
        means = np.zeros((2, 2))
        pin, turned = run.unit.pins.of(name), rate[name]
        for end, out in zip(ends, means, strict=True):
            couple = end.couple[name].reshape(-1)
            worn_bushes(flat, PINS.index(name), len(PINS), couple, per_span(pin), turned, EVERY, out)
        told[name] = means * turned.size * run.step
        if pin.bushes == 1:
            few, time = turned[::EVERY], EVERY * run.step
            told[name] += [[_tilted(end.couple[name], few, pin.length) * time] for end in ends]
    return told


def per_span(pin: Pin) -> float:
    """1/span [1/m]; 0 where there is one bush alone."""
    return 1.0 / pin.span if pin.bushes > 1 else 0.0


def _tilted(couple: NDArray[np.float64], rate: NDArray[np.float64], length: float) -> float:
    """What a couple adds to ∑F|ω| at the edge of a single bush, the pressure taken as linear along it: 6M/L [N]."""
    return TILT / length * float(np.sqrt(couple[0] ** 2 + couple[1] ** 2) @ rate)
