"""Stones in plan, by the hectare, and what each row meets of them.

Places, sizes and tops are drawn by cells of 8 × 8 m, each cell from a stream of its own, so that every row and every
pass sees the same stones wherever it is asked. Geometry as in `scenarios.ground.stone_field`: half ellipsoids, round
in plan with diameter D, 0.3·D high; a row whose groove is g wide strikes a stone whose middle lies y off it if |y| ≤
(D + g)/2 and meets a half ellipse D·√(1 − η²) long, η = max(|y| − g/2, 0)/(D/2), its top 0.3·(D − length) lower.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.stones import HEIGHT_SHARE, Stone
from scenarios.ground.synthesis import STONES
from scenarios.paddock.plan_shapes import in_patch
from scenarios.paddock.spec import PlanStones, StonePatch

CELL = 8.0  # [m]
HECTARE = 1e4  # [m²]
ORIGIN = 1 << 20  # cells left of and below place (0, 0) that have numbers too


@dataclass(frozen=True)
class StoneField:
    """Stones of a paddock."""

    stones: PlanStones
    patches: tuple[StonePatch, ...]
    seed: int

    @property
    def empty(self) -> bool:
        """Whether there are none anywhere."""
        return self.stones.stones_per_ha == 0.0 and all(p.stones_per_ha == 0.0 for p in self.patches)


class Strewn(NamedTuple):
    """Stones of a cell: places [m], diameters and tops of the whole stones [m], numbers; each (k,)."""

    x: NDArray[np.float64]
    y: NDArray[np.float64]
    diameter: NDArray[np.float64]
    top: NDArray[np.float64]
    number: NDArray[np.int64]


@lru_cache(maxsize=4096)
def cell_stones(field: StoneField, column: int, row: int) -> Strewn:
    """Stones of the cell that begins at (column·8, row·8) m: a Poisson number at the densest rate, thinned by place."""
    spec = field.stones
    densest = max([spec.stones_per_ha, *(p.stones_per_ha for p in field.patches)])
    rng = np.random.default_rng([field.seed, STONES, column + ORIGIN, row + ORIGIN])
    count = int(rng.poisson(densest * CELL * CELL / HECTARE))
    draws = rng.random((count, 5))
    x, y = (column + draws[:, 0]) * CELL, (row + draws[:, 1]) * CELL
    rate = np.full(count, spec.stones_per_ha)
    for patch in field.patches:
        rate[in_patch(patch, x, y)] = patch.stones_per_ha
    kept = draws[:, 4] * densest < rate
    number = (((column & 0x3FF) << 10 | (row & 0x3FF)) << 11) + np.arange(count)
    low, high = spec.length
    diameter = low + (high - low) * draws[:, 2]
    top = spec.top[0] + (spec.top[1] - spec.top[0]) * draws[:, 3]
    return Strewn(x[kept], y[kept], diameter[kept], top[kept], number[kept])


def row_stones(field: StoneField, x_low: float, x_high: float, y: float) -> list[tuple[Stone, int]]:
    """What a row at y [m] meets between x_low and x_high [m]: cuts with the numbers of their stones, in order of x."""
    if field.empty:
        return []
    largest = field.stones.length[1]
    reach = 0.5 * (largest + field.stones.groove)
    found: list[tuple[Stone, int]] = []
    for column in range(math.floor((x_low - largest) / CELL), math.floor((x_high + largest) / CELL) + 1):
        for row in range(math.floor((y - reach) / CELL), math.floor((y + reach) / CELL) + 1):
            found += _struck(cell_stones(field, column, row), field.stones.groove, y)
    low, high = x_low - 0.5 * largest, x_high + 0.5 * largest
    return sorted((s, k) for s, k in found if low <= s.at <= high)


def _struck(cell: Strewn, groove: float, y: float) -> list[tuple[Stone, int]]:
    off = np.abs(cell.y - y)
    eta = np.maximum(off - 0.5 * groove, 0.0) / (0.5 * cell.diameter)
    struck = np.flatnonzero(eta < 1.0)
    chord = cell.diameter[struck] * np.sqrt(1.0 - eta[struck] ** 2)
    top = cell.top[struck] - HEIGHT_SHARE * (cell.diameter[struck] - chord)
    return [
        (Stone(float(a), float(c), float(t)), int(k))
        for a, c, t, k in zip(cell.x[struck], chord, top, cell.number[struck], strict=True)
    ]
