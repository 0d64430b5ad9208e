"""Changes that could help where the depth goes wrong, each tried on the same ground and measured at every place.

A change moves one thing: oil pressure, speed or depth setting. What it does at a place is read in the same stretch of
ground before and after: travel with the wheel off, rise over a stone, or largest depth error.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np

from analysis.crossing.breakouts import breakouts, stone_heights
from analysis.crossing.depth import depth_error
from analysis.crossing.episodes import wheel_off_episodes
from analysis.crossing.spans import spacing
from analysis.explain.parts import along, wheel_off
from analysis.parallel import Progress, run_all
from analysis.present.edge import bar, kmh, mm
from scenarios.format.errors import ScenarioError
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import Run
from sim.run import simulate
from sim.track import Track

PRESSURE, SPEED, DEPTH = "pressure", "speed", "depth setting"
KNOBS = (PRESSURE, SPEED, DEPTH)
PRESSURE_STEPS = (10e5, 20e5, 30e5)  # [Pa]
SPEED_STEPS = (-1.0 / 3.6, -2.0 / 3.6, -4.0 / 3.6)  # [m/s]
DEPTH_STEPS = (-0.005, -0.010)  # [m]
AROUND = 0.10  # ground before and after an event that is looked at with it [m]
LEAST_HELP = 0.10  # share of the figure by which a change must help to be told
LEAST = {"wheel_off": 0.03, "breakout": 0.002, "place": 0.001}  # and at least this much [m]


@dataclass(frozen=True)
class Change:
    """One thing changed: the knob, its new value and the step to it (SI)."""

    knob: str
    value: float
    step: float

    def edge(self) -> tuple[float, float, str]:
        """New value and step in the trade's unit."""
        if self.knob == PRESSURE:
            return bar(self.value), bar(self.step), "bar"
        if self.knob == SPEED:
            return kmh(self.value), kmh(self.step), "km/h"
        return round(mm(self.value), 6), round(mm(self.step), 6), "mm"


class Event(NamedTuple):
    """What a change is tried on: kind ("wheel_off", "breakout", "place") and its ends along the stretch [m]."""

    kind: str
    first: float
    last: float


class Outcome(NamedTuple):
    """What one run shows at one event: the figure [m] (travel off, rise, largest error) and whether it is there."""

    figure: float
    there: bool


@dataclass(frozen=True)
class Whole:
    """What one run shows over the whole stretch."""

    on_depth_share: float
    wheel_off_share: float
    gauge_load_mean: float  # [N]

    def to_dict(self) -> dict[str, float]:
        """JSON form."""
        return {
            "on_depth_share": self.on_depth_share,
            "wheel_off_share": self.wheel_off_share,
            "gauge_load_mean_N": self.gauge_load_mean,
        }


@dataclass(frozen=True)
class Tried:
    """One change and what it gave; `problem` where it could not be crossed."""

    change: Change
    outcomes: tuple[Outcome, ...] = ()  # in the order of the events
    whole: Whole | None = None
    problem: str = ""

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        value, step, unit = self.change.edge()
        return {
            "change": self.change.knob, "to": value, "step": step, "unit": unit,
            "stretch": self.whole.to_dict() if self.whole else None, "reason": self.problem or None,
        }  # fmt: skip


@dataclass(frozen=True)
class Suggestion:
    """A change that helps at one event, as found by running it."""

    change: Change
    before: float  # the event's figure [m]
    after: float
    prevents: bool  # the event is no longer there
    whole: Whole  # the same run over the whole stretch

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        value, step, unit = self.change.edge()
        return {
            "change": self.change.knob, "to": value, "step": step, "unit": unit,
            "before_mm": mm(self.before), "after_mm": mm(self.after), "prevents": self.prevents,
            "stretch": self.whole.to_dict(),
        }  # fmt: skip


def changes(scenario: Scenario) -> tuple[Change, ...]:
    """What may be tried from a scenario's settings, within the ranges of their keys and its highest oil pressure."""
    s, limits = scenario.settings, scenario.limits
    highest = limits.max_oil_pressure
    wanted = [
        *(Change(PRESSURE, s.oil_pressure + d, d) for d in PRESSURE_STEPS),
        *(Change(SPEED, s.speed + d, d) for d in SPEED_STEPS),
        *(Change(DEPTH, s.set_depth + d, d) for d in DEPTH_STEPS),
    ]
    if highest is not None:
        wanted = [c for c in wanted if c.knob != PRESSURE or c.value <= highest * (1.0 + 1e-12)]
    return tuple(c for c in wanted if _changed(scenario, c) is not None)


def _changed(scenario: Scenario, change: Change) -> Scenario | None:
    """The scenario with a change; None where the value is out of range."""
    name = {PRESSURE: "oil_pressure", SPEED: "speed", DEPTH: "set_depth"}[change.knob]
    try:
        return scenario.with_settings(**{name: change.value})
    except ScenarioError:
        return None


def try_changes(
    scenario: Scenario,
    track: Track,
    events: Sequence[Event],
    stretch: tuple[float, float],
    workers: int | None = None,
    progress: Progress | None = None,
) -> tuple[Tried, ...]:
    """Cross the same track once for every change and measure every event and the whole stretch [m]."""
    tolerance = scenario.limits.depth_tolerance

    def job(change: Change) -> Tried:
        changed = _changed(scenario, change)
        assert changed is not None
        try:
            run = simulate(changed.unit, changed.soil, track, changed.settings)
        except SimulationError as error:
            return Tried(change, problem=str(error))
        if not run.setting.reached:
            return Tried(change, problem="the depth cannot be set")
        return Tried(change, outcomes(run, events, tolerance), whole(run, tolerance, stretch))

    return tuple(run_all(job, changes(scenario), workers, progress))


def outcomes(run: Run, events: Sequence[Event], tolerance: float) -> tuple[Outcome, ...]:
    """What a run shows at each event."""
    if not events:
        return ()
    x, error, off, d = along(run), depth_error(run), wheel_off(run), spacing(run)
    rise = -error
    kinds = {event.kind for event in events}
    met: dict[str, list[tuple[float, float]]] = {"wheel_off": [], "breakout": []}
    if "wheel_off" in kinds:
        met["wheel_off"] = [(e.start, e.start + e.length) for e in wheel_off_episodes(run, tolerance)]
    if "breakout" in kinds:
        met["breakout"] = [(b.position, b.position) for b in breakouts(run, tolerance)]
        rise = rise + np.interp(run.series["distance"], run.track.x, stone_heights(run.track))
    found = []
    for event in events:
        low, high = event.first - AROUND, event.last + AROUND
        inside = (x >= low) & (x <= high)
        there = any(a <= high and b >= low for a, b in met.get(event.kind, []))
        if event.kind == "wheel_off":
            found.append(Outcome(float(np.count_nonzero(off & inside)) * d, there))
        elif event.kind == "breakout":
            found.append(Outcome(float(rise[inside].max(initial=0.0)), there))
        else:
            largest = float(np.abs(error[inside]).max(initial=0.0))
            found.append(Outcome(largest, largest > tolerance))
    return tuple(found)


def whole(run: Run, tolerance: float, stretch: tuple[float, float]) -> Whole:
    """Shares and mean gauge load of a run between two distances along the track [m]."""
    x = along(run)
    inside = (x >= stretch[0]) & (x <= stretch[1])
    return Whole(
        float(np.mean(np.abs(depth_error(run)[inside]) <= tolerance)),
        float(np.mean(wheel_off(run)[inside])),
        float(run.series["gauge_load"][inside].mean()),
    )


def suggestions(
    events: Sequence[Event], before: Sequence[Outcome], tried: Sequence[Tried]
) -> tuple[tuple[Suggestion, ...], ...]:
    """For each event and knob the smallest change that prevents it, else the one that helps most, if any helps."""
    return tuple(_for_event(event, before[n], n, tried) for n, event in enumerate(events))


def _for_event(event: Event, before: Outcome, n: int, tried: Sequence[Tried]) -> tuple[Suggestion, ...]:
    found = []
    for knob in KNOBS:
        helping = [
            Suggestion(t.change, before.figure, t.outcomes[n].figure, before.there and not t.outcomes[n].there, t.whole)
            for t in tried
            if t.change.knob == knob and t.whole is not None and _helps(event, before.figure, t.outcomes[n].figure)
        ]
        if not helping:
            continue
        clear = [s for s in helping if s.prevents]
        found.append(min(clear, key=lambda s: abs(s.change.step)) if clear else min(helping, key=lambda s: s.after))
    return tuple(found)


def _helps(event: Event, before: float, after: float) -> bool:
    return before - after >= max(LEAST[event.kind], LEAST_HELP * before)


def unhelpful(tried: Sequence[Tried], found: Sequence[Suggestion]) -> tuple[str, ...]:
    """Knobs that were tried and have no suggestion."""
    able = {t.change.knob for t in tried if not t.problem}
    return tuple(knob for knob in KNOBS if knob in able and knob not in {s.change.knob for s in found})
