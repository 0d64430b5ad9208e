"""Pin loads at one setting over all seeds of a window."""

from __future__ import annotations

from dataclasses import replace

from analysis.crossing.loads import PinLoad, pin_loads
from analysis.parallel import run_all
from analysis.window.pick import Nearest, Pick
from scenarios.scenario import Scenario
from sim.mechanism.linkage import LinkageError
from sim.record import PINS
from sim.run import RunError, simulate


def pins_at(
    scenario: Scenario, seeds: tuple[int, ...], found: Pick | Nearest, workers: int | None = None
) -> dict[str, PinLoad]:
    """Peak, RMS and mean of every pin with the setting found, each the highest of the seeds [N].

    Empty where the nearest setting cannot be crossed (the window then says why).
    """
    settings = replace(scenario.settings, oil_pressure=found.oil_pressure, speed=found.speed, setting="redone")

    def job(seed: int) -> dict[str, PinLoad]:
        return pin_loads(simulate(scenario.unit, scenario.soil, scenario.track(seed), settings))

    try:
        runs = run_all(job, seeds, workers)
    except (RunError, LinkageError, ValueError):
        return {}
    return {
        name: PinLoad(
            max(run[name].peak for run in runs), max(run[name].rms for run in runs), max(run[name].mean for run in runs)
        )
        for name in PINS
    }
