"""Crossings at settings of a window that keep their series, looked at one by one: a window's own rows keep none."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple, TypeVar

from analysis.parallel import Progress, run_all
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import Run
from sim.run import simulate

Found = TypeVar("Found")


class Setting(NamedTuple):
    """A pressure and a speed."""

    oil_pressure: float  # gauge [Pa]
    speed: float  # [m/s]


def with_stiffness(scenario: Scenario, stiffness: float) -> Scenario:
    """The same with another stiffness of the contact between stone, disc and mounting [N/m]."""
    contact = replace(scenario.stones.contact, stiffness=stiffness)
    return replace(scenario, stones=replace(scenario.stones, contact=contact))


def runs_at(scenario: Scenario, seeds: Sequence[int], at: Setting) -> Iterator[Run]:
    """The scenario's grounds crossed one after the other, the depth set again at this pressure and speed.

    Raises SimulationError where one cannot be crossed.
    """
    settings = scenario.settings.redone_at(at.oil_pressure, at.speed)
    for seed in seeds:
        yield simulate(scenario.unit, scenario.soil, scenario.track(seed), settings)


def over_settings(
    scenario: Scenario,
    seeds: Sequence[int],
    settings: Sequence[Setting],
    look: Callable[[Iterable[Run]], Found],
    workers: int | None = None,
    progress: Progress | None = None,
) -> list[Found | str]:
    """What `look` makes of the runs of each setting (`gathered_over`, `strikes_over`, `duty_of` …), in their order.

    A text in place of it says why a setting could not be crossed. Never more than one run a worker is held at once.
    workers and progress as `analysis.parallel.run_all`.
    """

    def job(at: Setting) -> Found | str:
        try:
            return look(runs_at(scenario, seeds, at))
        except SimulationError as error:
            return str(error)

    return run_all(job, settings, workers, progress)
