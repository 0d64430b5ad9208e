"""Differences of two designs over the same grounds: paired, with a t-interval.

Each ground is crossed by both, so that what the ground does to both falls out of the difference. The mean of the
differences d₁…dₙ has the 95 % interval d̄ ± t(0.975, n − 1)·s/√n (Student 1908; value of t from scipy). What it tells is
what other grounds drawn alike would give, not what is in doubt of unit and soil.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

LEVEL = 0.95
FEW = 4  # grounds below which an interval says little


@dataclass(frozen=True)
class Paired:
    """Mean difference, its interval (NaN with fewer than two grounds), and how many grounds are behind it."""

    mean: float
    low: float
    high: float
    count: int

    @property
    def beyond_chance(self) -> bool:
        """Whether the interval leaves zero out; False where there is none."""
        return self.low > 0.0 or self.high < 0.0

    @property
    def none(self) -> bool:
        """Whether the difference is exactly zero on every ground."""
        return self.mean == self.low == self.high == 0.0 or (self.count == 1 and self.mean == 0.0)

    def within(self, worth: float) -> bool:
        """Whether the whole interval lies within ± worth; of one ground whether the difference does."""
        ends = (self.mean,) if math.isnan(self.low) else (self.low, self.high)
        return all(abs(end) <= worth for end in ends)


def paired(first: NDArray[np.float64], other: NDArray[np.float64]) -> Paired | None:
    """other − first over grounds, (n,); those where one is NaN are left out. None where nothing is left."""
    change = (other - first)[np.isfinite(first) & np.isfinite(other)]
    if change.size == 0:
        return None
    mean = float(change.mean())
    if change.size == 1:
        return Paired(mean, math.nan, math.nan, 1)
    scatter = float(change.std(ddof=1))
    half = 0.0 if scatter == 0.0 else _quantile(change.size - 1) * scatter / math.sqrt(change.size)
    return Paired(mean, mean - half, mean + half, int(change.size))


def _quantile(freedom: int) -> float:
    from scipy.stats import t  # noqa: PLC0415 (a third of a second)

    return float(t.ppf(0.5 + 0.5 * LEVEL, freedom))


def sign_chance(more: int, less: int) -> float:
    """Chance that of so many grounds which differ so many or more would lie on one side, were both sides as likely.

    >>> sign_chance(6, 0), sign_chance(3, 3), sign_chance(0, 0)
    (0.03125, 1.0, 1.0)
    """
    total, larger = more + less, max(more, less)
    tail = sum(math.comb(total, k) for k in range(larger, total + 1)) / 2.0**total
    return min(1.0, 2.0 * tail)
