"""Precharges and set depths searched too: one window for each pair, and the pick over all of them.

The rule is that of a single window, over all of them: the highest speed at which some setting meets every limit, and
at that speed the setting with the most room to its nearest limit; ties go to the lower pressure, then to the lower
precharge and the shallower depth. Where none meets every limit: the one whose worst limit fails least.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from analysis.parallel import Progress
from analysis.present.edge import bar, mm
from analysis.window.advice import Advice, advise
from analysis.window.cross_grid import search
from analysis.window.gain import present_use
from analysis.window.grid import Window
from analysis.window.pick import SAME, Nearest, Pick, choose
from scenarios.consistency import settings_faults
from scenarios.format.errors import ScenarioError
from scenarios.scenario import Scenario


@dataclass(frozen=True)
class Tried:
    """One precharge and set depth with its window and the pick (or the nearest setting) in it."""

    scenario: Scenario
    window: Window
    outcome: Pick | Nearest

    @property
    def margin(self) -> float:
        """Smallest margin at the pick or the nearest setting, share of its limit; −inf: it cannot be chosen at all."""
        hindered = isinstance(self.outcome, Nearest) and self.outcome.hindrance
        return -math.inf if hindered else min(check.margin for check in self.outcome.checks)

    def pair(self) -> dict[str, float]:
        """The precharge and the set depth in edge units."""
        s = self.scenario.settings
        return {"precharge_bar": bar(s.precharge), "set_depth_mm": round(mm(s.set_depth), 9)}


@dataclass(frozen=True)
class Searched:
    """Everything that was tried; `best` is the pair that the pick over all lies in."""

    scenario: Scenario  # as the file has it
    tried: tuple[Tried, ...]
    best: Tried


def settings_to_try(
    scenario: Scenario, precharges_bar: Sequence[float] | None, depths_mm: Sequence[float] | None
) -> list[Scenario]:
    """The scenario at every precharge [bar] and set depth [mm] (None: the file's own), depths within precharges.

    Raises ScenarioError with every value out of its range or too deep for the disc.
    """
    s = scenario.settings
    precharges = [s.precharge] if precharges_bar is None else [p * 1e5 for p in sorted(set(precharges_bar))]
    depths = [s.set_depth] if depths_mm is None else [d / 1e3 for d in sorted(set(depths_mm))]
    made: list[Scenario] = []
    faults: dict[str, None] = {}
    for p in precharges:
        for d in depths:
            try:
                found = scenario.with_settings(precharge=p, set_depth=d)
            except ScenarioError as error:
                faults.update(dict.fromkeys(error.faults))
                continue
            faults.update(dict.fromkeys(settings_faults(found.settings, found.unit, str(found.path))))
            made.append(found)
    if faults:
        raise ScenarioError(faults)
    return made


def search_settings(
    scenario: Scenario,
    precharges_bar: Sequence[float] | None = None,
    depths_mm: Sequence[float] | None = None,
    pressures_bar: Sequence[float] | None = None,
    speeds_kmh: Sequence[float] | None = None,
    seeds: int | Sequence[int] | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
    *,
    unchanged: bool = True,
) -> Searched:
    """A window for every precharge [bar] and set depth [mm]; all else as `analysis.window.cross_grid.search`.

    progress(done, total) counts over all windows. Raises ScenarioError for values out of range.
    """
    wanted = settings_to_try(scenario, precharges_bar, depths_mm)
    tried = []
    for number, one in enumerate(wanted):
        told = None if progress is None else _part(progress, number, len(wanted))
        window = search(one, pressures_bar, speeds_kmh, seeds, workers, told, unchanged=unchanged)
        tried.append(Tried(one, window, choose(window)))
    return Searched(scenario, tuple(tried), best_of(tried))


def _part(progress: Progress, number: int, parts: int) -> Progress:
    """Progress of one of several equal parts, told as progress over all."""
    return lambda done, total: progress(number * total + done, parts * total)


def best_of(tried: Sequence[Tried]) -> Tried:
    """The pair that the pick over all windows lies in; see the top of this file."""
    picks = [one for one in tried if isinstance(one.outcome, Pick)]
    if picks:
        fastest = max(one.outcome.speed for one in picks)
        left = [one for one in picks if one.outcome.speed >= fastest * (1.0 - SAME)]
    else:
        left = list(tried)
    most = max(one.margin for one in left)
    level = [one for one in left if one.margin >= most - SAME]
    if not picks:  # as in a single window: of equal ones the faster
        fastest = max(one.outcome.speed for one in level)
        level = [one for one in level if one.outcome.speed >= fastest * (1.0 - SAME)]
    return min(level, key=lambda one: (one.outcome.oil_pressure, *one.pair().values()))


def advise_searched(
    found: Searched, workers: int | None = None, progress: Progress | None = None, *, sure: bool = True
) -> Advice:
    """What is told of the pick over all; what it buys is held against the file's own settings."""
    best = found.best
    advice = advise(best.scenario, best.window, workers, progress, sure=sure)
    if advice.gain is None or best.scenario.settings == found.scenario.settings:
        return advice
    present = replace(present_use(found.scenario, best.window.seeds, workers), elsewhere=True)
    return replace(advice, gain=replace(advice.gain, present=present))
