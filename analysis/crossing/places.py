"""How much of the travel is bad at one place: off depth, or with the gauge wheel off.

A hump is followed by a hollow in the depth, a bank by two: stretches with less than `events.PLACE` of travel between
them belong to one place, and the travel that is bad there is added up. The place with most of it counts. So it is
the same however much flat ground lies before and behind, and however many places there are.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.depth import depth_error
from analysis.crossing.events import rules
from analysis.crossing.spans import spacing
from sim.record import Run


class Places(NamedTuple):
    """Travel [m] off depth, and with no load on the gauge wheel, each at the place with most of it."""

    off_depth: float
    wheel_off: float


def places(run: Run, tolerance: float) -> Places:
    """Of a whole run; tolerance of the depth [m]."""
    travel = spacing(run)
    off_depth = np.abs(depth_error(run)) > tolerance
    return Places(at_one_place(off_depth, travel), at_one_place(run.series["gauge_load"] <= 0.0, travel))


def at_one_place(bad: NDArray[np.bool_], travel: float) -> float:
    """Travel of the steps that are bad at the worst place [m]; bad: (n,), travel per step [m]."""
    steps = np.flatnonzero(bad)
    if not steps.size:
        return 0.0
    apart = rules(travel, 0.0, 0.0, math.inf).place
    begins = np.flatnonzero(np.diff(steps) - 1 > apart) + 1
    return float(np.diff([0, *begins, steps.size]).max()) * travel
