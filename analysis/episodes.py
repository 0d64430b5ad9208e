"""Wheel-off episodes: stretches of row without load on the gauge wheel, each with its cause."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from analysis.spans import bridged, long_enough, spacing, stretches
from sim.record import Run

LEAST = 0.10  # travel that makes an episode [m]
GAP = 0.05  # contact over less travel than this does not end an episode [m]
ROCK_BEFORE = 0.30  # a stone met so shortly before counts as the cause [m]
ROCK, AT_STOP, NO_CUSHION, TOO_HARD, THROWN = "rock", "at_stop", "no_cushion", "too_hard", "thrown"
CAUSES_IN_ORDER = (ROCK, AT_STOP, NO_CUSHION, TOO_HARD, THROWN)


@dataclass(frozen=True)
class Episode:
    """One wheel-off episode; lengths [m] are travel of the toolbar's origin, contact that was bridged included."""

    start: float  # ground position of the disc at its first step [m]
    length: float
    rise: float  # greatest set depth − depth [m]
    gap: float  # greatest clearance under the gauge wheel [m]
    shallow: float  # travel with the depth above (less than) set depth − tolerance [m]
    cause: str  # one of CAUSES_IN_ORDER
    first: int  # first step, and the step after the last
    last: int


def wheel_off_episodes(run: Run, tolerance: float) -> tuple[Episode, ...]:
    """All episodes of a run in order; `tolerance` of the depth [m].

    Gauge load zero over at least 0.10 m of travel; contact over less than 0.05 m in between is bridged first.
    """
    travel = spacing(run)
    off = stretches(run.series["gauge_load"] <= 0.0)
    starts, ends = long_enough(*bridged(*off, travel, GAP), travel, LEAST)
    return tuple(_episode(run, int(a), int(b), travel, tolerance) for a, b in zip(starts, ends, strict=True))


def _episode(run: Run, first: int, last: int, travel: float, tolerance: float) -> Episode:
    s, here = run.series, slice(first, last)
    short = run.settings.set_depth - s["depth"][here]
    return Episode(
        start=float(s["distance"][first]),
        length=(last - first) * travel,
        rise=float(short.max()),
        gap=float(-s["lift_off"][here].min()),
        shallow=float(np.count_nonzero(short > tolerance)) * travel,
        cause=_cause(run, first, last, travel),
        first=first,
        last=last,
    )


def _cause(run: Run, first: int, last: int, travel: float) -> str:
    """The first that holds: a stone in it or just before, the arm at a stop, no oil left, soil too hard, thrown."""
    s, here = run.series, slice(first, last)
    before = max(0, first - int(ROCK_BEFORE / travel + 1e-9))
    if (s["rock_force"][before:last] > 0.0).any():
        return ROCK
    if (s["stop_force"][here] != 0.0).any():
        return AT_STOP
    if (s["gas_volume"][here] > run.unit.accumulator.volume).any():
        return NO_CUSHION
    if float(s["spare_load"][here].mean()) <= 0.0:
        return TOO_HARD
    return THROWN
