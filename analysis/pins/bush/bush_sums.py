"""What the bushes of pins that carry couples go through, in sums that join: grounds of a window, rows of a paddock."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from analysis.pins.bush.bush_loop import (
    COUPLE,
    COUPLE_TURNED,
    EDGE,
    N_SHARED,
    N_SUMS,
    PEAK,
    WORST_COUPLE,
    WORST_PIN,
    Series,
    Sharing,
    reduce_bushes,
)
from analysis.pins.bush.couples import ARMS, COUPLED, Balance, balance
from analysis.pins.bush.pressure import mean_pressure, pin_stress
from analysis.pins.duty.rotation import relative_rates
from sim.bushes import Pin
from sim.record import PINS, Run

MAIN = PINS[:4]
WHICH = np.array([PINS.index(name) for name in (*COUPLED, "cylinder_arm")])
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


def rates_of(run: Run, still: Iterable[str] = ()) -> dict[str, NDArray[np.float64]]:
    """Sizes of the turning rates of `COUPLED` pins, (n,) each [rad/s]; still: those known not to turn, or not asked."""
    arm = np.abs(run.series["arm_rate"])
    turns = "gauge_arm" not in still
    gauge = np.ascontiguousarray(relative_rates(run)[:, PINS.index("gauge_arm")]) if turns else np.zeros(arm.size)
    return dict.fromkeys(MAIN, arm) | {"gauge_arm": np.abs(gauge), "press_arm": np.abs(run.series["press_rate"])}


@dataclass(frozen=True, eq=False)
class Reduced:
    """All of `COUPLED` over a run. ends: of main pins ∫F|ω| of both bushes with all couples on the lower and on the
    upper pins, (SHARES, 2) [N rad].
    """

    pins: dict[str, BushSums]
    ends: dict[str, NDArray[np.float64]]


def reduced(
    run: Run, held: Balance, rates: Mapping[str, NDArray[np.float64]], *, upper_share: float | None = None,
    pins: Mapping[str, Pin] | None = None,
) -> Reduced:  # fmt: skip
    """Sums over a run. held: what is shared, rates: as `rates_of`; pins, upper_share: in place of the unit's own."""
    unit = run.unit
    chosen = [(pins or {}).get(name) or unit.pins.of(name) for name in COUPLED]
    sizes = np.array([(per_span(pin), pin.diameter, pin.length) for pin in chosen])
    sums, shared = np.zeros((len(COUPLED), 2, N_SUMS)), np.zeros((len(COUPLED), N_SHARED))
    ends = np.zeros((len(SHARES), len(MAIN), 3))
    gauge, press = (held.arms.couple[name].reshape(-1) for name in ARMS)
    reduce_bushes(
        Series(
            run.pins.reshape(-1), held.moment.reshape(-1), held.force, gauge, press, *held.to_front,
            rates[MAIN[0]], rates["gauge_arm"], rates["press_arm"],
        ),
        Sharing(
            unit.main_links.spacing, unit.pins.upper_share if upper_share is None else upper_share,
            unit.cylinder.lateral, float(held.slope.link),
        ),
        len(PINS), WHICH, sizes, sums, shared, np.array(SHARES), ends,
    )  # fmt: skip
    sums[:, :, :PEAK] *= run.step
    shared[:, :EDGE] *= run.step
    ends *= run.step
    return Reduced(
        {name: _of_pin(pin, *of) for name, pin, *of in zip(COUPLED, chosen, sums, shared, strict=True)},
        {
            name: ends[:, k, :2] + TILT / pin.length * ends[:, k, 2:]
            for k, (name, pin) in enumerate(zip(MAIN, chosen, strict=False))
        },
    )


def _of_pin(pin: Pin, bushes: NDArray[np.float64], shared: NDArray[np.float64]) -> BushSums:
    peak = math.sqrt(float(bushes[: pin.bushes, PEAK].max()))
    turn, size = math.sqrt(shared[WORST_COUPLE]), math.sqrt(shared[WORST_PIN])
    edge = shared[EDGE] if pin.bushes == 1 else mean_pressure(peak, pin.diameter, pin.length)
    tilted = TILT / pin.length * float(shared[COUPLE_TURNED])
    return BushSums(bushes, float(shared[COUPLE]), tilted, pin_stress(size, turn, peak, pin), float(edge))


def per_span(pin: Pin) -> float:
    """1/span [1/m]; 0 where there is one bush alone."""
    return 1.0 / pin.span if pin.bushes > 1 else 0.0
