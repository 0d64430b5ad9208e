"""What could be read next: each kind of reading at a few oil pressures and speeds of the file's search.

A candidate is a handful of readings, of which only how many and where counts, not their values.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from analysis.fit.reading.readings import Reading
from analysis.window.weight import may_be_set
from scenarios.scenario import Scenario
from sim.hydraulics.working import keeps

DIGS, PUSHES, WEIGHINGS, WALK = 20, 20, 3, 100.0  # of one candidate; length walked [m]
NEW = "the same depth setting"  # where none was read yet

_BLANK = Reading(0, "", 1.0, 1, math.nan, math.nan, math.nan, "", math.nan, math.nan, 0, "")


@dataclass(frozen=True)
class Candidate:
    """One job: readings of one kind."""

    what: str  # name of the kind
    n: int
    oil_pressure: float  # gauge [Pa]; NaN: any
    speed: float  # [m/s]; NaN: standing
    held: str  # the depth setting that is left untouched; "": any
    where: str  # wheel on the scale
    readings: tuple[Reading, ...]
    beside: tuple[float, float] | None = None  # pressure and speed that have to be dug too, where nothing was yet


def candidates(scenario: Scenario, readings: Sequence[Reading]) -> tuple[Candidate, ...]:
    """Jobs that could be done. What takes an instrument that nobody showed to have (load pin, draught) is left out."""
    held = next((r.held for r in readings if r.kind.crosses), "")
    owned = {r.what for r in readings}
    found = [_pushes()]
    middle, pressures = scenario.settings.oil_pressure, _may_be_driven(scenario)
    found += [_weighing("gauge", p) for p in sorted({0.0, middle, max(pressures)})]
    found.append(_weighing("press", middle))
    for p in _spread(pressures):
        for v in _spread(scenario.search.speeds):
            found.append(_digs(scenario, p, v, held))
            found.append(_walk(p, v, held or NEW, "wheel_off_share", 0.02))
            if "gauge_load_N" in owned:
                found.append(_walk(p, v, held or NEW, "gauge_load_N", 1000.0))
            if "draught_N" in owned:
                found.append(_walk(p, v, held or NEW, "draught_N", 600.0))
    return tuple(found)


def _may_be_driven(scenario: Scenario) -> list[float]:
    """Pressures of the file's search that may be set: within the highest, the toolbar stays down, the precharge suits;
    the file's own where none may.
    """
    rule, unit, settings = scenario.limits.gas_rule, scenario.unit, scenario.settings
    found = [p for p in scenario.search.pressures if may_be_set(scenario, p)]
    return [p for p in found if keeps(rule, unit, replace(settings, oil_pressure=p))] or [settings.oil_pressure]


def _spread(values: Sequence[float]) -> list[float]:
    """Ends and middle of what is searched."""
    rising = sorted(set(values))
    return sorted({rising[0], rising[len(rising) // 2], rising[-1]})


def _digs(scenario: Scenario, p: float, v: float, held: str) -> Candidate:
    here = replace(_BLANK, what="depth_mm", value=0.04, n=DIGS, sd=0.007, oil_pressure=p, speed=v, setting=held or NEW)
    own = (scenario.settings.oil_pressure, scenario.settings.speed)
    if held or own == (p, v):
        return Candidate("depth_mm", DIGS, p, v, held, "", (here,))
    first = replace(here, oil_pressure=own[0], speed=own[1])
    return Candidate("depth_mm", DIGS, p, v, "", "", (first, here), own)


def _walk(p: float, v: float, held: str, what: str, value: float) -> Candidate:
    reading = replace(_BLANK, what=what, value=value, oil_pressure=p, speed=v, setting=held, length=WALK)
    return Candidate(what, 1, p, v, held if held != NEW else "", "", (reading,))


def _weighing(wheel: str, p: float) -> Candidate:
    reading = replace(_BLANK, what="scale_kg", value=2000.0, n=WEIGHINGS, oil_pressure=p, where=wheel)
    return Candidate("scale_kg", WEIGHINGS, p, math.nan, "", wheel, (reading,))


def _pushes() -> Candidate:
    reading = replace(_BLANK, what="penetrometer_MPa", value=1.2e6, n=PUSHES, sd=0.3e6)
    return Candidate("penetrometer_MPa", PUSHES, math.nan, math.nan, "", "", (reading,))
