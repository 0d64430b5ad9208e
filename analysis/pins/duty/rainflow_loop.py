"""Rainflow counting as a history goes on: closed cycles into fixed bins, what is still open kept as turning points.

A cycle between two turning points B and C is closed once its range is smaller than that before it and no larger than
that after it: |BC| < |AB| and |BC| ≤ |CD|. Whatever comes before or after cannot open it again, so that the closed
cycles of two stretches and those that their left-over turning points close together are the cycles of the whole. What
never closes is left over and is counted at the end, as ASTM E1049-85 §5.4.4 does, in half cycles
(`analysis.pins.duty.cycles`). Closed cycles and that count together are the standard's own.

Nor does it matter in which order cycles close: where |BC| closes, neither |AB| nor |CD| does, and |AD|, which takes
their place, is at least as large as either, so that no neighbour stays open that would have closed. So turning points
wait until many have come together; those that close between four neighbours are then taken out eight at a time, twice
over, and only what remains goes onto the stack one by one. A processor that cannot foresee whether the next point
closes a cycle loses more time by that than by all the counting.
"""

from __future__ import annotations

import math

import numpy as np

from sim.arithmetic.compiled import kernel, part
from sim.arithmetic.elementary import logarithm
from sim.arithmetic.simd import (
    WIDTH,
    bits_set,
    lane,
    largest,
    load,
    lowest_bit,
    magnitude,
    mask_bits,
    select,
    smallest,
    store,
)

# ranges: geometric bins; the first holds all that is smaller, the last all that is larger
LEAST_RANGE, RANGES_A_DECADE, RANGE_DECADES = 10.0, 16, 5  # [N]
RANGES = RANGES_A_DECADE * RANGE_DECADES + 2
# means: geometric bins on either side of one that holds all means next to zero
LEAST_MEAN, MEANS_A_DECADE, MEAN_DECADES = 100.0, 5, 3  # [N]
MEAN_SIDE = MEANS_A_DECADE * MEAN_DECADES + 1
MEANS = 2 * MEAN_SIDE + 1
BINS = RANGES * MEANS
PASSES = 1  # there and back over turning points that wait, eight at a time, before what remains goes onto the stack
_BEYOND = 1 << WIDTH  # a ninth bit: where none of the eight is set it is the lowest
_ALL = _BEYOND - 1

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
def candidates(values, row, size, points, at):
    """Values among `size` from values[row] on that may be turning points, into points from `at` on → place behind them.

    Only one whose step up to it and step on from it do not go one way can be one; of those next to both ends only one
    is known, so they are taken. Eight are tried at once, for which there are eight more readable numbers on either side
    of the values, and room for eight more behind the points.
    """
    for start in range(0, size, WIDTH):
        here = load(values, row + start)
        bits = mask_bits((here - load(values, row + start - 1)) * (load(values, row + start + 1) - here) <= 0.0)
        if start == 0:
            bits |= 1
        if start + WIDTH >= size:  # the last value, and nothing beyond it
            bits |= 1 << (size - 1 - start)
            bits &= (2 << (size - 1 - start)) - 1
        end = at + bits_set(bits)
        while True:  # two without asking whether they are there: seldom there are more
            points[at] = values[row + start + lowest_bit(bits | _BEYOND)]
            bits &= bits - 1
            points[at + 1] = values[row + start + lowest_bit(bits | _BEYOND)]
            bits &= bits - 1
            at += 2
            if bits == 0:
                break
        at = end
    return at


@part
def turning(points, at, end, last, way, turns, many):
    """Of points[at:end] those where the history turns, into turns from `many` on → place behind them; last, way.

    last, way: the value before and which way it went (±1, 0: nowhere yet). A point turns once the next one goes back.
    """
    for i in range(at, end):
        step = points[i] - last
        turns[many] = last
        many += int(step * way < 0.0)
        way = select(step > 0.0, 1.0, select(step < 0.0, -1.0, way))
        last = points[i]
    return many, last, way


@part
def close_neighbours(turns, many, size, mean, at, kept):
    """Cycles between four neighbours among turns[:many], into size and mean from `at` on; the other points into kept.

    Returns how many are kept, and the place behind the last cycle. All have room for eight more.
    """
    if many == 0:
        return 0, at
    kept[0] = turns[0]
    left, gone = 1, 0
    for i in range(1, many, WIDTH):
        b, c = load(turns, i), load(turns, i + 1)
        extent = magnitude(b - c)
        closes = mask_bits(extent < magnitude(load(turns, i - 1) - b)) & mask_bits(
            extent <= magnitude(c - load(turns, i + 2))
        )
        here = many - i  # points from i on; a cycle needs two and one behind them
        if here < WIDTH + 2:
            closes &= (1 << max(here - 2, 0)) - 1
        gone |= closes | closes << 1
        stays = ~gone
        if here < WIDTH:
            stays &= (1 << here) - 1
        gone >>= WIDTH
        for j in range(WIDTH):
            kept[left] = turns[i + j]
            left += stays >> j & 1
        end = at + bits_set(closes)
        for _ in range(WIDTH // 2):  # cycles share no point: no more than four
            j = i + lowest_bit(closes | _BEYOND)
            closes &= closes - 1
            size[at] = abs(turns[j] - turns[j + 1])
            mean[at] = 0.5 * (turns[j] + turns[j + 1])
            at += 1
        at = end
    return left, at


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
def drain(points, at, end, over, last, way, turns, kept, stack, base, room, depth, size, mean):
    """Candidates points[at:end] of a history onto its stack from `base` on, the cycles that they close into size and
    mean from 0 on [N].

    over: the history ends with them; last, way: as in `turning`; depth: points on the stack, 0: here it begins;
    turns, kept: room for as many and ten more. Returns how many cycles, and last, way and depth as they are then; a
    depth of −1 where there is no room on the stack.
    """
    many = 0
    if depth == 0:
        last, many = points[at], 1
        turns[0] = last
    many, last, way = turning(points, at + many, end, last, way, turns, many)
    if over and way != 0.0:
        turns[many] = last
        many += 1
    found = 0
    for _ in range(PASSES):
        left, found = close_neighbours(turns, many, size, mean, found, kept)
        many, found = close_neighbours(kept, left, size, mean, found, turns)
    if depth + many > room:
        return found, last, way, -1
    for i in range(many):
        depth, found = push(turns[i], stack, base, depth, size, mean, found)
    return found, last, way, depth


@kernel
def count(padded, size, stack, closed, numbers, sizes):
    """Count one history, `size` values that stand in `padded` with eight more on either side.

    closed (RANGES × MEANS), numbers and sizes (RANGES) grow, flat; stack: room for all values. Returns the points left
    on it.
    """
    room = size + 3 * WIDTH
    points, turns, kept = np.zeros(room), np.zeros(room), np.zeros(room)
    extents, means = np.zeros(room), np.zeros(room)
    end = candidates(padded, WIDTH, size, points, 0)
    found, _, _, depth = drain(
        points, 0, end, True, 0.0, 0.0, turns, kept, stack, 0, stack.size, 0, extents, means
    )  # fmt: skip
    put_away(found, extents, means, 0, closed, 0, numbers, sizes, 0)
    return depth
