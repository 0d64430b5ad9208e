"""What the readings are for: the room that the pick has to its nearest limit, and how the unknowns move it.

The pick is that of the fitted values (where none meets every limit, the setting that fails least); its room is the
smallest margin of its limits, a share of the limit. A reading is worth what it takes off the doubt about that room.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.fit.unknowns import Unknowns
from analysis.parallel import counted, run_together
from analysis.rows.cells import Alike
from analysis.rows.crossings import Cell, Wanted, cross_all_together
from analysis.window.cross_grid import assemble, search
from analysis.window.limits import smallest_margin
from analysis.window.pick import Nearest, Pick, choose

Vector = NDArray[np.float64]

PART = 2  # vectors that are crossed together: on three grounds they nearly fill a march
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


def rooms(
    unknowns: Unknowns, xs: Sequence[Vector], outcome: Pick | Nearest, workers: int | None, tell: Callable[[int], None]
) -> Vector:
    """The smallest margin at a setting under several vectors of unknowns, (len(xs),); NaN where it cannot be crossed.
    tell as `analysis.fit.fit.fit`.
    """
    p, v = np.array([outcome.oil_pressure]), np.array([outcome.speed])

    def together(some: list[Vector]) -> list[float]:
        made = [unknowns.trial(x).scenario for x in some]
        alike = Alike(made[0].search_seeds)
        grounds = [alike.of(scenario) for scenario in made]
        wanted = []
        for scenario, laid in zip(made, grounds, strict=True):
            settings = replace(scenario.settings, oil_pressure=float(p[0]), speed=float(v[0]))
            wanted.append(Wanted(scenario, laid, [Cell(settings, k) for k in range(len(laid))]))
        found = []
        for scenario, laid, crossed in zip(made, grounds, cross_all_together(wanted, False, 1), strict=True):
            results = {(0, 0, k): one for k, one in enumerate(crossed)}
            window = assemble(scenario, p, v, laid, results, told=False)
            found.append(float(smallest_margin(window, window.limits)[0, 0]))
        return found

    return np.array(run_together(together, xs, PART, workers, counted(tell)))


def target(unknowns: Unknowns, x: Vector, workers: int | None, tell: Callable[[int], None]) -> Target:
    """The pick of a vector of unknowns and what moves its room."""
    outcome = choose(search(unknowns.trial(x).scenario, workers=workers, unchanged=False, known=False))
    n = unknowns.values
    steps = [x + APART * np.eye(x.size)[k] for k in range(n)]
    found = rooms(unknowns, [x, *steps], outcome, workers, tell)
    slopes = np.zeros(x.size)
    slopes[:n] = np.nan_to_num((found[1:] - found[0]) / APART, nan=0.0, posinf=0.0, neginf=0.0)
    return Target(outcome, float(found[0]), slopes)
