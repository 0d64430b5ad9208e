"""Precharges and set depths searched too: one window for each pair, and the pick over all of them.

The depth is the crop's: it is picked only within the depths that are wanted, the file's own set depth or the range that
the user states, and what other depths would allow is found for information. Among the pairs with a wanted depth the
rule is that of a single window: the highest speed at which some setting meets every limit, and at that speed the
setting with the most room to its nearest limit; ties go to the depth nearest to the file's own, then to the lower
pressure and the lower precharge. Where none meets every limit: the one whose worst limit fails least.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

from analysis.parallel import Progress
from analysis.present.edge import bar, mm
from analysis.window.advice import Advice, advise
from analysis.window.cross_grid import search
from analysis.window.gain import present_use
from analysis.window.grid import Window
from analysis.window.limits import without_depths
from analysis.window.pick import SAME, Nearest, Pick, choose
from scenarios.consistency import settings_faults
from scenarios.format.errors import ScenarioError, fault
from scenarios.scenario import Scenario
from scenarios.spec import SAME_DEPTH


@dataclass(frozen=True)
class Wanted:
    """The set depths that may be picked [m]."""

    low: float
    high: float  # inf: no deepest one
    source: Literal["file", "limits", "option"]  # the file's set depth · its limits · a range asked for

    def has(self, depth: float) -> bool:
        """Whether a set depth [m] is one of them."""
        return self.low - SAME_DEPTH <= depth <= self.high + SAME_DEPTH

    @property
    def low_mm(self) -> float | None:
        """The shallowest [mm]; None where there is no such end."""
        return round(mm(self.low), 9) if self.low > 0.0 else None

    @property
    def high_mm(self) -> float | None:
        """The deepest [mm]; None where there is no such end."""
        return round(mm(self.high), 9) if math.isfinite(self.high) else None


def wanted_depths(scenario: Scenario, depth_range_mm: tuple[float, float] | None = None) -> Wanted:
    """The depths that may be picked: the range asked for, else that of the file's limits, else its own set depth."""
    limits, own = scenario.limits, scenario.settings.set_depth
    if depth_range_mm is not None:
        return Wanted(depth_range_mm[0] / 1e3, depth_range_mm[1] / 1e3, "option")
    if limits.set_depth_min is None and limits.set_depth_max is None:
        return Wanted(own, own, "file")
    return Wanted(limits.set_depth_min or 0.0, limits.set_depth_max or math.inf, "limits")


@dataclass(frozen=True)
class Tried:
    """One precharge and set depth with its window, and its pick (or what fails least) by all limits but on depth."""

    scenario: Scenario
    window: Window
    outcome: Pick | Nearest
    wanted: bool = True  # whether its set depth may be picked

    @property
    def margin(self) -> float:
        """Smallest margin at that setting, share of its limit; −inf: it cannot be chosen at all."""
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
    wanted: Wanted
    added: bool = False  # the file's own set depth was added to those asked for


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


def depths_to_try(
    scenario: Scenario, depths_mm: Sequence[float] | None, wanted: Wanted
) -> tuple[tuple[float, ...] | None, bool]:
    """Set depths [mm] (None: the file's own alone), and whether that one was added to those asked for.

    A range asked for without depths: its ends and the file's own. Raises ScenarioError where none asked for is wanted.
    """
    own = round(mm(scenario.settings.set_depth), 9)
    if depths_mm is None:
        ends = [end for end in (wanted.low_mm, wanted.high_mm) if end is not None]
        return (tuple(sorted({own, *ends})), False) if wanted.source == "option" else (None, False)
    if wanted.source != "file" and not any(wanted.has(d / 1e3) for d in depths_mm):
        raise ScenarioError([_none_wanted(depths_mm, wanted)])
    known = any(abs(d / 1e3 - scenario.settings.set_depth) <= SAME_DEPTH for d in depths_mm)
    if known or wanted.source != "file":
        return tuple(depths_mm), False
    return (*depths_mm, own), True


def _none_wanted(depths_mm: Sequence[float], wanted: Wanted) -> str:
    """The fault of depths of which none may be picked."""
    bounds = (("at least", wanted.low_mm), ("at most", wanted.high_mm))
    ends = [f"{way} {end:g} mm" for way, end in bounds if end is not None]
    given = f"{', '.join(f'{d:g}' for d in depths_mm)} mm, none of which may be picked"
    hint = f"{wanted.high_mm if wanted.low_mm is None else wanted.low_mm:g}, or another range"
    return fault("set depths to try", given, f"one or more that are {' and '.join(ends)}", hint)


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
    depth_range_mm: tuple[float, float] | None = None,
    unchanged: bool = True,
) -> Searched:
    """A window for every precharge [bar] and set depth [mm]; all else as `analysis.window.cross_grid.search`.

    depth_range_mm: the depths that may be picked, in place of those of the file; without depths its ends and the
    file's own are tried. progress(done, total) counts over all windows. Raises ScenarioError for values out of range.
    """
    wanted = wanted_depths(scenario, depth_range_mm)
    depths, added = depths_to_try(scenario, depths_mm, wanted)
    asked = scenario
    if depth_range_mm is not None:
        asked = replace(scenario, limits=replace(scenario.limits, set_depth_min=wanted.low, set_depth_max=wanted.high))
    scenarios = settings_to_try(asked, precharges_bar, depths)
    tried = []
    for number, one in enumerate(scenarios):
        told = None if progress is None else _part(progress, number, len(scenarios))
        window = search(one, pressures_bar, speeds_kmh, seeds, workers, told, unchanged=unchanged)
        outcome = choose(window, without_depths(window.limits))
        tried.append(Tried(one, window, outcome, wanted.has(one.settings.set_depth)))
    return Searched(scenario, tuple(tried), best_of(tried, scenario.settings.set_depth), wanted, added)


def _part(progress: Progress, number: int, parts: int) -> Progress:
    """Progress of one of several equal parts, told as progress over all."""
    return lambda done, total: progress(number * total + done, parts * total)


def best_of(tried: Sequence[Tried], own_depth: float) -> Tried:
    """The pair that the pick over all windows lies in; see the top of this file. own_depth: the file's [m]."""
    allowed = [one for one in tried if one.wanted]
    picks = [one for one in allowed if isinstance(one.outcome, Pick)]
    if picks:
        fastest = max(one.outcome.speed for one in picks)
        left = [one for one in picks if one.outcome.speed >= fastest * (1.0 - SAME)]
    else:
        left = allowed
    most = max(one.margin for one in left)
    level = [one for one in left if one.margin >= most - SAME]
    if not picks:  # as in a single window: of equal ones the faster
        fastest = max(one.outcome.speed for one in level)
        level = [one for one in level if one.outcome.speed >= fastest * (1.0 - SAME)]
    return min(level, key=lambda one: _order(one, own_depth))


def _order(one: Tried, own_depth: float) -> tuple[float, ...]:
    """Of equal pairs the one whose order is lowest is taken."""
    s = one.scenario.settings
    off = abs(s.set_depth - own_depth)
    return (off if off > SAME_DEPTH else 0.0, one.outcome.oil_pressure, s.precharge, s.set_depth)


def advise_searched(
    found: Searched, workers: int | None = None, progress: Progress | None = None, *, sure: bool = True
) -> Advice:
    """What is told of the pick over all; what it buys is held against the file's own settings."""
    best = found.best
    advice = advise(best.scenario, best.window, workers, progress, sure=sure)
    if ends := _precharge_ends(found):
        outcome = replace(advice.outcome, at_edge=(*advice.outcome.at_edge, *ends))
        advice = replace(advice, outcome=outcome)
    if advice.gain is None or best.scenario.settings == found.scenario.settings:
        return advice
    present = replace(present_use(found.scenario, best.window.seeds, workers), elsewhere=True)
    return replace(advice, gain=replace(advice.gain, present=present))


def _precharge_ends(found: Searched) -> tuple[str, ...]:
    """At which end of the precharges tried the best one lies."""
    tried = sorted({one.scenario.settings.precharge for one in found.tried})
    own = found.best.scenario.settings.precharge
    if len(tried) == 1:
        return ()
    return ("lowest_precharge",) if own == tried[0] else ("highest_precharge",) if own == tried[-1] else ()
