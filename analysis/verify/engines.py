"""Both engines over one made-up course where it is hardest: a hump, and a stone that the disc strikes."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.verify.checks import RIGID_PARTS, Difference, difference
from scenarios.scenario import Scenario
from sim.record import Run
from sim.rigid.simulate import simulate_rigid
from sim.run import simulate
from sim.step import choose_step
from sim.track import Track, flat_track
from sim.unit import Rock
from sim.worn import without_play

LENGTH = 20.0  # [m]
HUMP_AT, HUMP_LONG, HUMP_HIGH = 5.0, 4.0, 0.15  # middle, length and height of the hump [m]
STONE_AT, STONE_LONG, STONE_PROUD = 14.0, 0.30, 0.03  # the stone, a half ellipse 0.3 times as high as long [m]


def course(strength: float, rock: Rock) -> Track:
    """Flat ground with one hump and one stone."""
    track = flat_track(LENGTH, strength, rock=rock)
    x = track.x
    u = np.clip((x - HUMP_AT) / HUMP_LONG, -0.5, 0.5)
    ground = HUMP_HIGH * np.cos(np.pi * u) ** 2
    v = (x - STONE_AT) / (0.5 * STONE_LONG)
    inside = np.abs(v) < 1.0
    height = 0.3 * STONE_LONG
    top = STONE_PROUD - height + height * np.sqrt(np.maximum(1.0 - v**2, 0.0))
    return replace(
        track,
        ground=ground,
        stone_top=np.where(inside, top, track.stone_top),
        stone_id=np.where(inside, 0, -1).astype(np.int32),
    )


@dataclass(frozen=True)
class Compared:
    """A course crossed by both engines, and how far they are apart."""

    title: str  # of the scenario whose unit, soil and settings are used
    track: Track
    compiled: Run
    rigid: Run
    apart: Difference


def compare_engines(scenario: Scenario) -> Compared:
    """Cross the course with a scenario's unit, soil and settings; raises what `simulate` raises.

    Both without play in the pins, of which the other engine knows nothing. The compiled engine takes a quarter of its
    default step, the other an eighth.
    """
    unit, soil, settings = without_play(scenario.unit), scenario.soil, scenario.settings
    track = course(soil.strength, scenario.track().rock)
    step = choose_step(unit, soil, track.rock, settings).seconds
    compiled = simulate(unit, soil, track, settings, step=step / 4)
    rigid = simulate_rigid(unit, soil, track, settings, step=step / RIGID_PARTS)
    return Compared(scenario.title, track, compiled, rigid, difference(rigid, compiled))
