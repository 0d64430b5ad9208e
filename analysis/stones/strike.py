"""Loads on a stone: the peak on disc and pins when a stone 30 mm proud is met, over a range of contact stiffness."""

from __future__ import annotations

from dataclasses import dataclass, replace

from analysis.parallel import run_all
from analysis.rows.cells import Laid
from analysis.rows.crossings import cross_rows
from analysis.rows.together import Row
from scenarios.ground.stones import Stone, stone_profile
from scenarios.scenario import Scenario
from sim.march.rows import Case
from sim.record import PINS
from sim.track import Track, flat_track

STIFFNESSES = (0.3e6, 0.6e6, 1.2e6)  # stone, disc and mounting in series [N/m] (assumed range)
PROUD = 0.030  # height of the stone over the ground [m]
LENGTH = 0.30  # its length [m]
AT, MEASURED = 2.0, 6.0  # place of the stone and end of the measured stretch [m]


@dataclass(frozen=True)
class StoneLoads:
    """Peaks on one stone at one pressure and speed, by contact stiffness; SI units.

    Flat ground, level toolbar, constant strength, depth setting redone.
    """

    oil_pressure: float
    speed: float
    stiffnesses: tuple[float, ...]  # [N/m]
    disc_peaks: tuple[float, ...]  # largest force of the stone on the disc [N]
    pins: tuple[str, ...]  # the pin that bears most
    pin_peaks: tuple[float, ...]  # [N]
    gives_way: tuple[bool, ...]  # whether the stone gives way in that crossing: the upward force comes to what it bears
    give_way: float  # what it bears [N]
    reason: str = ""  # why there are no figures


def stone_track(scenario: Scenario, stiffness: float, proud: float = PROUD, length: float = LENGTH) -> Track:
    """Flat ground of the scenario's mean strength with one stone, met with the contact stiffness given [N/m].

    proud: height of the stone's top over the ground, negative: buried [m]; length: the stone's [m].
    """
    rock = replace(scenario.stones.contact, stiffness=stiffness)
    flat = flat_track(MEASURED, scenario.soil.strength, rock=rock)
    top, number = stone_profile([Stone(AT, length, proud)], flat.x, flat.ground)
    return replace(flat, stone_top=top, stone_id=number)


def stone_loads(scenario: Scenario, oil_pressure: float, speed: float, workers: int | None = None) -> StoneLoads:
    """Peaks of disc and pins on one stone at a gauge pressure [Pa] and speed [m/s], over `STIFFNESSES`."""
    settings = replace(scenario.settings.redone_at(oil_pressure, speed), toolbar="level")
    give_way = scenario.stones.contact.give_way

    def job(stiffness: float) -> tuple[float, str, float, bool] | str:
        track = stone_track(scenario, stiffness)
        met = replace(scenario, stones=replace(scenario.stones, contact=track.rock))
        ground = Laid(0, track, scenario.unit, settings.set_depth)
        (made,) = cross_rows(met, (ground,), [Row(0, Case(0, settings))], 1).values()
        if isinstance(made, str):
            return made
        pins = made.value("pin_peak")
        gave = bool(made.value("stone_gave_way") > 0.0)
        return float(made.value("rock_peak")), PINS[int(pins.argmax())], float(pins.max()), gave

    crossed = run_all(job, STIFFNESSES, workers)
    found = [peaks for peaks in crossed if not isinstance(peaks, str)]
    if len(found) < len(crossed):
        reason = next(text for text in crossed if isinstance(text, str))
        return StoneLoads(oil_pressure, speed, (), (), (), (), (), give_way, reason)
    discs, pins, peaks, gave = zip(*found, strict=True)
    return StoneLoads(oil_pressure, speed, STIFFNESSES, discs, pins, peaks, gave, give_way)
