"""How often stones bring more than a load on a pin: a scenario's grounds crossed at three contact stiffnesses."""

from __future__ import annotations

import math

from analysis.parallel import Progress, run_all
from analysis.pins.duty.extremes import Passing, passing, stones_per_hectare
from analysis.pins.duty.settings import with_stiffness
from analysis.pins.duty.strikes import Strikes, joined, strikes
from analysis.stones.strike import STIFFNESSES
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.run import simulate

WANTED = 200  # strikes at each stiffness
MOST_GROUNDS = 12


def how_often(
    scenario: Scenario, met: Strikes, pin: str, limit: float, workers: int | None = None,
    progress: Progress | None = None,
) -> tuple[Passing, ...]:  # fmt: skip
    """By stiffness (`STIFFNESSES`), how often a pin (or `strikes.MOST`) passes a limit [N] on a hectare.

    met: strikes of one of the grounds, by which it is seen how many grounds give `WANTED` strikes; at the scenario's
    own settings. Ground that is no random one is crossed once.
    """
    random = scenario.profile is None
    each = met.pins.shape[0]
    count = max(1, min(MOST_GROUNDS, math.ceil(WANTED / each))) if random and each else 1
    jobs = [(k, scenario.seed + i) for k in range(len(STIFFNESSES)) for i in range(count)]

    def job(at: tuple[int, int]) -> Strikes | str:
        stiff = with_stiffness(scenario, STIFFNESSES[at[0]])
        try:
            return strikes(simulate(stiff.unit, stiff.soil, stiff.track(at[1]), stiff.settings))
        except SimulationError as error:
            return str(error)

    found = run_all(job, jobs, workers, progress)
    many = stones_per_hectare(scenario)
    told = []
    for k, stiffness in enumerate(STIFFNESSES):
        crossed = [one for one in found[k * count : (k + 1) * count] if not isinstance(one, str)]
        if crossed:
            told.append(passing(joined(crossed), pin, limit, many, stiffness))
    return tuple(told)
