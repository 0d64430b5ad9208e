"""Designs searched and crossed on the same grounds: each at its own pick, and all at one setting."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from analysis.compare.designs import Design
from analysis.compare.measured import Measured, compared_by, crossed
from analysis.compare.paired import Paired, paired
from analysis.parallel import Progress, part_of, run_all
from analysis.rows.cells import lay
from analysis.window.cross_grid import search
from analysis.window.grid import Window
from analysis.window.pick import Nearest, Pick, choose
from sim.errors import SimulationError
from sim.run import simulate

Values = dict[str, NDArray[np.float64]]  # by name of the measure, (grounds,) [SI], NaN where it could not be crossed
GROUNDS = 8


@dataclass(frozen=True)
class At:
    """One design crossed at one setting on every ground."""

    oil_pressure: float  # gauge [Pa]
    speed: float  # [m/s]
    values: Values
    problems: dict[int, str]  # by ground: why it could not be crossed


@dataclass(frozen=True, repr=False)
class Result:
    """What one design does. window, outcome: of the grounds that the file searches; None: no pick was looked for.

    pick_speeds: speed of the pick of each ground searched alone [m/s], NaN where it has none.
    """

    design: Design
    window: Window | None
    outcome: Pick | Nearest | None
    pick_speeds: NDArray[np.float64]
    own: At | None  # at its own pick; None: it has none
    common: At

    @property
    def pick(self) -> Pick | None:
        """Its pick, None where no setting meets every limit."""
        return self.outcome if isinstance(self.outcome, Pick) else None

    @property
    def rate(self) -> float:
        """Hectares an hour at its pick, NaN without one."""
        return float("nan") if self.pick is None else self.design.scenario.machine.hectares_per_hour(self.pick.speed)


@dataclass(frozen=True, repr=False)
class Comparison:
    """Designs on the same grounds; the first is what the others are held against.

    chosen: number of the design whose pick is the common setting, None: it is the file's own setting; as_set: each is
    crossed at the setting of its own file, and none was searched.
    """

    results: tuple[Result, ...]
    seeds: tuple[int, ...]
    searched: int  # on how many of them the picks rest
    chosen: int | None
    as_set: bool = False

    def __repr__(self) -> str:
        names = ", ".join(one.design.name for one in self.results)
        return f"{type(self).__name__} of {names} on {len(self.seeds)} grounds"

    @cached_property
    def measures(self) -> tuple[Measured, ...]:
        """What they are compared by."""
        return compared_by(self.results[0].design.scenario)

    def difference(self, number: int, name: str, *, own: bool) -> Paired | None:
        """A design less the first in one measure, each at its own pick or at the common setting; None: not known."""
        first, other = self.at(0, own=own), self.at(number, own=own)
        return None if first is None or other is None else paired(first.values[name], other.values[name])

    def at(self, number: int, *, own: bool) -> At | None:
        """A design at its own pick or at the common setting."""
        result = self.results[number]
        return result.own if own else result.common


def compare(
    designs: Sequence[Design],
    grounds: int = GROUNDS,
    workers: int | None = None,
    progress: Progress | None = None,
    *,
    as_set: bool = False,
) -> Comparison:
    """Search every design on the same grounds, then cross each at its own pick and all at one setting.

    grounds: how many, counted on from the first one's own number; never fewer than its file searches. The picks are
    those of the grounds that the file searches, as `rowbench window` has them without doubt. The common setting is the
    pick of the first design that has one, else the first file's own. as_set: no search, each at its file's setting.
    """
    first = designs[0].scenario
    count = max(grounds, first.search.seeds)
    seeds = tuple(first.seed + k for k in range(count))
    cells = 0 if as_set else sum(_cells(design) for design in designs) * count
    total = cells + 2 * len(designs) * count
    windows = [] if as_set else _searched(designs, seeds, workers, progress, total)
    if windows:  # grounds that are one and the same count once
        seeds = max((window.seeds for window in windows), key=len)
    elif not any(len(lay(design.scenario, seeds[:2])) > 1 for design in designs):
        seeds = seeds[:1]
    searched = min(first.search.seeds, len(seeds))
    decided = [_first(window, searched) for window in windows]
    outcomes = [choose(window) for window in decided]
    chosen = next((i for i, one in enumerate(outcomes) if isinstance(one, Pick)), None)
    common = _setting(designs[0], outcomes[chosen] if chosen is not None else None)
    own: list[Setting | None] = [
        _setting(d, o) if isinstance(o, Pick) else None for d, o in zip(designs, outcomes, strict=False)
    ]
    wanted: list[list[Setting | None]] = [[_setting(d, None) if as_set else common for d in designs], own]
    ats = _crossed(designs, wanted, seeds, workers, None if progress is None else part_of(progress, cells, total))
    results = []
    for i, design in enumerate(designs):
        window, outcome = (decided[i], outcomes[i]) if windows else (None, None)
        speeds = _alone(windows[i]) if windows else np.array([])
        at = ats[0, i]
        assert at is not None
        results.append(Result(design, window, outcome, speeds, ats.get((1, i)), at))
    if progress is not None:
        progress(total, total)
    return Comparison(tuple(results), seeds, searched, chosen, as_set)


def _cells(design: Design) -> int:
    return len(design.scenario.search.pressures) * len(design.scenario.search.speeds)


def _searched(
    designs: Sequence[Design], seeds: tuple[int, ...], workers: int | None, progress: Progress | None, total: int
) -> list[Window]:
    windows, before = [], 0
    for design in designs:
        told = None if progress is None else part_of(progress, before, total)
        windows.append(search(design.scenario, seeds=seeds, workers=workers, progress=told, unchanged=False))
        before += _cells(design) * len(seeds)
    return windows


def _first(window: Window, count: int) -> Window:
    """The window of its first grounds alone."""
    if count >= len(window.seeds):
        return window
    grids = {name: grid[:, :, :count] for name, grid in window.grids.items()}
    problems = {cell: text for cell, text in window.problems.items() if cell[2] < count}
    heeds = {cell: heeds for cell, heeds in window.heeds.items() if cell[2] < count}
    return replace(window, seeds=window.seeds[:count], grids=grids, problems=problems, heeds=heeds)


def _alone(window: Window) -> NDArray[np.float64]:
    """Speed of the pick of each ground searched alone [m/s], NaN where it has none."""
    found = [choose(window.only_seed(k)) for k in range(len(window.seeds))]
    return np.array([one.speed if isinstance(one, Pick) else np.nan for one in found])


Setting = tuple[float, float]  # oil pressure, gauge [Pa], and speed [m/s]


def _setting(design: Design, outcome: Pick | Nearest | None) -> Setting:
    held = design.scenario.settings if outcome is None else outcome
    return held.oil_pressure, held.speed


def _crossed(
    designs: Sequence[Design], wanted: list[list[Setting | None]], seeds: tuple[int, ...], workers: int | None,
    progress: Progress | None,
) -> dict[tuple[int, int], At | None]:  # fmt: skip
    """Every design at every setting wanted of it, by (list, design); the same setting is crossed once."""
    jobs = list(dict.fromkeys(
        (i, setting, seed) for row in wanted for i, setting in enumerate(row) if setting is not None for seed in seeds
    ))  # fmt: skip
    measures = compared_by(designs[0].scenario)

    def job(asked: tuple[int, Setting, int]) -> dict[str, float] | str:
        scenario = designs[asked[0]].scenario
        settings = scenario.settings.redone_at(*asked[1])
        try:
            run = simulate(scenario.unit, scenario.soil, scenario.track(asked[2]), settings)
        except SimulationError as error:
            return str(error)
        made = crossed(run, scenario.limits.depth_tolerance)
        return {m.name: m.find(made) for m in measures}

    found = dict(zip(jobs, run_all(job, jobs, workers, progress), strict=True))

    def at(i: int, setting: Setting | None) -> At | None:
        if setting is None:
            return None
        of = [found[i, setting, seed] for seed in seeds]
        values = {m.name: np.array([np.nan if isinstance(one, str) else one[m.name] for one in of]) for m in measures}
        problems = {seed: one for seed, one in zip(seeds, of, strict=True) if isinstance(one, str)}
        return At(*setting, values, problems)

    return {(k, i): at(i, setting) for k, row in enumerate(wanted) for i, setting in enumerate(row)}
