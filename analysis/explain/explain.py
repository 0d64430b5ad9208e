"""Why the depth moves along one crossing: worst places, wheel-off episodes and breakouts, and what would help them."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.crossing.breakouts import Breakout, breakouts
from analysis.crossing.episodes import Episode, wheel_off_episodes
from analysis.explain.places import Place, worst_places
from analysis.explain.trials.changes import Event, Price, Tried, Whole, outcomes, price, try_changes, whole
from analysis.explain.trials.helping import Suggestion, suggestions
from analysis.explain.trials.knobs import DEPTH, KNOBS
from analysis.parallel import Progress
from scenarios.format.errors import ScenarioError, fault
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import Run
from sim.run import simulate

FIGURE_LENGTH = 20.0  # stretch that a figure shows where none was asked for [m]
BESIDE = 0.05  # a place so near a breakout or an episode is part of it [m]
SHOWN_WHOLE = 25.0  # a measured stretch up to this long is shown whole [m]


@dataclass(frozen=True, repr=False)
class Told:
    """A place, an episode or a breakout with the changes that help it."""

    what: Place | Episode | Breakout
    event: Event
    suggestions: tuple[Suggestion, ...]

    def __repr__(self) -> str:
        at = f"{self.event.first:.2f} to {self.event.last:.2f} m"
        return f"{type(self.what).__name__} from {at}, {len(self.suggestions)} changes that help"

    @property
    def best(self) -> Suggestion | None:
        """What helps most of what is advised and breaks no limit; None: nothing."""
        return next((s for s in self.suggestions if s.advised and not s.breaks), None)


@dataclass(frozen=True, repr=False)
class Explanation:
    """One crossing explained between two distances along the track [m]."""

    scenario: Scenario
    run: Run
    stretch: tuple[float, float]
    whole: Whole
    price: Price  # of the present setting, over the whole ground
    places: tuple[Told, ...]
    episodes: tuple[Told, ...]
    breakouts: tuple[Told, ...]
    tried: tuple[Tried, ...]

    @property
    def all_told(self) -> tuple[Told, ...]:
        """Places, episodes and breakouts, in the order in which the changes were measured at them."""
        return (*self.places, *self.episodes, *self.breakouts)

    @property
    def best_of_all(self) -> Tried | None:
        """What of all tried keeps most of the whole ground on depth and all limits; None: the present setting, or none.

        Another depth is no choice of this program's.
        """
        kept = [t for t in self.tried if t.price is not None and not t.price.broken and t.change.knob != DEPTH]
        best = max(kept, key=_worth, default=None)
        if best is None or (not self.price.broken and _on_depth(best) <= self.price.whole.on_depth_share):
            return None
        return best

    def part_of(self, told: Told) -> Told | None:
        """The breakout or episode that a place belongs to, the breakout that an episode does; None: it stands alone."""
        at = told.event
        above = {"place": (*self.breakouts, *self.episodes), "wheel_off": self.breakouts}.get(at.kind, ())
        found = [other for other in above if _shared(other.event, at) >= -BESIDE]
        return max(found, key=lambda other: (other.event.kind == "breakout", _shared(other.event, at)), default=None)

    def __repr__(self) -> str:
        first, last = self.stretch
        return (
            f"Explanation of {self.scenario.name} from {first:.6g} to {last:.6g} m: {len(self.places)} worst places, "
            f"{len(self.episodes)} wheel-off episodes, {len(self.breakouts)} breakouts, {len(self.tried)} changes tried"
        )


def explain(
    scenario: Scenario,
    first: float | None = None,
    last: float | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Explanation:
    """Cross a scenario and explain its depth error between two distances [m] along the track.

    Every change is run on the same ground; progress(done, all) counts those runs. Raises ScenarioError for a stretch
    that does not lie on the measured ground and for a crossing that cannot be made.
    """
    stretch = check_stretch(scenario, first, last)
    track = scenario.track()
    try:
        run = simulate(scenario.unit, scenario.soil, track, scenario.settings)
    except SimulationError as error:
        raise ScenarioError([f"{scenario.path}: {error}"]) from None
    tolerance = scenario.limits.depth_tolerance
    places = worst_places(run, tolerance, *stretch)
    off = [e for e in wheel_off_episodes(run, tolerance) if _within(e.start, e.length, stretch)]
    out = [b for b in breakouts(run, tolerance) if _within(b.position, 0.0, stretch)]
    whats: list[Place | Episode | Breakout] = [*places, *off, *out]
    events = [_event(what) for what in whats]
    before = outcomes(run, events, tolerance)
    tried, now = try_changes(scenario, track, events, stretch, workers, progress), price(run, scenario)
    told = [Told(w, e, s) for w, e, s in zip(whats, events, suggestions(events, before, tried, now), strict=True)]
    n, m = len(places), len(places) + len(off)
    return Explanation(
        scenario, run, stretch, whole(run, tolerance, stretch), now,
        tuple(told[:n]), tuple(told[n:m]), tuple(told[m:]), tried,
    )  # fmt: skip


def check_stretch(scenario: Scenario, first: float | None, last: float | None) -> tuple[float, float]:
    """The stretch asked for [m]; left out ends are those of the measured ground. Raises ScenarioError off it."""
    start, end = scenario.x_from, scenario.x_to
    ends = (start if first is None else first, end if last is None else last)
    faults = [
        fault(
            option,
            f"given {value:g}",
            f"{start:g} to {end:g} m, the measured ground",
            f"{option} {(start + end) / 2:g}",
        )
        for option, value in zip(("--from", "--to"), ends, strict=True)
        if not start <= value <= end
    ]
    if not faults and ends[1] - ends[0] < 1.0:
        given = f"given --from {ends[0]:g} and --to {ends[1]:g}"
        faults = [fault("--from, --to", given, "a stretch of 1 m or more", f"--to {min(ends[0] + 10, end):g}")]
    if faults:
        raise ScenarioError(faults)
    return ends


def shown_stretch(told: Explanation) -> tuple[float, float]:
    """The stretch that a figure shows [m]: what was explained, or 20 m of it around the worst place."""
    first, last = told.stretch
    if last - first <= SHOWN_WHOLE:
        return first, last
    middle = told.places[0].what.at if told.places else 0.5 * (first + last)  # type: ignore[union-attr]
    start = min(max(middle - 0.5 * FIGURE_LENGTH, first), last - FIGURE_LENGTH)
    return start, start + FIGURE_LENGTH


def _worth(t: Tried) -> tuple[float, int, float]:
    """Share on depth to a tenth of a per cent, then what is easier to change, then the smaller step."""
    return round(_on_depth(t), 3), -KNOBS.index(t.change.knob), -abs(t.change.step)


def _on_depth(t: Tried) -> float:
    return t.price.whole.on_depth_share if t.price is not None else 0.0


def _shared(a: Event, b: Event) -> float:
    """Ground that two events share [m]; negative: they lie so far apart."""
    return min(a.last, b.last) - max(a.first, b.first)


def _within(start: float, length: float, stretch: tuple[float, float]) -> bool:
    return start + length >= stretch[0] and start <= stretch[1]


def _event(what: Place | Episode | Breakout) -> Event:
    if isinstance(what, Place):
        first, last = what.beyond or (what.at, what.at)
        return Event("place", first, last)
    if isinstance(what, Episode):
        return Event("wheel_off", what.start, what.start + what.length)
    start = what.position
    return Event("breakout", start, start + (0.5 if what.regain is None else min(what.regain, 0.5)))
