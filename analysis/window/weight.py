"""Weight check: what all rows' downforce lifts off the wheels that carry the toolbar."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from analysis.present.edge import kgf
from scenarios.scenario import Scenario
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
    def warning(self) -> str:
        """What to heed, "" if enough weight is left."""
        share = self.remaining_share
        if share >= LEAST_SHARE - ROUNDING:
            return ""
        if share <= 0.0:
            return (
                f"{self.rows} rows lift {kgf(self.lift):.0f} kgf, more than the {kgf(self.weight):.0f} kg on the "
                "toolbar: it would be lifted and the downforce not reached; add mass or set less pressure"
            )
        return (
            f"only {math.floor(share * 1000) / 10:g} % of the weight stays on the toolbar's wheels, under "
            f"{LEAST_SHARE * 100:.0f} % (assumed): add mass or set less pressure"
        )

    def sentence(self) -> str:
        """Rows × downforce against the weight, in words."""
        share = self.remaining_share
        left = f"{share * 100:.0f} % of the weight stays on its wheels" if share > 0.0 else "none is left on its wheels"
        return (
            f"{self.rows} rows × {kgf(self.downforce):.0f} kgf = {kgf(self.lift):.0f} kgf against "
            f"{kgf(self.weight):.0f} kg on the toolbar: {left}"
        )

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "rows": self.rows,
            "downforce_kgf": kgf(self.downforce),
            "lift_kgf": kgf(self.lift),
            "mass_kg": kgf(self.weight),
            "remaining_share": self.remaining_share,
            "warning": self.warning or None,
        }


def weight(scenario: Scenario, downforce: float) -> Weight:
    """Weight check of a scenario's machine at a downforce of one row [N]."""
    return Weight(scenario.machine.rows, downforce, scenario.unit.toolbar.mass * GRAVITY)
