"""How sure a pick is: its spread over the grounds, its room, and the pick again with every doubtful value at both ends
of its range (`scenarios.doubt.doubtful`), on the window's own pressures, speeds and grounds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from analysis.parallel import Progress, run_all
from analysis.rows.cells import lay_from
from analysis.window.grid import Window
from analysis.window.limits import Check, without_counts
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.sure.assumed import Assumed, assumed
from analysis.window.sure.ends import ends
from analysis.window.sure.outward import Found, Place, axis, outward
from scenarios.doubt.belief import RANGE, Belief, belief
from scenarios.doubt.doubtful import DOUBTFUL, Doubtful
from scenarios.doubt.keys import edge_of, key_of, value_at
from scenarios.doubt.varied import lie_alike, without_effect
from scenarios.scenario import Scenario

KNOWN = "known, as the file says"
AT_PICK = ("on_depth_share", "wheel_off_share", "gauge_load_mean", "error_sd")  # measures whose spread is told


@dataclass(frozen=True)
class Spread:
    """The pick of every seed alone (None: no setting), and the spread of measures at the pick."""

    seeds: tuple[int, ...]
    picks: tuple[Pick | None, ...]
    at_pick: dict[str, tuple[float, float]]  # lowest and highest over the seeds, SI


class Tried(NamedTuple):
    """A doubtful value at one end of its range."""

    value: float  # [SI]
    cut: bool  # at the end of what the key may hold, short of the range's own end
    found: Found


@dataclass(frozen=True)
class Trial:
    """A doubtful value and where its ends lead."""

    doubtful: Doubtful
    key: str  # in a scenario file
    edge: str  # its unit there
    now: float  # what the scenario says [SI]
    reach: float  # from there to an end of what is in doubt: in the logarithm (TIMES) or in the value [SI] (PLUS)
    low: Tried | None  # None: the value is at this end already
    high: Tried | None
    moves: tuple[bool, bool]  # whether that end leads elsewhere, or the pick fails there
    size: tuple[float, float, float]  # ends without a setting, largest change of speed [m/s], of pressure [Pa]

    @property
    def ends(self) -> tuple[Tried | None, Tried | None]:
        """Low and high."""
        return self.low, self.high


@dataclass(frozen=True)
class Robustness:
    """All that says how sure a pick is."""

    spread: Spread
    room: Check  # the limit with least room at the pick
    assumed: Assumed
    pick: tuple[float, float]  # pressure [Pa] and speed [m/s]
    pressures: tuple[float, ...]  # tried, the window's among them [Pa]
    searched: tuple[float, ...]  # the window's
    speeds: tuple[float, ...]  # tried: the window's [m/s]
    unchanged: Found  # the pick with nothing changed, but with all those pressures tried
    trials: tuple[Trial, ...]  # every value, those that move the pick most in front
    left_out: tuple[tuple[Doubtful, str], ...]  # values that cannot matter here, and why
    by_chance: bool = False  # whether the pick was made by the chance, not by room

    @property
    def moving(self) -> tuple[Trial, ...]:
        """The values that move the pick."""
        return tuple(one for one in self.trials if any(one.moves))

    @property
    def failing(self) -> int:
        """How many of these bring the pick to fail a limit."""
        return sum(any(end is not None and not end.found.still_meets for end in one.ends) for one in self.moving)


def spread(window: Window, pick: Pick | Nearest) -> Spread:
    """The pick again in every seed alone, and the spread of measures at the pick over the seeds.

    A limit on a count is left out here: one seed alone is less ground than all of them together.
    """
    limits = without_counts(window.limits)
    alone = [choose(window.only_seed(k), limits) for k in range(len(window.seeds))]
    cells = {name: window.grids[name][pick.i, pick.j] for name in AT_PICK}
    return Spread(
        window.seeds,
        tuple(found if isinstance(found, Pick) else None for found in alone),
        {name: (float(values.min()), float(values.max())) for name, values in cells.items()},
    )


def robustness(
    scenario: Scenario,
    window: Window,
    pick: Pick | Nearest,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Robustness:
    """Spread over the grounds, room at the pick, and the pick again with each doubtful value low and high.

    pick: what is to be set, or, where doubt leaves nothing to set, the setting with the highest chance.
    progress(changes done, all of them), from the calling thread.
    """
    held = belief(scenario)
    asked = [one for one in DOUBTFUL if one.name in held.names]
    reasons = {one: without_effect(scenario, one) or KNOWN for one in DOUBTFUL if one not in asked}
    pairs = [ends(scenario, held, one.name) for one in asked]
    jobs = [scenario, *(end.scenario for pair in pairs for end in pair if end is not None)]
    worst = pick.checks[0].seed  # the ground on which the pick has least room: what fails, fails there first
    laid = lay_from(scenario, window.seeds, worst)

    def job(changed: Scenario) -> Found:
        alike = lie_alike(scenario, changed)
        grounds = laid if alike else lay_from(changed, window.seeds, worst)
        return outward(changed, window, pick, grounds)

    unchanged, *found = run_all(job, jobs, workers, progress)
    told, here = iter(found), (pick.oil_pressure, pick.speed)
    trials = []
    for one, pair in zip(asked, pairs, strict=True):
        low, high = (None if end is None else Tried(end.value, end.cut, next(told)) for end in pair)
        trials.append(_trial(scenario, held, one, (unchanged.place, here), low, high))
    trials.sort(key=lambda one: one.size, reverse=True)
    return Robustness(
        spread=spread(window, pick),
        room=pick.checks[0],
        assumed=assumed(scenario, [one.doubtful for one in trials]),
        pick=here,
        pressures=tuple(axis(window, scenario.limits).tolist()),
        searched=tuple(window.pressures.tolist()),
        speeds=tuple(window.speeds.tolist()),
        unchanged=unchanged,
        trials=tuple(trials),
        left_out=tuple(reasons.items()),
        by_chance=pick.chance is not None,
    )


def changes_to_try(scenario: Scenario) -> int:
    """How many scenarios `robustness` crosses."""
    held = belief(scenario)
    return 1 + sum(end is not None for name in held.names for end in ends(scenario, held, name))


def _trial(
    scenario: Scenario, held: Belief, one: Doubtful, stays: tuple[Place, Place], low: Tried | None, high: Tried | None
) -> Trial:
    """stays: what the pick is with nothing changed, with and without pressures beyond the window's."""
    moves = tuple(
        tried is not None and (tried.found.place not in stays or not tried.found.still_meets) for tried in (low, high)
    )
    lost, speed, pressure = 0.0, 0.0, 0.0
    for tried in (low, high):
        if tried is None:
            continue
        if tried.found.pick is None:
            lost += 1.0
            continue
        apart = [
            (abs(tried.found.pick.speed - place[1]), abs(tried.found.pick.oil_pressure - place[0]))
            for place in stays
            if place is not None
        ]
        nearest = min(apart)
        speed, pressure = max(speed, nearest[0]), max(pressure, nearest[1])
    value = value_at(scenario, one.paths[0])
    sd = float(held.sd[held.names.index(one.name)])
    size = (lost, speed, pressure)
    return Trial(one, key_of(one), edge_of(one), value, sd * RANGE, low, high, (moves[0], moves[1]), size)
