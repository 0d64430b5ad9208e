"""One speed of a changed scenario: which pressure meets every limit with most room, in few crossings.

Pressures are crossed on one ground first, on which the pick has least room; only those that could still be the best go
on to the other grounds. Beyond the pressures tried so far the next are tried as long as the best is the outermost:
room rises with pressure where the depth decides and falls where loads do, so that it has one top.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from analysis.rows.cells import Crossing, Laid
from analysis.rows.crossings import Cell
from analysis.rows.known import cross_or_find
from analysis.window.cross_grid import assemble
from analysis.window.grid import Window
from analysis.window.limits import Check, checks, choosable, hindrance, smallest_margin, without_counts
from analysis.window.pick import SAME
from scenarios.scenario import Scenario
from sim.arithmetic.simd import WIDTH


@dataclass(frozen=True)
class Standing:
    """How one setting stands to the limits on the grounds that it was crossed on."""

    oil_pressure: float  # gauge [Pa]
    speed: float  # [m/s]
    room: float  # the smallest margin, share of its limit; −inf where it cannot be chosen
    check: Check  # of the limit with that margin
    hindrance: str = ""  # what keeps it from being chosen, beside its limits

    @property
    def sentence(self) -> str:
        """What keeps it from being chosen, or the limit with least room, in words."""
        return self.hindrance or self.check.sentence()


@dataclass
class Column:
    """What is known of one speed so far."""

    scenario: Scenario
    pressures: NDArray[np.float64]  # rising, gauge [Pa]
    speed: float
    laid: tuple[Laid, ...]  # the first is crossed first
    made: dict[int, dict[int, Crossing]] = field(default_factory=dict)  # by number of the pressure, then of the ground
    known: dict[int, Standing] = field(default_factory=dict)

    def cross(self, pairs: Iterable[tuple[int, int]]) -> None:
        """Cross pairs of a pressure and a ground, by their numbers."""
        jobs = [(i, k) for i, k in pairs if k not in self.made.get(i, {})]
        if not jobs:
            return
        grounds = sorted({k for _, k in jobs})
        settings = self.scenario.settings
        cells = [
            Cell(replace(settings, oil_pressure=float(self.pressures[i]), speed=self.speed), grounds.index(k))
            for i, k in jobs
        ]
        found = cross_or_find(self.scenario, tuple(self.laid[k] for k in grounds), cells, False, 1)
        for (i, k), crossing in zip(jobs, found, strict=True):
            self.made.setdefault(i, {})[k] = crossing
            self.known.pop(i, None)

    def standing(self, i: int) -> Standing:
        """How a pressure stands on the grounds crossed; counts only where it was crossed on all of them."""
        if i not in self.known:
            window = self._window(i)
            limits = window.limits if self.whole(i) else without_counts(window.limits)
            able = bool(choosable(window, limits)[0, 0])
            room = float(smallest_margin(window, limits)[0, 0]) if able else -math.inf
            stopped = "" if able else hindrance(window, limits, 0, 0)
            place = float(self.pressures[i]), self.speed
            self.known[i] = Standing(*place, room, checks(window, limits, 0, 0)[0], stopped)
        return self.known[i]

    def whole(self, i: int) -> bool:
        """Whether a pressure was crossed on all grounds."""
        return len(self.made[i]) == len(self.laid)

    def look(self, middle: int, also: Sequence[tuple[int, int]] = ()) -> None:
        """Cross pressures about `middle` on the first ground, as many as go in a march with the pairs `also`; then on
        beyond an end of those as long as the best lies there, and all where none can be chosen.
        """
        count, many = self.pressures.size, WIDTH - len(also) % WIDTH
        low = min(max(middle - many // 2, 0), max(count - many, 0))
        high = min(low + many, count)
        self.cross([*also, *((i, 0) for i in range(low, high))])
        while (low, high) != (0, count):
            best = max(range(low, high), key=lambda i: self.standing(i).room)
            if self.standing(best).room == -math.inf:
                wider = (0, count)
            elif best == low > 0:
                wider = (max(low - WIDTH, 0), high)
            elif best == high - 1 < count - 1:
                wider = (low, min(high + WIDTH, count))
            else:
                return
            low, high = wider
            self.cross((i, 0) for i in range(low, high))

    @property
    def hopeful(self) -> bool:
        """Whether some pressure meets every limit on the grounds that it was crossed on."""
        return any(self.standing(i).room >= 0.0 for i in self.made)

    def best(self) -> Standing | None:
        """The pressure that meets every limit on all grounds with most room (ties: the lower); None where none does."""
        while True:
            hopeful = [i for i in self.made if self.standing(i).room >= 0.0]
            if not hopeful:
                return None
            most = max(self.standing(i).room for i in hopeful)
            lead = min(i for i in hopeful if self.standing(i).room >= most - SAME)
            if self.whole(lead):
                return self.standing(lead)
            self._further(sorted(hopeful, key=lambda i: (-self.standing(i).room, i)))

    def _further(self, ranked: list[int]) -> None:
        """Cross the most hopeful pressures on further grounds, as many together as go in a march."""
        missing = [(i, k) for i in ranked for k in range(len(self.laid)) if k not in self.made[i]]
        self.cross(missing[:WIDTH])

    def nearest(self) -> Standing:
        """The setting whose worst limit fails least on the grounds crossed."""
        return max((self.standing(i) for i in self.made), key=lambda s: (s.room, -s.oil_pressure))

    def _window(self, i: int) -> Window:
        """The window of one pressure on the grounds crossed."""
        grounds = sorted(self.made[i])
        results = {(0, 0, n): self.made[i][k] for n, k in enumerate(grounds)}
        laid = tuple(self.laid[k] for k in grounds)
        alone = np.array([self.speed])
        return assemble(self.scenario, self.pressures[i : i + 1], alone, laid, results, told=False)
