"""The pick again in a changed scenario: speeds searched outward from the pick's, pressures beyond those of the window.

Up as long as some pressure meets every limit, else down until one does; the rule is that of the pick
(`analysis.window.pick`). Where a window ends at some pressure, or its steps leap over one, an answer could be one of
the search alone: two steps more are tried at both its ends, and wide steps are divided.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analysis.rows.cells import Laid
from analysis.window.grid import Window
from analysis.window.pick import Nearest, Pick
from analysis.window.sure.column import Column, Standing
from scenarios.scenario import Scenario
from scenarios.spec import Limits
from sim.unit import Settings, parts

STEPS_BEYOND = 2  # pressures tried beyond each end of the window's
FINE = 5e5  # [Pa]: steps of pressure that are wider than this are divided


Place = tuple[float, float] | None  # pressure [Pa] and speed [m/s] of a pick; None: there is none


@dataclass(frozen=True)
class Found:
    """What a changed scenario leads to."""

    pick: Standing | None  # None: no setting tried meets every limit
    nearest: Standing | None  # then: the one that fails least
    kept: Standing  # how the first pick then stands, on all grounds
    beyond: bool = False  # the pick, or the nearest, lies beyond the window's pressures
    edges: tuple[str, ...] = ()  # "fastest", "slowest", "lowest", "highest": ends of what was tried that it lies at

    @property
    def still_meets(self) -> bool:
        """Whether the first pick still meets every limit."""
        return self.kept.room >= 0.0

    @property
    def place(self) -> Place:
        """Where the pick is."""
        return None if self.pick is None else (self.pick.oil_pressure, self.pick.speed)


def axis(window: Window, limits: Limits) -> NDArray[np.float64]:
    """Pressures to try, rising [Pa]: the window's, up to two steps beyond each end, and more between where its steps
    are wider than FINE; within what may be set. A window of one pressure is left at that.
    """
    p = window.pressures
    if p.size < 2:
        return p
    meta = next(item.metadata for name, item in parts(Settings) if name == "oil_pressure")
    highest = min(meta["high"], math.inf if limits.max_oil_pressure is None else limits.max_oil_pressure)
    steps = np.arange(1, STEPS_BEYOND + 1)
    lower, upper = p[0] - steps[::-1] * (p[1] - p[0]), p[-1] + steps * (p[-1] - p[-2])
    lower, upper = np.round(lower[lower >= meta["low"]], 3), np.round(upper[upper <= highest * (1.0 + 1e-12)], 3)
    coarse = np.concatenate([lower, p, upper])
    between = []
    for a, b in pairwise(coarse):
        count = math.ceil((b - a) / FINE - 1e-9)
        between.append(np.round(a + np.arange(1, count) * ((b - a) / count), 3))
    return np.sort(np.concatenate([coarse, *between]))


def outward(scenario: Scenario, window: Window, pick: Pick | Nearest, laid: tuple[Laid, ...]) -> Found:
    """The pick of a changed scenario. laid: its grounds, the one crossed first in front."""
    tried = axis(window, scenario.limits)
    at_pick = int(np.searchsorted(tried, pick.oil_pressure))
    columns = {pick.j: Column(scenario, tried, float(window.speeds[pick.j]), laid)}
    start = columns[pick.j]
    start.look(at_pick, [(at_pick, k) for k in range(1, len(laid))])

    def best_at(j: int, middle: int) -> Standing | None:
        if j not in columns:
            columns[j] = Column(scenario, tried, float(window.speeds[j]), laid)
            columns[j].look(middle)
        return columns[j].best()

    best = _outward(best_at, pick.j, window.speeds.size, tried, at_pick, hopeful=start.hopeful)
    kept = start.standing(at_pick)
    nearest = None
    if best is None:
        nearest = max((c.nearest() for c in columns.values()), key=lambda s: (s.room, s.speed, -s.oil_pressure))
    told = best or nearest
    assert told is not None
    inside = window.pressures[0] <= told.oil_pressure <= window.pressures[-1]
    return Found(best, nearest, kept, not inside, _edges(window, tried, told))


def _outward(
    best_at: Callable[[int, int], Standing | None],
    start: int,
    speeds: int,
    pressures: NDArray[np.float64],
    middle: int,
    *,
    hopeful: bool,
) -> Standing | None:
    """The best of the fastest speed that has one: speeds upward from `start`, else downward.

    hopeful: whether `start` may have one; it is looked into further only where the next speed has none.
    """
    found = None
    for j in range(start + 1, speeds) if hopeful else ():
        faster = best_at(j, middle)
        if faster is None:
            break
        found, middle = faster, int(np.searchsorted(pressures, faster.oil_pressure))
    for j in range(start if hopeful else start - 1, -1, -1):
        found = found or best_at(j, middle)
    return found


def _edges(window: Window, tried: NDArray[np.float64], told: Standing) -> tuple[str, ...]:
    """At which ends of what was tried a setting lies; along an axis of one value there is no end."""
    found = []
    for values, value, (low, high) in (
        (window.speeds, told.speed, ("slowest", "fastest")),
        (tried, told.oil_pressure, ("lowest", "highest")),
    ):
        if values.size > 1:
            found += [low] if value == values[0] else [high] if value == values[-1] else []
    return tuple(found)
