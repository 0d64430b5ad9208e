"""Pin loads at one setting over all seeds of a window."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from analysis.crossing.loads import PinLoad, pin_loads
from analysis.parallel import run_all
from analysis.window.pick import Nearest, Pick
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import PINS
from sim.run import simulate


@dataclass(frozen=True)
class PinsAt(Mapping[str, PinLoad]):
    """Pin loads by name [N]; empty where a crossing could not be made, with the reason in `problem`."""

    loads: Mapping[str, PinLoad] = field(default_factory=dict)
    problem: str = ""

    def __getitem__(self, name: str) -> PinLoad:
        return self.loads[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.loads)

    def __len__(self) -> int:
        return len(self.loads)


def pins_at(
    scenario: Scenario,
    seeds: tuple[int, ...],
    found: Pick | Nearest,
    workers: int | None = None,
    first: Mapping[str, PinLoad] | None = None,
) -> PinsAt:
    """Peak, RMS and mean of every pin with the setting found, each the highest of the seeds [N].

    first: those on the first of the seeds, where they are known already.
    Empty with a reason where the setting (the nearest one, as a rule) cannot be crossed on one of the seeds.
    """
    settings = scenario.settings.redone_at(found.oil_pressure, found.speed)

    def job(seed: int) -> dict[str, PinLoad]:
        return pin_loads(simulate(scenario.unit, scenario.soil, scenario.track(seed), settings))

    try:
        runs = run_all(job, seeds if first is None else seeds[1:], workers)
    except SimulationError as error:
        return PinsAt(problem=str(error))
    if first is not None:
        runs.append(dict(first))
    return PinsAt(
        {
            name: PinLoad(
                max(run[name].peak for run in runs),
                max(run[name].rms for run in runs),
                max(run[name].mean for run in runs),
            )
            for name in PINS
        }
    )
