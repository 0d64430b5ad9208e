"""Load cycles of one history by rainflow counting (ASTM E1049-85 §5.4.4), in a form that joins, and what they do.

A history is counted while it goes on (`rainflow_loop`): closed cycles stand in fixed bins of range and mean, what is
still open as turning points. Two stretches are joined by adding their bins and counting their left-over turning points
one after the other, which is the count of the whole. Half cycles are made of what is left over only when cycles are
asked for, by the package `rainflow`.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import reduce
from typing import NamedTuple

import numpy as np
import rainflow
from numpy.typing import ArrayLike, NDArray

from analysis.pins.duty.rainflow_loop import (
    BINS,
    LEAST_MEAN,
    LEAST_RANGE,
    MEAN_SIDE,
    MEANS,
    MEANS_A_DECADE,
    RANGES,
    RANGES_A_DECADE,
    count,
)
from sim.arithmetic.simd import WIDTH

RANGE_EDGES = LEAST_RANGE * 10.0 ** (np.arange(RANGES - 1) / RANGES_A_DECADE)  # between bins [N]
MEAN_EDGES = LEAST_MEAN * 10.0 ** (np.arange(MEAN_SIDE) / MEANS_A_DECADE)  # of the bins above zero [N]


class Counted(NamedTuple):
    """Count of one history so far."""

    closed: NDArray[np.int32]  # cycles by range and mean, (RANGES, MEANS)
    numbers: NDArray[np.int32]  # the same by range alone, (RANGES,)
    sizes: NDArray[np.float64]  # sum of the ranges of these, by range, (RANGES,) [N]
    left_over: NDArray[np.float64]  # turning points that no closed cycle has used, in order [N]


class Cycles(NamedTuple):
    """Cycles, whole and half ones, each (n,)."""

    ranges: NDArray[np.float64]  # [N]
    means: NDArray[np.float64]  # [N]
    counts: NDArray[np.float64]


def counted(values: ArrayLike) -> Counted:
    """Count a history (n,) [N]."""
    history = np.asarray(values, dtype=np.float64)
    padded = np.zeros(history.size + 3 * WIDTH)
    padded[WIDTH : WIDTH + history.size] = history
    closed, numbers = (np.zeros(bins, dtype=np.int32) for bins in (BINS, RANGES))
    sizes, stack = np.zeros(RANGES), np.empty(history.size + 1)
    left = count(padded, history.size, stack, closed, numbers, sizes) if history.size else 0
    return Counted(closed.reshape(RANGES, MEANS), numbers, sizes, stack[:left].copy())


def _join(a: Counted, b: Counted) -> Counted:
    between = counted(np.concatenate([a.left_over, b.left_over]))
    return Counted(
        a.closed + b.closed + between.closed,
        a.numbers + b.numbers + between.numbers,
        a.sizes + b.sizes + between.sizes,
        between.left_over,
    )


def joined(stretches: Iterable[Counted]) -> Counted:
    """The count of stretches that follow one another, exactly as if they had been counted in one go."""
    return reduce(_join, stretches)


def mean_middles() -> NDArray[np.float64]:
    """Middle (geometric) of every bin of means, (MEANS,) [N]; the outermost bins stand for their inner edge."""
    middles = np.append(np.sqrt(MEAN_EDGES[:-1] * MEAN_EDGES[1:]), MEAN_EDGES[-1])
    return np.concatenate([-middles[::-1], [0.0], middles])


def half_cycles(left_over: ArrayLike) -> Cycles:
    """What ASTM E1049 makes of turning points that are left over, by the package `rainflow`."""
    points = np.asarray(left_over, dtype=np.float64).tolist()
    # the package tells no cycle of two points; the first one twice changes nothing of longer ones
    found = [cycle[:3] for cycle in rainflow.extract_cycles(points[:1] + points)]
    ranges, means, counts = np.array(found, dtype=np.float64).reshape(-1, 3).T
    return Cycles(ranges, means, counts)


def cycles_of(found: Counted) -> Cycles:
    """Cycles of a history: closed ones with the mean range of their bin and the middle of their mean's; half ones."""
    k, j = np.nonzero(found.closed)
    ranges = found.sizes[k] / found.numbers[k]
    closed = Cycles(ranges, mean_middles()[j], found.closed[k, j].astype(np.float64))
    return Cycles(*(np.concatenate(both) for both in zip(closed, half_cycles(found.left_over), strict=True)))


def ranges_of(found: Counted) -> Cycles:
    """The same with all means of a bin of ranges taken together (told as 0): all that damage asks for, and quicker.

    The half cycles are the ranges from one left-over turning point to the next, since none of them closes another:
    those that `half_cycles` finds, without its care for order.
    """
    (k,) = np.nonzero(found.numbers)
    numbers, half = found.numbers[k], np.abs(np.diff(found.left_over))
    ranges = np.concatenate([found.sizes[k] / numbers, half])
    return Cycles(ranges, np.zeros(ranges.size), np.concatenate([numbers, np.full(half.size, 0.5)]))


def damage(cycles: Cycles, slope: float) -> float:
    """Σ n·R^m [N^m]: over C the damage Σ n/N by Miner's rule, where N = C·R^−m (Palmgren 1924, Miner 1945)."""
    return float(np.sum(cycles.counts * cycles.ranges**slope))


def equivalent_range(cycles: Cycles, slope: float, times: float | None = None) -> float:
    """The one range that does the same damage `times` times over; None: as often as there are cycles [N]."""
    often = float(cycles.counts.sum()) if times is None else times
    return (damage(cycles, slope) / often) ** (1.0 / slope) if often > 0.0 else 0.0


def miner(counts: ArrayLike, lives: ArrayLike) -> float:
    """Miner's sum D = Σ n/N of cycles counted over cycles to failure at their ranges; failure at 1."""
    return float(np.sum(np.asarray(counts, dtype=np.float64) / np.asarray(lives, dtype=np.float64)))


def reached(cycles: Cycles, times: ArrayLike) -> NDArray[np.float64]:
    """Range that is reached at least `times` times, of the shape of `times` [N]; 0 where there are not so many."""
    order = np.argsort(-cycles.ranges, kind="stable")
    often = np.cumsum(cycles.counts[order])
    at = np.searchsorted(often, np.asarray(times, dtype=np.float64) * (1.0 - 1e-12))
    return np.append(cycles.ranges[order], 0.0)[at]
