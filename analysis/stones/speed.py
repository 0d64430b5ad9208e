"""How fast a stone may be met: the highest speed at which disc or pins stay under a force, by contact stiffness.

One stone on flat ground of the scenario's mean strength, toolbar level, depth set again for every speed. Speeds are
tried from slow to fast; between the last that stays under the limit and the first that passes it the border is found
by bisection. The contact's stiffness is not known for a stone in the field: the answer is given over a range of it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

from analysis.crossing.loads import stone_peak, worst_pin
from analysis.parallel import run_all
from analysis.stones.strike import LENGTH, STIFFNESSES, stone_track
from scenarios.ground.stones import HEIGHT_SHARE
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.run import simulate
from sim.step import choose_step
from sim.stone_blow import longest_step

SPEEDS = tuple(v / 3.6 for v in (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 18, 22, 26, 30))  # tried, slow to fast [m/s]
STEP = 1e-3  # [s]
NEAR = 0.005 / 3.6  # how closely the border is found [m/s]

Part = Literal["disc", "pin"]


@dataclass(frozen=True)
class Limit:
    """A force that a part is not to pass [N]."""

    part: Part
    force: float


@dataclass(frozen=True)
class Fastest:
    """The highest speed under a limit at one contact stiffness."""

    stiffness: float  # [N/m]
    speed: float | None  # [m/s]; None: passed even at the slowest speed tried
    passed: bool  # the limit is passed above that speed; False: not even at the fastest tried
    peak: float | None  # at that speed [N]
    reason: str = ""  # why the crossing above that speed could not be made
    gives_way: bool = False  # the stone gives way at that speed


@dataclass(frozen=True)
class StoneSpeed:
    """Highest speeds on one stone, by contact stiffness; SI units."""

    proud: float  # height of the stone's top over the ground [m]
    length: float  # [m]
    oil_pressure: float
    limit: Limit
    give_way: float
    found: tuple[Fastest, ...]  # in the order of the stiffnesses, soft first


def stone_length(proud: float) -> float:
    """Length of the stone met [m]: as in `stones.strike`, longer where one so high would hang over the ground."""
    return max(LENGTH, proud / HEIGHT_SHARE)


class Blow(NamedTuple):
    """What one stone does."""

    peak: float  # largest force on disc or most loaded pin [N]
    gives_way: bool


def blow(
    scenario: Scenario,
    part: Part,
    oil_pressure: float,
    speed: float,
    stiffness: float,
    proud: float,
    length: float,
    step: float = STEP,
) -> Blow:
    """One stone struck; errors as `sim.run.simulate`.

    Steps [s] are shorter than those of a run, and peaks are read between them: with the default their chance is 0.3 %,
    where the steps of a run miss up to 1 %.
    """
    settings = replace(scenario.settings.redone_at(oil_pressure, speed), toolbar="level")
    track = stone_track(scenario, stiffness, proud, length)
    usual = choose_step(scenario.unit, scenario.soil, track.rock, settings).seconds
    step = min(step, usual, longest_step(scenario.unit, track.rock, speed))
    run = simulate(scenario.unit, scenario.soil, track, settings, step=step)
    peak = stone_peak(run) if part == "disc" else worst_pin(run)[1]
    return Blow(peak, bool(run.series["stone_gives_way"].any()))


def peak_force(
    scenario: Scenario,
    part: Part,
    oil_pressure: float,
    speed: float,
    stiffness: float,
    proud: float,
    length: float,
    step: float = STEP,
) -> float:
    """Largest force on disc or most loaded pin on one stone [N], as `blow`."""
    return blow(scenario, part, oil_pressure, speed, stiffness, proud, length, step).peak


def stone_speed(
    scenario: Scenario, limit: Limit, proud: float, oil_pressure: float, workers: int | None = None
) -> StoneSpeed:
    """Highest speed under a limit on a stone `proud` [m] high at a gauge pressure [Pa], over `STIFFNESSES`."""
    length = stone_length(proud)

    def job(stiffness: float) -> Fastest:
        return _fastest(scenario, limit, oil_pressure, stiffness, proud, length)

    found = run_all(job, STIFFNESSES, workers)
    return StoneSpeed(proud, length, oil_pressure, limit, scenario.stones.contact.give_way, tuple(found))


def _fastest(
    scenario: Scenario, limit: Limit, oil_pressure: float, stiffness: float, proud: float, length: float
) -> Fastest:
    reasons: dict[float, str] = {}

    def struck(speed: float) -> Blow:
        """Infinite force where the stone cannot be crossed at that speed."""
        try:
            return blow(scenario, limit.part, oil_pressure, speed, stiffness, proud, length)
        except SimulationError as error:
            reasons[speed] = str(error)
            return Blow(float("inf"), False)

    under, at_under = None, None
    for speed in SPEEDS:
        here = struck(speed)
        if here.peak > limit.force:
            break
        under, at_under = speed, here
    else:
        assert at_under is not None
        return Fastest(stiffness, under, False, at_under.peak, gives_way=at_under.gives_way)
    if under is None or at_under is None:
        return Fastest(stiffness, None, True, None, reasons.get(speed, ""))
    over = speed
    while over - under > NEAR:
        middle = 0.5 * (under + over)
        here = struck(middle)
        if here.peak > limit.force:
            over = middle
        else:
            under, at_under = middle, here
    return Fastest(stiffness, under, True, at_under.peak, reasons.get(over, ""), at_under.gives_way)
