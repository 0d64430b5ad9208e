"""How often the stones of a field pass a force: expected number and chance per hectare.

The scenario tells how many stones a row strikes and how long and high they are. The peak force of a strike is
simulated on a grid of lengths and heights (one stone on flat ground, level toolbar, mean strength) and read between
them linearly; the share of strikes over the limit is that of many lengths and heights spread as the scenario says.

    expected per hectare = strikes per row metre × 10⁴ m²/row spacing × share over the limit
    chance of at least one on a hectare = 1 − exp(−expected)          (strikes as a Poisson process)

Uncertain is: the contact stiffness (given as a range); the reading between grid points, measured at strikes of the
field that lie nearest to the limit and carried through; rough ground and changing strength, which are left out and
spread the peaks further.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.parallel import run_all
from analysis.stones.speed import Limit, peak_force
from analysis.stones.strike import STIFFNESSES
from scenarios.ground.stone_field import HECTARE, cut, strikes_per_metre
from scenarios.scenario import Scenario
from scenarios.spec import StoneField, Stones
from sim.errors import SimulationError

if TYPE_CHECKING:
    from scipy.interpolate import RegularGridInterpolator

LENGTHS, TOPS = 5, 9  # grid of simulated stones
STEP = 2e-3  # of the simulated stones [s]: peaks to some 1 %
CHECKS = 6  # strikes simulated to see how well the grid is read between
_SPREAD = 400  # strewn stones: lengths and tops spread over as many values each
_SPREAD_FIELD = 48  # stone fields: sizes, offsets and tops


class Shapes(NamedTuple):
    """Stones that one row strikes: lengths and heights of their tops [m], equally likely, and how many there are."""

    lengths: NDArray[np.float64]
    tops: NDArray[np.float64]
    per_metre: float  # strikes on a metre of row, buried ones among them


def strewn_shapes(stones: Stones) -> Shapes:
    """Stones strewn along the row: lengths and tops spread evenly."""
    middles = (np.arange(_SPREAD) + 0.5) / _SPREAD
    lengths, tops = (low + (high - low) * middles for low, high in (stones.length, stones.top))
    grid = np.meshgrid(lengths, tops, indexing="ij")
    return Shapes(grid[0].ravel(), grid[1].ravel(), stones.rate_per_100m / 100.0)


def field_shapes(field: StoneField) -> Shapes:
    """Stones by the hectare: what the row cuts of them."""
    middles = (np.arange(_SPREAD_FIELD) + 0.5) / _SPREAD_FIELD
    cuts = [cut(field, 0.0, float(a), float(b), float(c)) for a in middles for b in middles for c in middles]
    return Shapes(np.array([c.length for c in cuts]), np.array([c.top for c in cuts]), strikes_per_metre(field))


def shapes_of(scenario: Scenario) -> list[Shapes]:
    """All stones that a scenario tells statistics of; placed stones are none."""
    found = [strewn_shapes(scenario.stones)] if scenario.stones.rate_per_100m > 0.0 else []
    fields = [f for f in scenario.ground.features if isinstance(f, StoneField) and f.stones_per_ha > 0.0]
    return found + [field_shapes(f) for f in fields]


@dataclass(frozen=True)
class Passing:
    """How often a limit is passed at one contact stiffness."""

    stiffness: float  # [N/m]
    per_hectare: float  # expected number
    low: float  # the same with every peak lower, and higher, by the grid's error
    high: float
    error: float  # largest difference between simulated and read peaks near the limit, share of the limit

    @property
    def chance(self) -> float:
        """Chance of at least one on a hectare."""
        return -math.expm1(-self.per_hectare)


@dataclass(frozen=True)
class Chance:
    """How often the scenario's stones pass a limit, by contact stiffness; SI units."""

    limit: Limit
    speed: float
    strikes_per_hectare: float
    row_spacing: float
    found: tuple[Passing, ...]
    reason: str = ""  # why there are no figures


def count_interval(mean: float, level: float = 0.95) -> tuple[int, int]:
    """Counts between which a Poisson number of this mean lies with at least this probability, tails equal at most."""
    from scipy.special import pdtr  # noqa: PLC0415 (0.1 s, where stones are counted)

    tail = 0.5 * (1.0 - level)
    low = max(math.floor(mean - 6.0 * math.sqrt(mean)) - 1, 0)
    while pdtr(low, mean) <= tail:
        low += 1
    high = low
    while pdtr(high, mean) < 1.0 - tail:
        high += 1
    return low, high


def stone_chance(
    scenario: Scenario, limit: Limit, oil_pressure: float, speed: float, workers: int | None = None
) -> Chance:
    """How often the stones of a scenario pass a limit at a gauge pressure [Pa] and speed [m/s], over `STIFFNESSES`.

    Where the scenario has no stones, or one on the grid cannot be crossed, there are no figures and a reason.
    """
    shapes = shapes_of(scenario)
    spacing = scenario.machine.row_spacing
    strikes = sum(s.per_metre for s in shapes) * HECTARE / spacing
    if not shapes:
        return Chance(limit, speed, 0.0, spacing, (), "this file strews no stones")
    from scipy.interpolate import RegularGridInterpolator  # noqa: PLC0415 (0.3 s, where there are stones)

    lengths, tops = _axes(shapes, scenario.settings.set_depth)
    jobs = [(k, i, j) for k in range(len(STIFFNESSES)) for i in range(LENGTHS) for j in range(TOPS)]

    def peak(stiffness: float, length: float, top: float) -> float:
        return peak_force(scenario, limit.part, oil_pressure, speed, stiffness, top, length, STEP)

    try:
        flat = run_all(lambda n: peak(STIFFNESSES[n[0]], float(lengths[n[1]]), float(tops[n[2]])), jobs, workers)
        table = np.reshape(flat, (len(STIFFNESSES), LENGTHS, TOPS))
        found = []
        for k, stiffness in enumerate(STIFFNESSES):
            read = RegularGridInterpolator((lengths, tops), table[k], bounds_error=False, fill_value=None)
            values = [_read(read, s, tops[0], table[k, 0, 0]) for s in shapes]
            error = _grid_error(shapes, values, limit, partial(peak, stiffness))
            mean, low, high = (
                _over(shapes, values, limit.force * f) * HECTARE / spacing for f in (1.0, 1.0 + error, 1.0 - error)
            )
            found.append(Passing(stiffness, mean, low, high, error))
    except SimulationError as error:
        return Chance(limit, speed, strikes, spacing, (), f"not all could be crossed, {error}")
    return Chance(limit, speed, strikes, spacing, tuple(found))


def _axes(shapes: list[Shapes], set_depth: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Lengths and tops [m] of the simulated stones: from what the disc just misses up to the largest."""
    lengths = np.concatenate([s.lengths for s in shapes])
    tops = np.concatenate([s.tops for s in shapes])
    low = -set_depth
    return (
        np.geomspace(max(float(lengths.min()), 0.03), max(float(lengths.max()), 0.04), LENGTHS),
        np.linspace(low, max(float(tops.max()), low + 1e-3), TOPS),
    )


def _read(read: RegularGridInterpolator, s: Shapes, lowest: float, missed: float) -> NDArray[np.float64]:
    """Peaks of all strikes; of those that the disc passes over, what it feels without a stone."""
    lengths = np.maximum(s.lengths, read.grid[0][0])
    peaks = read(np.stack([lengths, np.maximum(s.tops, lowest)], axis=1))
    return np.where(s.tops <= lowest, missed, peaks)


def _over(shapes: list[Shapes], values: list[NDArray[np.float64]], limit: float) -> float:
    """Strikes over a limit on a metre of row."""
    return sum(s.per_metre * float(np.mean(v > limit)) for s, v in zip(shapes, values, strict=True))


def _grid_error(
    shapes: list[Shapes], values: list[NDArray[np.float64]], limit: Limit, peak: Callable[[float, float], float]
) -> float:
    """Largest |read − simulated| peak over the limit, at strikes spread over those near the limit."""
    read, lengths, tops = (
        np.concatenate(parts)
        for parts in (values, [s.lengths for s in shapes], [s.tops for s in shapes])
    )  # fmt: skip
    near = np.argsort(np.abs(read - limit.force), kind="stable")[: max(read.size // 20, CHECKS)]
    chosen = near[np.linspace(0, near.size - 1, CHECKS).astype(int)]
    errors = [abs(peak(float(lengths[n]), float(tops[n])) - read[n]) for n in chosen]
    return float(max(errors)) / limit.force
