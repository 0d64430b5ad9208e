"""Whether precharge and oil pressure of a scenario suit each other, by the rule in use.

Precharge at most 0.9 of the lowest working pressure, in the heat, so that the gas never pushes its separator against
its end; highest working pressure at most 4 times the precharge, in the cold (common practice; from memory; the
vessel's plate and papers come first). Absolute pressures, moved slowly to the lower stop and fast to the upper one.
"""

from __future__ import annotations

from scenarios.scenario import Scenario
from sim.errors import LawError
from sim.hydraulics.accumulator import pushing
from sim.unit import ATMOSPHERE, KELVIN

MOST, SQUEEZE = 0.9, 4.0
COLD, HOT = 0.0 + KELVIN, 35.0 + KELVIN  # gas on a cold morning and on a hot afternoon [K] (assumed)


def keeps_rule(scenario: Scenario) -> bool:
    """True where both sides of the rule hold."""
    unit, s, links = scenario.unit, scenario.settings, scenario.unit.main_links
    try:
        hot = pushing(unit, s, s.oil_pressure, HOT)
        cold = pushing(unit, s, s.oil_pressure, COLD)
        lowest = hot.pressure(links.stop_down, fast=False) + ATMOSPHERE
        highest = cold.pressure(links.stop_up, fast=True) + ATMOSPHERE
    except LawError:
        return False
    return hot.gas.full_pressure <= MOST * lowest and highest <= SQUEEZE * cold.gas.full_pressure
