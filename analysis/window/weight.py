"""Weight check: what all rows' downforce lifts off the wheels that carry the toolbar."""

from __future__ import annotations

from dataclasses import dataclass

from scenarios.scenario import Scenario
from scenarios.spec import Machine
from sim.unit import GRAVITY

LEAST_SHARE = 0.20  # share of the weight that should stay on the wheels (assumed)
ROUNDING = 1e-9


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


def weight(scenario: Scenario, downforce: float) -> Weight:
    """Weight check of a scenario's machine at a downforce of one row [N]."""
    return Weight(scenario.machine.rows, downforce, scenario.unit.toolbar.mass * GRAVITY)
