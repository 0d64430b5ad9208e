"""Weight check: what all rows' downforce lifts off the wheels that carry the toolbar."""

from __future__ import annotations

from dataclasses import dataclass

from scenarios.scenario import Scenario
from scenarios.spec import Machine
from sim.hydraulics.cylinder import downforce
from sim.unit import GRAVITY

LEAST_SHARE = 0.20  # share of the weight that should stay on the wheels (assumed)
ROUNDING = 1e-9  # pressures and forces that differ by less are one, as a share


@dataclass(frozen=True)
class Weight:
    """Rows × downforce against the weight on the toolbar's wheels [N]."""

    rows: int
    downforce: float  # of one row [N]
    weight: float  # mass on the toolbar × g [N]

    @property
    def lift(self) -> float:
        """What all rows together lift [N]."""
        return self.rows * self.downforce

    @property
    def remaining_share(self) -> float:
        """Share of the weight that stays on the wheels; below zero the rows would lift the toolbar."""
        return 1.0 - self.lift / self.weight

    @property
    def enough(self) -> bool:
        """Whether at least LEAST_SHARE of the weight stays on the wheels."""
        return self.remaining_share >= LEAST_SHARE - ROUNDING


def held_down(machine: Machine, toolbar_mass: float) -> float:
    """Largest downforce of one row at which all rows together do not lift the toolbar off its wheels [N].

    mass [kg] on the toolbar's wheels × g / rows: beyond it the downforce cannot be reached, so no such pressure is
    ever to be set (statics; derived).
    """
    return toolbar_mass * GRAVITY / machine.rows


def may_be_set(scenario: Scenario, oil_pressure: float) -> bool:
    """Whether an oil pressure [Pa] is within the highest that may be set and does not lift the toolbar."""
    most, over = scenario.limits.max_oil_pressure, 1.0 + ROUNDING
    held = held_down(scenario.machine, scenario.unit.toolbar.mass)
    return (most is None or oil_pressure <= most * over) and downforce(scenario.unit, oil_pressure) <= held * over


def weight(scenario: Scenario, force: float) -> Weight:
    """Weight check of a scenario's machine at a downforce of one row [N]."""
    return Weight(scenario.machine.rows, force, scenario.unit.toolbar.mass * GRAVITY)
