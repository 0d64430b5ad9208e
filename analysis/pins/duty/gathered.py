"""What a stretch of row does to all pins, in sums that join: runs of a window's cell, passes of a paddock.

Off unless asked for: nothing is gathered while a unit marches, it is read off the series that a run keeps, in one
compiled pass (`gather_loop`).

**Cycles of which signal?** The load of a pin is a vector; its size hides reversals (a load that goes from −5 to +5 kN
keeps its size). The stress at any place of a part hangs linearly on the two components of the load in that part's own
axes, so it follows the load's component in some direction that is fixed in the part. Which direction, hangs on the
place; so components are counted, in the axes of the second-named part, in three directions 60° apart, and the worst
direction is found between them: the square of the damage-equivalent range is a quadratic form of the direction,
a + b cos 2φ + c sin 2φ, exactly so for loads along one line and for loads that go round an ellipse, whose range in
the direction φ is that. On the library's grounds its worst direction comes within 1.6 % of the worst of twelve counted
directions (slopes 3 and 5), where counting the size would be up to 60 % low. Directions that are fixed beforehand, and
not read off the data, are what lets counts join. (`analysis.pins.duty.worst`)
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.spans import travelled
from analysis.pins.duty import cycles
from analysis.pins.duty.cycles import Counted
from analysis.pins.duty.gather_loop import (
    DIRECTIONS,
    EVERY,
    N_HISTORIES,
    N_PINS,
    N_SUMS,
    SECTORS,
    SIZE,
    SQUARE,
    TURNED,
    TURNED_SQUARE,
    WORN,
    gather,
)
from analysis.pins.duty.rainflow_loop import BINS, MEANS, RANGES
from analysis.pins.duty.rotation import FIRST, SECOND, linkage_of
from sim.record import Run

STILL = 1e-9  # parts that turn less against each other do not turn: it is rounding [rad per m of travel]
ROOM = 520  # turning points of a history that may be left over at first; more are made room for


@dataclass(frozen=True, eq=False, repr=False)
class Gathered:
    """Sums over a stretch, pins in the order of `sim.record.PINS`.

    Roses by sector of 10°, the first about the part's own line (`rotation.Standing`), on counter-clockwise; (14, 2, 36)
    for the first- and the second-named part: the direction of the force on that part. Every fourth step is read.
    """

    distance: float  # [m]
    duration: float  # [s]
    peak: NDArray[np.float64]  # largest size, between steps too (`analysis.crossing.peaks`), (14,) [N]
    square: NDArray[np.float64]  # ∫F² dt, (14,) [N² s]
    size: NDArray[np.float64]  # ∫F dt, (14,) [N s]
    turned: NDArray[np.float64]  # ∫|dθ| of one part against the other, (14,) [rad]
    turned_square: NDArray[np.float64]  # ∫θ′² dt, (14,) [rad²/s]
    worn: NDArray[np.float64]  # ∫F |dθ|, (14,) [N rad]
    rose_time: NDArray[np.float64]  # [s]
    rose_worn: NDArray[np.float64]  # ∫F |dθ| [N rad]
    counted: tuple[tuple[Counted, ...], ...]  # 14 pins × 3 directions: 0, 60 and 120° from the second part's line


def gathered(run: Run) -> Gathered:
    """All pins over a run's measured stretch."""
    s, crank, room = run.series, run.setting.crank_angle, ROOM
    pins = np.ascontiguousarray(run.pins).reshape(-1)
    while True:
        sums, peaks = np.zeros((N_PINS, N_SUMS)), np.zeros(N_PINS)
        roses = 2 * N_PINS * 2 * SECTORS
        steps, worn = np.zeros(roses, dtype=np.int64), np.zeros(roses)
        closed, numbers = (np.zeros(N_HISTORIES * bins, dtype=np.int32) for bins in (BINS, RANGES))
        sizes = np.zeros(N_HISTORIES * RANGES)
        stack, depth = np.empty(N_HISTORIES * room), np.zeros(N_HISTORIES, dtype=np.int64)
        if gather(
            linkage_of(run), s["arm_angle"], s["arm_rate"], s["press_angle"], s["press_rate"], math.cos(crank),
            math.sin(crank), pins, FIRST, SECOND, sums, peaks, steps, worn, closed, numbers, sizes, stack, room, depth,
        ):  # fmt: skip
            break
        room = s["arm_angle"].size + ROOM
    dt = run.step
    rose_time, rose_worn = (of.reshape(2, N_PINS, 2, SECTORS).sum(axis=0) * (EVERY * dt) for of in (steps, worn))
    counts = [
        Counted(*of, left_over=stack[q * room : q * room + depth[q]].copy())
        for q, of in enumerate(
            zip(closed.reshape(-1, RANGES, MEANS), numbers.reshape(-1, RANGES), sizes.reshape(-1, RANGES), strict=True)
        )
    ]
    return Gathered(
        distance=travelled(run), duration=s["arm_angle"].size * dt, peak=np.sqrt(peaks), square=sums[:, SQUARE] * dt,
        size=sums[:, SIZE] * dt, turned=sums[:, TURNED] * dt, turned_square=sums[:, TURNED_SQUARE] * dt,
        worn=sums[:, WORN] * dt, rose_time=rose_time, rose_worn=rose_worn,
        counted=tuple(tuple(counts[p * DIRECTIONS : (p + 1) * DIRECTIONS]) for p in range(N_PINS)),
    )  # fmt: skip


SUMMED = (
    "distance", "duration", "square", "size", "turned", "turned_square", "worn", "rose_time", "rose_worn",
)  # fmt: skip


def _join(a: Gathered, b: Gathered) -> Gathered:
    sums = {name: getattr(a, name) + getattr(b, name) for name in SUMMED}
    counts = tuple(
        tuple(cycles.joined(pair) for pair in zip(*of_pin, strict=True))
        for of_pin in zip(a.counted, b.counted, strict=True)
    )
    return Gathered(**sums, peak=np.maximum(a.peak, b.peak), counted=counts)


def joined(stretches: Iterable[Gathered]) -> Gathered:
    """Stretches that the same unit runs one after the other: sums added, peaks the highest, cycles counted on.

    Cycles are those of the whole history, exactly; sums agree with those of the whole to rounding.
    """
    return reduce(_join, stretches)


def gathered_over(runs: Iterable[Run]) -> Gathered:
    """Runs one after the other; taken one at a time, so that a generator of runs never holds more than one."""
    return joined(gathered(run) for run in runs)
