"""From a depth to turns of the turnbuckle, by the unit's own linkage and thread; and what of it soil lets arrive."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from scenarios.scenario import Scenario
from sim.mechanism.linkage import setting_ratios
from sim.model import pack
from sim.run import prepare
from sim.setting import equilibrium
from sim.unit import Rock

QUARTER = 0.25  # turns are told in quarters
SMALL = 1e-3  # change of the turnbuckle's length for the share that arrives [m]


@dataclass(frozen=True)
class Turnbuckle:
    """What a turn does at one depth setting."""

    pitch: float  # change of length per turn [m]
    depth_per_length: float  # by the linkage, deeper and longer positive [m/m]
    arrives: float  # share of a linkage's change of depth that arrives on the scenario's soil
    set_depth: float  # the setting at which this holds [m]

    @property
    def depth_per_turn(self) -> float:
        """Change of depth per turn that makes it longer, by the linkage [m]."""
        return self.depth_per_length * self.pitch

    def turns(self, deeper: float) -> float:
        """Turns that make a row deeper by so much [m]; positive: the turnbuckle gets longer."""
        return deeper / self.depth_per_turn

    @property
    def longer_is_deeper(self) -> bool:
        """Which way it goes on this unit."""
        return self.depth_per_length > 0.0


def turnbuckle(scenario: Scenario) -> Turnbuckle:
    """The turnbuckle of a scenario's unit at its depth setting.

    Raises SimulationError where the unit cannot be set (see `sim.run.prepare`).
    """
    unit, settings = scenario.unit, scenario.settings
    ready = prepare(unit, scenario.soil, Rock(), settings)
    ratio = setting_ratios(unit, ready.setting.crank_angle).turnbuckle
    low, high = (_depth(scenario, longer) for longer in (-SMALL, SMALL))
    arrives = (high - low) / (2.0 * SMALL) / ratio
    return Turnbuckle(unit.depth_linkage.thread_pitch, ratio, arrives, settings.set_depth)


def _depth(scenario: Scenario, longer: float) -> float:
    """Depth of the disc of one row at rest [m], toolbar and crank as set, its turnbuckle longer by so much [m].

    A wheel that is let up carries more and sinks more, so that less than the linkage's change arrives.
    """
    unit, settings = scenario.unit, scenario.settings
    ready = prepare(unit, scenario.soil, Rock(), settings)
    link = replace(unit.depth_linkage, turnbuckle=unit.depth_linkage.turnbuckle + longer)
    changed = replace(unit, depth_linkage=link)
    m = pack(changed, scenario.soil, Rock(), settings, ready.gas, ready.setting.crank_angle)
    lift = None if ready.worn is None else ready.worn.lift
    arm, _ = equilibrium(changed, m, ready.law, ready.setting.toolbar_height, scenario.soil.strength, lift)
    links, disc = unit.main_links, unit.disc
    hub = ready.setting.toolbar_height + unit.toolbar.upper_pin[1] + links.length * math.sin(arm) + disc.hub[1]
    return disc.radius - hub


def quarters(turns: float) -> float:
    """Turns to the nearest quarter.

    >>> quarters(1.2), quarters(-0.1)
    (1.25, 0.0)
    """
    return round(turns / QUARTER) * QUARTER + 0.0


def outward(low: float, high: float) -> tuple[float, float]:
    """The ends of an interval moved outwards to whole quarters.

    >>> outward(0.6, 1.1), outward(-0.3, 0.25)
    ((0.5, 1.25), (-0.5, 0.25))
    """
    return (
        math.floor(low / QUARTER + 1e-9) * QUARTER + 0.0,
        math.ceil(high / QUARTER - 1e-9) * QUARTER + 0.0,
    )
