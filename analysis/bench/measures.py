"""What is read off one crossing on the bench: its measures, the limits it meets or fails."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np

from analysis.compare.measured import Crossed, Measured, compared_by
from analysis.crossing.heed import heeds_of
from analysis.crossing.measures import in_window
from analysis.crossing.one_run import RunMeasures
from analysis.rows.cells import Crossing, Laid
from analysis.window.cross_grid import assemble
from analysis.window.grid import Window
from analysis.window.limits import Check, checks, hindrance
from scenarios.scenario import Scenario
from sim.run import met_by, prepare

NOT_HERE = ("pin_equivalent",)  # of those that designs are compared by: counting cycles takes as long as the crossing
KN, MM, HA = ("kN", 1e-3, 1), ("mm", 1e3, 0), ("ha/h", 1.0, 1)


class Told(NamedTuple):
    """One measure with its value [SI]."""

    measured: Measured
    value: float


@dataclass(frozen=True)
class Judged:
    """One crossing held against the limits. stopped: why the setting may not be chosen at all, "": it may."""

    stopped: str
    checks: tuple[Check, ...]

    @property
    def ok(self) -> bool:
        """Whether every limit is met."""
        return not self.stopped and all(check.met for check in self.checks)


def told(found: RunMeasures, scenario: Scenario) -> list[Told]:
    """The measures of a run in the order in which they are shown."""
    crossed = Crossed(found, math.nan)
    of_crossing = [one for one in compared_by(scenario) if one.name not in NOT_HERE]
    first, rest = of_crossing[:2], of_crossing[2:]
    return [Told(one, float(one.find(crossed))) for one in (*first, *extremes(scenario), *rest)]


def extremes(scenario: Scenario) -> tuple[Measured, ...]:
    """Largest depth errors, what stones do where there are any, and how much is sown an hour."""
    stones = bool(scenario.stones.placed) or scenario.stones.rate_per_100m > 0.0
    knock = Measured("rock_peak", "hardest knock of a stone", KN, -1, 0.5e3, lambda c: c.measures.rock_peak)
    rate = scenario.machine.hectares_per_hour
    return (
        Measured("too_deep", "most too deep", MM, -1, 1e-3, lambda c: max(c.measures.depth.error_max, 0.0)),
        Measured("too_shallow", "most too shallow", MM, -1, 1e-3, lambda c: max(-c.measures.depth.error_min, 0.0)),
        *((knock,) if stones else ()),
        Measured("hectares_per_hour", "hectares an hour", HA, 1, 0.05, lambda c: rate(c.measures.run.settings.speed)),
    )


def judged(found: RunMeasures, scenario: Scenario, laid: Laid) -> Judged:
    """A run held against the scenario's limits, as a window of one setting and one ground would."""
    window = as_window(found, scenario, laid)
    return Judged(hindrance(window, scenario.limits, 0, 0), checks(window, scenario.limits, 0, 0))


def as_window(found: RunMeasures, scenario: Scenario, laid: Laid) -> Window:
    """A run as a window of one setting."""
    run, s = found.run, found.run.settings
    ready = prepare(run.unit, run.soil, run.track.rock, s)
    met = met_by(run.series, run.setting, run.energy, run.track.x_from, s.speed, run.step)
    values = {one.name: _value(one, found, ready) for one in in_window()}
    crossing = Crossing(values, heeds=heeds_of(scenario, s, ready, met))
    here = replace(scenario, settings=s)
    p, v = np.array([s.oil_pressure]), np.array([s.speed])
    return assemble(here, p, v, (laid,), {(0, 0, 0): crossing}, told=False)


def _value(one, found: RunMeasures, ready) -> float:
    if one.setting is not None:
        return one.of_setting(ready)
    return float(one.run(found)) if one.run is not None and not one.unchanged else math.nan
