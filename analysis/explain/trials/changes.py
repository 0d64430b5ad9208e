"""Changes that could help where the depth goes wrong, each tried on the same ground and measured at every place.

A change moves one thing (`knobs`). What it does at a place is read in the same stretch of ground before and after:
travel with the wheel off, rise over a stone, or largest depth error. What it costs is read over the whole ground.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.breakouts import breakouts, stone_heights
from analysis.crossing.depth import depth_error
from analysis.crossing.episodes import wheel_off_episodes
from analysis.crossing.spans import spacing
from analysis.explain.parts import along, wheel_off
from analysis.explain.trials.knobs import DEPTH, Change, changed, changes
from analysis.explain.trials.limits_held import Held, broken, held
from analysis.parallel import Progress, run_all
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.ground_tables import ground_tables
from sim.heeds import heeds
from sim.record import Run
from sim.run import met_by, prepare, simulate
from sim.track import Track

AROUND = 0.10  # ground before and after an event in which its figure is read [m]
BESIDE = 0.50  # and in which an episode or a breakout of a trial is the same one, moved [m]


class Event(NamedTuple):
    """What a change is tried on: kind ("wheel_off", "breakout", "place") and its ends along the stretch [m]."""

    kind: str
    first: float
    last: float


class Outcome(NamedTuple):
    """What one run shows at one event."""

    figure: float  # travel off, rise, or largest error [m]
    there: bool
    error: float  # largest depth error there, either way [m]


@dataclass(frozen=True)
class Whole:
    """What one run shows over a stretch."""

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


class Price(NamedTuple):
    """What one run gives over all of the ground."""

    whole: Whole
    held: tuple[Held, ...]
    broken: frozenset[str]  # names of the limits that are not met

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {**self.whole.to_dict(), "limits": [h.to_dict() for h in self.held], "broken": sorted(self.broken)}


@dataclass(frozen=True)
class Tried:
    """One change and what it gave; `problem` where it could not be crossed."""

    change: Change
    outcomes: tuple[Outcome, ...] = ()  # in the order of the events
    whole: Whole | None = None  # over the stretch explained
    price: Price | None = None
    problem: str = ""

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        value, step, unit = self.change.edge()
        return {
            "change": self.change.knob, "to": value, "step": step, "unit": unit,
            "stretch": self.whole.to_dict() if self.whole else None,
            "ground": self.price.to_dict() if self.price else None,
            "reason": self.problem or None,
        }  # fmt: skip


def try_changes(
    scenario: Scenario,
    track: Track,
    events: Sequence[Event],
    stretch: tuple[float, float],
    workers: int | None = None,
    progress: Progress | None = None,
) -> tuple[Tried, ...]:
    """Cross the same track once for every change; measure every event, the stretch [m] and the whole ground."""
    tolerance = scenario.limits.depth_tolerance
    tables = ground_tables(scenario.unit, track, scenario.settings.set_depth)  # of all but those at another depth

    def job(change: Change) -> Tried:
        other = changed(scenario, change)
        same = tables if change.knob != DEPTH else None
        try:
            run = simulate(other.unit, other.soil, track, other.settings, tables=same)
        except SimulationError as error:
            return Tried(change, problem=str(error))
        if barred := _barred(run):
            return Tried(change, problem=barred)
        return Tried(change, outcomes(run, events, tolerance), whole(run, tolerance, stretch), price(run, other))

    return tuple(run_all(job, changes(scenario), workers, progress))


def _barred(run: Run) -> str:
    """Why the numbers of a run are not to be trusted; "" where they are."""
    ready = prepare(run.unit, run.soil, run.track.rock, run.settings)
    met = met_by(run.series, run.setting, run.energy, run.track.x_from, run.settings.speed, run.step)
    return next((h.text for h in heeds(run.unit, run.settings, ready, run.track.rock, met) if h.barred), "")


def price(run: Run, scenario: Scenario) -> Price:
    """What a run of a scenario gives over the whole ground."""
    found = held(run, scenario)
    return Price(whole(run, scenario.limits.depth_tolerance, (-np.inf, np.inf)), found, broken(found))


def outcomes(run: Run, events: Sequence[Event], tolerance: float) -> tuple[Outcome, ...]:
    """What a run shows at each event."""
    if not events:
        return ()
    x, error, off, d = along(run), depth_error(run), wheel_off(run), spacing(run)
    kinds = {event.kind for event in events}
    met: dict[str, list[tuple[float, float]]] = {}
    rise = -error
    if "wheel_off" in kinds:
        met["wheel_off"] = [(e.start, e.start + e.length) for e in wheel_off_episodes(run, tolerance)]
    if "breakout" in kinds:
        met["breakout"] = [(b.position, b.position) for b in breakouts(run, tolerance)]
        rise = rise + np.interp(run.series["distance"], run.track.x, stone_heights(run.track))
    found = []
    for n, event in enumerate(events):
        inside = (x >= event.first - AROUND) & (x <= event.last + AROUND)
        largest = _most(np.abs(error), inside)
        if event.kind == "place":
            found.append(Outcome(largest, largest > tolerance, largest))
            continue
        others = [e for m, e in enumerate(events) if m != n and e.kind == event.kind]
        there = any(_same(event, ends, others) for ends in met[event.kind])
        figure = float(np.count_nonzero(off & inside)) * d if event.kind == "wheel_off" else _most(rise, inside)
        found.append(Outcome(figure, there, largest))
    return tuple(found)


def _most(values: NDArray[np.float64], inside: NDArray[np.bool_]) -> float:
    return float(values[inside].max(initial=0.0))


def _same(event: Event, ends: tuple[float, float], others: Sequence[Event]) -> bool:
    """Whether what a trial shows between two ends [m] is this event: it lies there, or near and at no other's place."""
    first, last = ends

    def meets(of: Event, room: float) -> bool:
        return first <= of.last + room and last >= of.first - room

    return meets(event, AROUND) or (meets(event, BESIDE) and not any(meets(other, AROUND) for other in others))


def whole(run: Run, tolerance: float, stretch: tuple[float, float]) -> Whole:
    """Shares and mean gauge load of a run between two distances along the track [m]."""
    x = along(run)
    inside = (x >= stretch[0]) & (x <= stretch[1])
    return Whole(
        float(np.mean(np.abs(depth_error(run)[inside]) <= tolerance)),
        float(np.mean(wheel_off(run)[inside])),
        float(run.series["gauge_load"][inside].mean()),
    )
