"""What the crossings of ridges by speed come to: where they shake most, and up to which speed they do no harm."""

from __future__ import annotations

import math
from typing import NamedTuple

from analysis.modes.crossed import Crossed

PEAK, RISING, FALLING, EVEN, UNKNOWN = "peak", "rising", "falling", "even", "unknown"
SAME = 1.1  # swings that differ by less are even
STANDS_OUT = 1.05  # by as much a peak lies above both ends
CALMER = 0.8  # of the worst: what counts as calmer
LIFTS = 0.01  # share of the way from which on the wheel counts as off the ground


class Verdict(NamedTuple):
    """One list of crossings by speed, slowest first."""

    kind: str  # PEAK: a speed in between shakes most; RISING, FALLING: the fastest, the slowest; EVEN; UNKNOWN
    worst: Crossed | None
    calmest: Crossed | None  # of those that keep the wheel on the ground, if any does
    keeping: tuple[float, ...]  # speeds [m/s] that keep the tolerance all the way, with the wheel on the ground
    within: float | None  # fastest of them up to which, from the slowest on, all do; None: the slowest does not
    all_within: bool
    faster: Crossed | None  # with a peak: the fastest, where it is calmer than the peak
    least_off: Crossed | None  # where the wheel leaves the ground at every speed: that at which it does so least


def verdict(crossed: tuple[Crossed, ...], tolerance: float) -> Verdict:
    """Judge crossings by speed; tolerance of the depth error [m]."""
    known = [one for one in crossed if math.isfinite(one.swing)]
    if not known:
        return Verdict(UNKNOWN, None, None, (), None, False, None, None)
    swings = [one.swing for one in known]
    worst = known[swings.index(max(swings))]
    grounded = [one for one in known if one.wheel_off < LIFTS]
    calmest = min(grounded or known, key=lambda one: one.swing)
    within = None
    for one in crossed:
        if not _keeps(one, tolerance):
            break
        within = one.speed
    kind = _kind(swings)
    last = known[-1]
    faster = last if kind == PEAK and last.swing < CALMER * worst.swing else None
    keeping = tuple(one.speed for one in crossed if _keeps(one, tolerance))
    least_off = None if grounded else min(known, key=lambda one: one.wheel_off)
    return Verdict(kind, worst, calmest, keeping, within, len(keeping) == len(crossed), faster, least_off)


def _keeps(one: Crossed, tolerance: float) -> bool:
    """Whether a crossing keeps the depth within the tolerance all the way, with the wheel on the ground."""
    return one.worst <= tolerance and one.wheel_off < LIFTS


def _kind(swings: list[float]) -> str:
    most = max(swings)
    if most < SAME * min(swings):
        return EVEN
    if most >= STANDS_OUT * max(swings[0], swings[-1]):
        return PEAK
    return RISING if swings[-1] > swings[0] else FALLING
