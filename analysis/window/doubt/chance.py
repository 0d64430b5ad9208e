"""The chance that all limits are met: the window again with every set of values drawn from what is in doubt.

Each set is crossed at the same pressures and speeds on the same ground numbers under the same limits, so that cells
differ by their setting alone. A set that fails on the ground where the pick has least room is not crossed on the
others: it has failed. What is known before any crossing, the precharge rule, the depths that may be sown and the
highest oil pressure, holds by the file's own values, as in every pick: the rule has its own room for a gauge that is
off and for hot and cold gas.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.poisson import LEVEL
from analysis.parallel import Progress, part_of, run_all
from analysis.rows.cells import Crossing, Laid, lay_from
from analysis.rows.crossings import Cell
from analysis.rows.known import cross_or_find
from analysis.window.cross_grid import assemble
from analysis.window.grid import Window
from analysis.window.limits import allowed_cells, meets, without_counts, without_rule
from analysis.window.pick import Pick
from scenarios.doubt.belief import Belief, belief, draws
from scenarios.doubt.varied import lie_alike, with_values
from scenarios.scenario import Scenario
from sim.arithmetic.simd import WIDTH

BATCH = 8  # sets after which it is asked whether a speed may be given up
Cells = NDArray[np.bool_]


@dataclass(frozen=True, repr=False, eq=False)
class Chance:
    """Which sets of values meet all limits where.

    met: (sets, pressures, speeds); looked: cells that were looked at, (pressures, speeds); held: what was drawn from,
    values: what was drawn, (sets, n) [SI].
    """

    met: Cells
    looked: Cells
    held: Belief
    values: NDArray[np.float64]

    def __repr__(self) -> str:
        return f"{type(self).__name__}: {self.sets} sets of {len(self.held.names)} values in doubt"

    @property
    def sets(self) -> int:
        """Number of sets."""
        return int(self.met.shape[0])

    @cached_property
    def grid(self) -> NDArray[np.float64]:
        """Share of the sets that meet all limits, (pressures, speeds); NaN where it was not looked at."""
        return np.where(self.looked, self.met.mean(axis=0), np.nan)

    def good(self, i: int, j: int) -> int:
        """Number of sets that meet all limits at pressure i and speed j."""
        return int(self.met[:, i, j].sum())

    def interval(self, i: int, j: int) -> tuple[float, float]:
        """95 % interval of the chance itself, from so many sets: Clopper and Pearson's for plain draws.

        Sets are drawn more evenly than that (`scenarios.doubt.belief.draws`): it is rather too wide than too narrow.
        """
        from scipy.special import betaincinv  # noqa: PLC0415

        good, n, side = self.good(i, j), self.sets, 0.5 * (1.0 - LEVEL)
        low = 0.0 if good == 0 else float(betaincinv(good, n - good + 1, side))
        high = 1.0 if good == n else float(betaincinv(good + 1, n - good, 1.0 - side))
        return low, high


def whole_grid(
    scenario: Scenario, window: Window, first: int | None = None, workers: int | None = None,
    progress: Progress | None = None,
) -> Chance:  # fmt: skip
    """The chance of every cell of a scenario's window, with `search.draws` sets drawn from the ground's seed.

    first: the ground number to cross first, that where most fails. progress(sets done, all of them). The result is the
    same for any number of workers.
    """
    sets = _Sets(scenario, window, first)
    met = np.zeros((sets.count, *sets.able.shape), dtype=np.bool_)
    sets.cross(met, range(sets.count), range(window.speeds.size), workers, progress)
    return Chance(met, np.ones(sets.able.shape, dtype=np.bool_), sets.held, sets.values)


def down_from(
    scenario: Scenario, window: Window, pick: Pick, workers: int | None = None, progress: Progress | None = None
) -> Chance:
    """The chance at a pick's speed, and at slower ones down to the first at which some pressure has `confidence`.

    A slower speed is given up, and not looked at, as soon as none of its pressures can have it any more: few sets show
    that. progress(parts done, all of them), a part being a set at a speed. The same for any number of workers.
    """
    sets = _Sets(scenario, window, pick.checks[0].seed)
    met = np.zeros((sets.count, *sets.able.shape), dtype=np.bool_)
    looked = np.zeros(sets.able.shape, dtype=np.bool_)
    most = sets.count - needed(window.limits.confidence, sets.count)  # sets that may fail
    total, gone = sets.count * (pick.j + 1), 0
    for j in range(pick.j, -1, -1):
        whole = True
        at_once = sets.count if j == pick.j else BATCH  # the pick's own speed is never given up
        for part in range(0, sets.count, at_once):
            rows = range(part, min(part + at_once, sets.count))
            told = None if progress is None else part_of(progress, gone + part, total)
            sets.cross(met, rows, range(j, j + 1), workers, told)
            failed = (~met[: rows.stop, :, j]).sum(axis=0)
            whole = j == pick.j or bool((failed <= most).any())
            if not whole:
                break
        gone += sets.count
        if whole:
            looked[:, j] = True
            if (failed <= most).any():
                break
    if progress is not None:
        progress(total, total)
    return Chance(met & looked, looked, sets.held, sets.values)


def needed(confidence: float, sets: int) -> int:
    """How many of the sets have to meet all limits."""
    return math.ceil(confidence * sets - 1e-9)


class _Sets:
    """Sets of values drawn for a window, and the crossings with them."""

    def __init__(self, scenario: Scenario, window: Window, first: int | None) -> None:
        self.scenario, self.window, self.first = scenario, window, first
        self.held = belief(scenario)
        self.values = draws(self.held, scenario.search.draws, scenario.seed)
        self.count = len(self.values)
        self.able = allowed_cells(window, window.limits)
        self._laid = self._lay(scenario)

    def _lay(self, scenario: Scenario) -> tuple[Laid, ...]:
        """The window's grounds, the one to cross first in front."""
        return lay_from(scenario, self.window.seeds, self.first)

    def cross(
        self, met: Cells, rows: range, columns: range, workers: int | None, progress: Progress | None
    ) -> None:  # fmt: skip
        """Which cells of some speeds meet all limits with some of the sets, put into `met`."""
        able = np.zeros_like(self.able)
        able[:, columns.start : columns.stop] = self.able[:, columns.start : columns.stop]
        if not self.held.names:  # nothing in doubt: every set is the scenario itself
            met[rows.start : rows.stop] |= meets(self.window, self.window.limits) & able
            return
        found = run_all(lambda row: self._met(self.values[row], able), rows, workers, progress)
        met[rows.start : rows.stop] |= np.array(found)

    def _met(self, values: NDArray[np.float64], able: Cells) -> Cells:
        changed = with_values(self.scenario, dict(zip(self.held.names, values.tolist(), strict=True)))
        laid = self._laid if lie_alike(self.scenario, changed) else self._lay(changed)
        return _met(changed, self.window, laid, able)


def _met(scenario: Scenario, window: Window, laid: tuple[Laid, ...], able: Cells) -> Cells:
    """Which of the cells `able` meet all limits: crossed on one ground after the other until they fail on one.

    So many at once as go in a march, which takes eight rows of one speed (`analysis.rows.crossings`).
    """
    limits = without_rule(window.limits)
    alone = without_counts(limits)

    def assembled(grounds: tuple[Laid, ...], crossings: Mapping[tuple[int, int, int], Crossing]) -> Window:
        return assemble(scenario, window.pressures, window.speeds, grounds, crossings, told=False)

    made: dict[tuple[int, int, int], Crossing] = {}
    left = able.copy()
    while jobs := _next(left, made, len(laid)):
        _cross(scenario, window, laid, jobs, made)
        for k in {k for *_, k in jobs}:
            here = {(i, j, 0): crossing for (i, j, ground), crossing in made.items() if ground == k}
            found = meets(assembled(laid[k : k + 1], here), alone)
            for i, j, _ in here:
                left[i, j] &= found[i, j]
    return left & meets(assembled(laid, made), limits)


def _next(
    left: Cells, made: Mapping[tuple[int, int, int], Crossing], grounds: int
) -> list[tuple[int, int, int]]:  # fmt: skip
    """The (pressure, speed, ground) to cross next: of each speed as many of the cells left as go in a march."""
    found = []
    for j in range(left.shape[1]):
        cells = [(i, j, k) for k in range(grounds) for i in np.flatnonzero(left[:, j]).tolist()]
        found += [cell for cell in cells if cell not in made][:WIDTH]
    return found


def _cross(
    scenario: Scenario,
    window: Window,
    laid: tuple[Laid, ...],
    jobs: list[tuple[int, int, int]],
    made: dict[tuple[int, int, int], Crossing],
) -> None:
    """Cross (pressure, speed, ground) by their numbers into `made`."""
    settings, p, v = scenario.settings, window.pressures, window.speeds
    here = sorted({k for *_, k in jobs})
    cells = [
        Cell(replace(settings, oil_pressure=float(p[i]), speed=float(v[j])), ground=here.index(k)) for i, j, k in jobs
    ]
    made.update(zip(jobs, cross_or_find(scenario, [laid[k] for k in here], cells, False, 1), strict=True))
