"""Counts along a row: a rate with its exact Poisson interval."""

from __future__ import annotations

import math
from typing import NamedTuple

LEVEL = 0.95  # confidence of the two-sided intervals


class Rate(NamedTuple):
    """A number of events over an exposure (km of row, ha …) as a rate, with the ends of its two-sided interval."""

    events: int
    exposure: float
    per: float
    low: float
    high: float


def interval(count: int, level: float = LEVEL) -> tuple[float, float]:
    """Exact two-sided interval for the mean of a Poisson count, from chi-square quantiles.

    ½·χ²(α/2; 2k) and ½·χ²(1 − α/2; 2k + 2), α = 1 − level (Garwood, Biometrika 28, 1936; from memory). The chi-square
    quantile is read off the regularised gamma function; for no event at all it is −ln(α/2). Raises ValueError
    for a count below zero or a level outside 0–1.

    >>> [round(end, 3) for end in interval(0)]
    [0.0, 3.689]
    """
    if count < 0 or not 0.0 < level < 1.0:
        raise ValueError(f"count {count} and level {level} given; a count from 0 up and a level between 0 and 1 needed")
    tail = 0.5 * (1.0 - level)
    if count == 0:
        return 0.0, -math.log(tail)
    from scipy.special import gammaincinv  # noqa: PLC0415 (0.1 s, and most crossings count nothing)

    return float(gammaincinv(count, tail)), float(gammaincinv(count + 1, 1.0 - tail))


def rate(count: int, exposure: float, level: float = LEVEL) -> Rate:
    """A count over an exposure → Rate. Raises ValueError for an exposure that is not above zero."""
    if not exposure > 0.0:
        raise ValueError(f"exposure {exposure} given; it has to be above zero")
    low, high = interval(count, level)
    return Rate(count, exposure, count / exposure, low / exposure, high / exposure)


def least_exposure(most: float, level: float = LEVEL) -> float:
    """Exposure below which even a count of zero cannot show that the rate is at most `most` (per unit of exposure)."""
    return interval(0, level)[1] / most
