"""What the readings are for: the room that the pick has to its nearest limit, and how the unknowns move it.

The pick is that of the fitted values (where none meets every limit, the setting that fails least); its room is the
smallest margin of its limits, a share of the limit. A reading is worth what it takes off the doubt about that room.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.fit.unknowns import Unknowns
from analysis.parallel import run_all
from analysis.window.cross_grid import search
from analysis.window.limits import smallest_margin
from analysis.window.pick import Nearest, Pick, choose
from scenarios.scenario import Scenario

Vector = NDArray[np.float64]

APART = 0.5  # how far a difference reaches, in the units of the unknowns


@dataclass(frozen=True, eq=False)
class Target:
    """The pick, its room at the fitted values, and the slopes of the room to the unknowns."""

    outcome: Pick | Nearest
    room: float
    slopes: Vector  # (n,)

    def doubt(self, covariance: Vector) -> float:
        """Standard deviation of the room."""
        return math.sqrt(max(float(self.slopes @ covariance @ self.slopes), 0.0))


def room_at(scenario: Scenario, outcome: Pick | Nearest) -> float:
    """The smallest margin at a setting under other values; NaN where it cannot be crossed."""
    window = search(scenario, [outcome.oil_pressure_bar], [outcome.speed_kmh], None, 1, unchanged=False, known=False)
    return float(smallest_margin(window, window.limits)[0, 0])


def rooms(
    unknowns: Unknowns, xs: Sequence[Vector], outcome: Pick | Nearest, workers: int | None, tell: Callable[[int], None]
) -> Vector:
    """The room of a setting under several vectors of unknowns, (len(xs),); tell as `analysis.fit.fit.fit`."""

    def one(x: Vector) -> float:
        return room_at(unknowns.trial(x).scenario, outcome)

    return np.array(run_all(one, list(xs), workers, lambda _done, _total: tell(1)))


def target(unknowns: Unknowns, x: Vector, workers: int | None, tell: Callable[[int], None]) -> Target:
    """The pick of a vector of unknowns and what moves its room."""
    outcome = choose(search(unknowns.trial(x).scenario, workers=workers, unchanged=False, known=False))
    n = unknowns.values
    steps = [x + APART * np.eye(x.size)[k] for k in range(n)]
    found = rooms(unknowns, [x, *steps], outcome, workers, tell)
    slopes = np.zeros(x.size)
    slopes[:n] = np.nan_to_num((found[1:] - found[0]) / APART, nan=0.0, posinf=0.0, neginf=0.0)
    return Target(outcome, float(found[0]), slopes)
