"""What pins are told for: a scenario's ground or grounds, or rows of a paddock; what else could be tried there."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

from scenarios.scenario import Scenario
from sim.record import Run
from sim.run import simulate
from sim.unit import Settings

MORE_PRESSURE, MORE_SPEED, ROUGHER = 5e5, 1.0 / 3.6, 4.0  # [Pa], [m/s]; of the roughness' density: one class
HIGHEST = 250e5  # oil pressure that may be set [Pa]


@dataclass(frozen=True)
class Rows:
    """Rows of some passes that stand for a whole paddock; counts of both, and of all of them."""

    rows: int
    passes: int
    all_rows: int
    all_passes: int


@dataclass(frozen=True)
class Work:
    """One setting on one ground, several, or rows of a paddock."""

    name: str
    settings: Settings
    width: float  # of the machine [m]
    grounds: tuple[int, ...]  # numbers of random grounds; () where the ground is not random
    of_field: bool  # ground of a field, not a shape or two on flat ground: years can be told of it
    stiffness: float  # of the contact with stones [N/m]
    warnings: tuple[str, ...] = ()
    rows: Rows | None = None  # of a paddock
    others: Mapping[str, Callable[[], Run]] = field(default_factory=dict)
    """A crossing of the first ground with more "pressure", more "speed" or rougher "ground"."""


def work_of(scenario: Scenario, seeds: Sequence[int] | None = None) -> Work:
    """A scenario at its own settings on its own ground, or on grounds of several numbers."""
    random = scenario.ground.roughness is not None and scenario.profile is None
    rough = scenario.ground.roughness is not None or scenario.profile is not None
    first = None if seeds is None else seeds[0]
    return Work(
        scenario.name, scenario.settings, scenario.machine.width,
        tuple(seeds or (scenario.seed,)) if random else (), rough and not scenario.limits.on_feature,
        scenario.stones.contact.stiffness, scenario.warnings, None,
        {what: partial(crossed, other, first) for what, other in _changed(scenario).items()},
    )  # fmt: skip


def crossed(scenario: Scenario, seed: int | None = None) -> Run:
    """A scenario's ground at its own settings. Raises SimulationError."""
    return simulate(scenario.unit, scenario.soil, scenario.track(seed), scenario.settings)


def more(settings: Settings) -> dict[str, Settings]:
    """The settings with 5 bar and with 1 km/h more, those that may be set."""
    faster = replace(settings, speed=settings.speed + MORE_SPEED)
    if settings.oil_pressure + MORE_PRESSURE > HIGHEST:
        return {"speed": faster}
    return {"pressure": replace(settings, oil_pressure=settings.oil_pressure + MORE_PRESSURE), "speed": faster}


def _changed(scenario: Scenario) -> dict[str, Scenario]:
    changed = {what: replace(scenario, settings=other) for what, other in more(scenario.settings).items()}
    if scenario.ground.roughness is not None and scenario.profile is None:
        changed["ground"] = scenario.with_roughness_scaled(ROUGHER)
    return changed
