"""How far values move the pick: how fast one may drive with every limit met, screened for the few that matter most.

A pick stands on a grid of speeds, and most changes leave it where it is. What is ranked is the speed at which the room
of the best pressure comes to nothing, read off between the grid's speeds in a straight line. A window costs some
twenty times a crossing, so that only the values that move the crossing at the file's own setting most are tried, by
screening (Morris) alone.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.rank.crossed import Evaluation, Tally
from analysis.rank.design import Values
from analysis.rank.knobs import Knob, Refused, Varied
from analysis.rank.rank import SCREENS, Meters, Stopped
from analysis.rank.shares import Screened, Stop, screened
from analysis.window.cross_grid import search
from analysis.window.grid import Window
from analysis.window.limits import allowed_cells, choosable, smallest_margin, without_rule
from scenarios.scenario import Scenario

TRIED = 8  # values whose effect on the pick is tried
SEARCHED = ("settings.oil_pressure_bar", "settings.speed_kmh")  # what a pick is of


@dataclass(frozen=True, eq=False)
class PickRanking:
    """Effects on the speed at which limits stop holding [m/s], of the knobs tried, the strongest first.

    rest: how many values were screened and not tried; ends: windows in which that speed lay at the slowest, or at the
    fastest speed tried, of so many; tally: sets that could not be crossed; share as `analysis.rank.rank.Ranking`.
    """

    scenario: Scenario
    share: float | None
    knobs: tuple[Knob, ...]
    effects: Screened
    rest: int
    speed: float  # of the file's own values
    ends: tuple[int, int]
    windows: int
    tally: Tally


def rank_pick(
    scenario: Scenario, varied: Varied, *, share: float | None, workers: int | None = None,
    meters: Meters | None = None,
) -> PickRanking:  # fmt: skip
    """Screen all, then the pick for the TRIED strongest. Raises Stopped on Ctrl-C; nothing is then known."""
    told = meters or (lambda _what: lambda _done, _total: None)
    varied = varied.only([i for i, knob in enumerate(varied.knobs) if knob.name not in SEARCHED])
    tally, count = Tally(), len(varied.knobs)
    numbers = list(range(count))
    own = _Fastest(scenario, varied, tally)
    try:
        if count > TRIED:
            first = screened(Evaluation(varied, scenario.search_seeds, tally), count, SCREENS, seed=scenario.seed,
                             workers=workers, progress=told(f"screening {count} values: parts"))  # fmt: skip
            numbers = strongest(first)
        own = _Fastest(scenario, varied.only(numbers), tally)
        here = own.of(scenario)
        effects = screened(own, len(numbers), SCREENS, seed=scenario.seed, workers=workers, part=1,
                           progress=told("windows"))  # fmt: skip
    except Stop as stop:
        raise Stopped(None, f"{stop.done} of {stop.asked} were done: too few to rank the pick by") from stop.__cause__
    order = np.argsort(-effects.size[:, 0], kind="stable")
    ordered = Screened(effects.size[order], effects.mean[order], effects.scatter[order], effects.most[order],
                       effects.missing[order], effects.blocks)  # fmt: skip
    knobs = tuple(own.varied.knobs[int(i)] for i in order)
    return PickRanking(scenario, share, knobs, ordered, count - len(numbers), here, own.ends,
                       SCREENS * (1 + len(numbers)), tally)  # fmt: skip


def strongest(first: Screened) -> list[int]:
    """Numbers of the values that move any measure most, as a share of what the strongest does to it."""
    most = first.size.max(axis=0)
    share = (first.size / np.where(most > 0.0, most, 1.0)).max(axis=1)
    return sorted(int(i) for i in np.argsort(-share, kind="stable")[:TRIED])


class _Fastest:
    """The speed at which limits stop holding, as a function of points: (m, k) → (m, 1) [m/s]."""

    def __init__(self, scenario: Scenario, varied: Varied, tally: Tally) -> None:
        self.scenario, self.varied, self.tally = scenario, varied, tally
        self._ends: list[int] = []
        self._able: NDArray[np.bool_] | None = None  # cells that the file's own values allow

    @property
    def ends(self) -> tuple[int, int]:
        """How many windows ended at the slowest, and at the fastest speed."""
        return self._ends.count(-1), self._ends.count(1)

    def __call__(self, points: Values) -> Values:
        found = np.full((len(points), 1), np.nan)
        for row, point in enumerate(points):
            try:
                speed, end = self._speed(self.varied.at(point))
            except Refused:
                self.tally.add("refused by the file's checks")
                continue
            found[row] = speed
            self._ends.append(end)
        return found

    def of(self, scenario: Scenario) -> float:
        """The speed of the file's own scenario [m/s]; to be asked for first."""
        window = self._window(scenario)
        self._able = allowed_cells(window, window.limits)
        return fastest(window, self._able)[0]

    def _window(self, scenario: Scenario) -> Window:
        s = self.scenario.search
        return search(scenario, [p / 1e5 for p in s.pressures], [v * 3.6 for v in s.speeds],
                      self.scenario.search_seeds, 1, unchanged=False, known=False)  # fmt: skip

    def _speed(self, scenario: Scenario) -> tuple[float, int]:
        assert self._able is not None
        return fastest(self._window(scenario), self._able)


def fastest(window: Window, allowed: NDArray[np.bool_]) -> tuple[float, int]:
    """The speed up to which some pressure meets every limit [m/s]; −1 or 1 where it lies at an end of those tried.

    Between the fastest speed that has room and the next, where the room comes to nothing in a straight line.
    allowed: cells that what is known before any crossing allows, by the file's own values (as in a pick by chance).
    """
    limits = without_rule(window.limits)
    able = allowed & choosable(window, limits)
    room = np.where(able, smallest_margin(window, limits), -np.inf).max(axis=0)
    good = np.flatnonzero(room >= 0.0)
    if good.size == 0:
        return float(window.speeds[0]), -1
    j = int(good[-1])
    if j + 1 == window.speeds.size:
        return float(window.speeds[j]), 1
    here, there = float(room[j]), float(room[j + 1])
    along = 0.0 if not np.isfinite(there) else here / (here - there) if np.isfinite(here) else 1.0
    return float(window.speeds[j] + along * (window.speeds[j + 1] - window.speeds[j])), 0
