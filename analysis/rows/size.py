"""How large a search over many crossings is, estimated before it starts: time and memory."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

from scenarios.scenario import Scenario
from sim.errors import StepError
from sim.run import LEAD_IN
from sim.step import choose_step, usual_step

MOST_MEMORY = 1e9  # that a search may take [bytes]
BASE = 250e6  # of the program itself [bytes]
# measured on grounds of 8 m to 20 km, with some to spare: of a sample of a ground, and once of all that is made of one
# more ground while changes are tried; of a node of the toolbar's path over each; of a crossing that is kept [bytes]
SAMPLE, TRIED, NODE, CROSSING = 150.0, 400.0, 48.0, 16e3
ROW_SECONDS = 4e-3  # to make one row ready [s], and …
RATE = 15_000.0  # … unit-seconds that one core marches in a second


class Size(NamedTuple):
    """What a search takes: crossings, of how many metres, work of one core [s], memory at its highest [bytes]."""

    crossings: int
    length: float  # of one [m]
    work: float
    memory: float
    results: float  # the part of it that grows with the crossings alone


def search_size(scenario: Scenario, settings: int, speeds: Sequence[float], grounds: int, windows: int = 1) -> Size:
    """Estimate of `windows` searches of as many settings at each of the speeds [m/s] on grounds of the scenario."""
    plan = scenario.layout()
    crossings = settings * len(speeds) * grounds * windows
    rows, way = 2.0 * settings * grounds * windows, LEAD_IN + scenario.length
    work, nodes = ROW_SECONDS * rows * len(speeds), 0.0
    for speed in speeds:
        step = step_at(scenario, speed)
        work += rows * way / speed * (usual_step(speed) / step) / RATE
        nodes = max(nodes, 2.0 * way / (speed * step))
    memory = BASE + plan.samples * (SAMPLE * grounds + TRIED) + NODE * nodes * grounds * min(len(speeds), 2)
    results = CROSSING * crossings
    return Size(crossings, scenario.length, work, memory + results, results)


def steps_of(scenario: Scenario, speed: float) -> int:
    """Steps that a run of the scenario keeps at a speed [m/s]."""
    return math.ceil((LEAD_IN + scenario.length) / (speed * step_at(scenario, speed))) + 1


def step_at(scenario: Scenario, speed: float) -> float:
    """The time step at a speed [s]; the usual one where it is refused, which is told later."""
    settings = scenario.with_settings(speed=speed).settings
    try:
        return choose_step(scenario.unit, scenario.soil, scenario.stones.contact, settings).seconds
    except StepError:
        return usual_step(speed)
