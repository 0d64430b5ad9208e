"""Rainflow counting as a history goes on: closed cycles into fixed bins, what is still open kept as turning points.

A cycle between two turning points B and C is closed once its range is smaller than that before it and no larger than
that after it: |BC| < |AB| and |BC| ≤ |CD|. Whatever comes before or after cannot open it again, so that the closed
cycles of two stretches and those that their left-over turning points close together are the cycles of the whole. What
never closes is left over and is counted at the end, as ASTM E1049-85 §5.4.4 does, in half cycles
(`analysis.pins.duty.cycles`). Closed cycles and that count together are the standard's own.
"""

from __future__ import annotations

import math

import numpy as np

from sim.arithmetic.compiled import kernel, part
from sim.arithmetic.elementary import logarithm
from sim.arithmetic.simd import WIDTH, lane, largest, load, lowest_bit, magnitude, mask_bits, select, smallest, store

# ranges: geometric bins; the first holds all that is smaller, the last all that is larger
LEAST_RANGE, RANGES_A_DECADE, RANGE_DECADES = 10.0, 16, 5  # [N]
RANGES = RANGES_A_DECADE * RANGE_DECADES + 2
# means: geometric bins on either side of one that holds all means next to zero
LEAST_MEAN, MEANS_A_DECADE, MEAN_DECADES = 100.0, 5, 3  # [N]
MEAN_SIDE = MEANS_A_DECADE * MEAN_DECADES + 1
MEANS = 2 * MEAN_SIDE + 1
BINS = RANGES * MEANS
BATCH = 64  # closed cycles that wait until they are put into bins together

_PER_RANGE = RANGES_A_DECADE / math.log(10.0)
_PER_MEAN = MEANS_A_DECADE / math.log(10.0)


@part
def _range_bin(size):
    """Bin of a range [N], as Lanes with a fraction."""
    above = 1.0 + _PER_RANGE * logarithm(largest(size, LEAST_RANGE) * (1.0 / LEAST_RANGE))
    return select(size < LEAST_RANGE, 0.0, smallest(above, RANGES - 1.0))


@part
def _mean_bin(mean):
    """Bin of a mean [N], as Lanes with a fraction."""
    size = magnitude(mean)
    away = 1.0 + _PER_MEAN * logarithm(largest(size, LEAST_MEAN) * (1.0 / LEAST_MEAN))
    away = smallest(away, float(MEAN_SIDE))
    return select(size < LEAST_MEAN, float(MEAN_SIDE), select(mean > 0.0, MEAN_SIDE + away, MEAN_SIDE + 1.0 - away))


@part
def put_away(waiting, size, mean, at, closed, closed_at, numbers, sizes, sums_at):
    """`waiting` closed cycles, size and mean from `at` on [N], into their bins.

    closed: flat counts, those of this history from closed_at on, (RANGES × MEANS); numbers, sizes: how many there are
    in each bin of ranges and the sum of their ranges [N], flat, from sums_at on. Room for eight more behind those that
    wait is read over.
    """
    for start in range(0, waiting, WIDTH):
        by_range, by_mean = _range_bin(load(size, at + start)), _mean_bin(load(mean, at + start))
        store(mean, at + start, by_mean)
        for j in range(start, min(start + WIDTH, waiting)):
            k = int(lane(by_range, j - start))
            closed[closed_at + k * MEANS + int(mean[at + j])] += 1
            numbers[sums_at + k] += 1
            sizes[sums_at + k] += size[at + j]


@part
def push(value, stack, base, depth, size, mean, at):
    """A turning point onto the stack from `base` on; cycles that it closes into size and mean from `at` on [N].

    Returns the points on the stack then, and the place behind the last cycle.
    """
    stack[base + depth] = value
    depth += 1
    while depth >= 4:
        top = base + depth - 1
        b, c = stack[top - 2], stack[top - 1]
        extent = abs(b - c)
        if extent > abs(c - value) or extent >= abs(stack[top - 3] - b):
            break
        size[at] = extent
        mean[at] = 0.5 * (b + c)
        at += 1
        stack[top - 2] = value
        depth -= 2
    return depth, at


@part
def follow(values, row, size, first, last, way, stack, base, depth, extents, means, at):
    """Turning points of a history over `size` values from values[row] on, onto the stack from `base` on.

    first: the history begins here; last, way, depth: value before, which way it went (±1, 0: nowhere yet), points on
    the stack; extents, means, at: where cycles that close go. Returns last, way, depth and `at` as they are then. Only
    a value whose step up to it and step on from it do not go one way can be a turning point; eight are tried at once,
    for which there are eight more readable numbers on either side.
    """
    if first:
        last = values[row]
        depth, at = push(last, stack, base, depth, extents, means, at)
    for start in range(0, size, WIDTH):
        here = load(values, row + start)
        bits = mask_bits((here - load(values, row + start - 1)) * (load(values, row + start + 1) - here) <= 0.0)
        if start == 0:
            bits |= 1
        if start + WIDTH >= size:  # the last value, and nothing beyond it
            bits |= 1 << (size - 1 - start)
            bits &= (2 << (size - 1 - start)) - 1
        while bits != 0:
            value = values[row + start + lowest_bit(bits)]
            bits &= bits - 1
            step = value - last
            if step * way < 0.0:
                depth, at = push(last, stack, base, depth, extents, means, at)
            if step != 0.0:
                way = 1.0 if step > 0.0 else -1.0
                last = value
    return last, way, depth, at


@kernel
def count(padded, size, stack, closed, numbers, sizes):
    """Count one history, `size` values that stand in `padded` with eight more on either side.

    closed (RANGES × MEANS), numbers and sizes (RANGES) grow, flat; stack: room for all values. Returns the points left
    on it.
    """
    extents, means = np.zeros(size + WIDTH), np.zeros(size + WIDTH)
    last, way, depth, at = follow(padded, WIDTH, size, True, 0.0, 0.0, stack, 0, 0, extents, means, 0)
    if way != 0.0:
        depth, at = push(last, stack, 0, depth, extents, means, at)
    put_away(at, extents, means, 0, closed, 0, numbers, sizes, 0)
    return depth
