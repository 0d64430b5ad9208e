"""Rolling envelopes, and means over the length of a contact: how a wheel or a disc smooths what it rolls over.

A kernel works in a room of its own: heights stand in it from `pad` on and go on level beyond both ends, so that eight
can be read at once without asking where the end is.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel, routine
from sim.arithmetic.simd import WIDTH, as_lanes, lane, largest, load, magnitude, store

BLOCK = 32  # samples that are laid at once, and share one reach in `dilate`


class Circle(NamedTuple):
    """The lower half of a rolling circle, as `dilate` takes it."""

    cap: NDArray[np.float64]  # height over its lowest point, downwards, at whole offsets within its radius [m]
    lift: float  # 2R/dx² [1/m]: turns a rise per sample into a reach in samples


class Span(NamedTuple):
    """A length that is averaged over, as `_average` takes it."""

    behind: int  # how many of the weights belong to steps behind a sample
    weights: NDArray[np.float64]  # of the steps from sample to sample


@routine
def _level_ends(room, pad, n):
    """Let n heights that stand in `room` from `pad` on go on level beyond both ends."""
    for i in range(pad):
        room[i] = room[pad]
    for i in range(pad + n, room.size):
        room[i] = room[pad + n - 1]


@routine
def dilate(room, pad, n, circle, out):
    """out[pad + i] = max_k(heights[i + k] + cap[k]) of n heights that stand in `room` from `pad` on.

    Only offsets that can carry the circle are tried: with |h(x + u) − h(x)| ≤ S|u| nearby, the contact lies within
    |u| ≤ 2RS, because the circle falls away by at least u²/2R. S is taken from the samples within reach of a block,
    so the result is that of the full search. Whole blocks are put; pad is no less than the reach.
    """
    _level_ends(room, pad, n)
    steepest = np.empty((room.size - 1) // BLOCK)  # step from sample to sample within each block
    for b in range(steepest.size):
        most = as_lanes(0.0)
        for i in range(b * BLOCK, (b + 1) * BLOCK, WIDTH):
            most = largest(most, magnitude(load(room, i + 1) - load(room, i)))
        steepest[b] = 0.0
        for j in range(WIDTH):
            steepest[b] = max(steepest[b], lane(most, j))
    cap, lift = circle.cap, circle.lift
    reach = (cap.size - 1) // 2
    for start in range(pad, pad + n, BLOCK):
        rise = 0.0
        for b in range((start - reach) // BLOCK, (start + BLOCK + reach) // BLOCK + 1):
            rise = max(rise, steepest[b])
        need = min(int(lift * rise) + 1, reach)
        c0 = load(room, start)
        c1 = load(room, start + 8)
        c2 = load(room, start + 16)
        c3 = load(room, start + 24)
        for k in range(1, need + 1):
            fall = cap[reach + k]
            left = start - k
            right = start + k
            c0 = largest(c0, largest(load(room, left), load(room, right)) + fall)
            c1 = largest(c1, largest(load(room, left + 8), load(room, right + 8)) + fall)
            c2 = largest(c2, largest(load(room, left + 16), load(room, right + 16)) + fall)
            c3 = largest(c3, largest(load(room, left + 24), load(room, right + 24)) + fall)
        store(out, start, c0)
        store(out, start + 8, c1)
        store(out, start + 16, c2)
        store(out, start + 24, c3)


def circle_of(radius: float, dx: float) -> Circle:
    """A circle of this radius [m] over samples dx apart [m]."""
    return Circle(_cap(radius, dx), 2.0 * radius / dx**2)


@lru_cache(maxsize=64)
def _cap(radius: float, dx: float) -> NDArray[np.float64]:
    """Heights of a circle's lower half over its lowest point, downwards, at whole offsets within its radius [m]."""
    reach = math.floor(radius / dx)
    u = dx * np.arange(-reach, reach + 1)
    return np.sqrt(np.maximum(radius**2 - u**2, 0.0)) - radius


@kernel
def _envelope(heights, circle, every, out):
    lines, n = heights.shape
    pad = circle.cap.size
    room = np.empty(n + 2 * (pad + BLOCK))
    found = np.empty(room.size)
    for j in range(lines):
        for i in range(n):
            room[pad + i] = heights[j, i]
        dilate(room, pad, n, circle, found)
        for i in range(out.shape[1]):
            out[j, i] = found[pad + i * every]


def envelope(heights: NDArray[np.float64], dx: float, radius: float, every: int = 1) -> NDArray[np.float64]:
    """Height of a rolling circle's lowest point when it touches the profile: (n,) → (n,), or (lines, n) alike [m].

    h_R(x) = max over |u| ≤ R of h(x + u) + √(R² − u²), less R; the profile goes on level beyond its ends. every: of
    so many points one is given, the first of all among them.
    """
    lines = np.ascontiguousarray(np.atleast_2d(heights), dtype=np.float64)
    out = np.empty((len(lines), -(-lines.shape[1] // every)))
    _envelope(lines, circle_of(radius, dx), every, out)
    return out.reshape(*heights.shape[:-1], -1)


def averaged(heights: NDArray[np.float64], dx: float, first: float, last: float) -> NDArray[np.float64]:
    """Mean over [x + first, x + last] of a profile that runs straight between samples: (n,) → (n,), first < last [m].

    A constant profile is given back to the letter: only differences are weighed. Beyond its ends it goes on level.
    """
    out = np.empty((1, 1, heights.size))
    put_means(heights[None], dx, (first, last), out, 0)
    return out[0, 0]


def put_means(
    lines: NDArray[np.float64], dx: float, over: tuple[float, float], tables: NDArray[np.float64], column: int
) -> None:
    """The same of lines (lines, n), put into a column of tables (lines, columns, n), C-contiguous; over: from … to."""
    _average(np.ascontiguousarray(lines, dtype=np.float64), _span(dx, *over), tables, column)


@lru_cache(maxsize=64)
def _span(dx: float, first: float, last: float) -> Span:
    """What averages over [x + first, x + last] [m]."""
    low, high = math.floor(first / dx - 1e-9), math.ceil(last / dx + 1e-9)
    nodes = np.arange(low, high + 1, dtype=np.float64)
    weights = (_under_hat(last / dx - nodes) - _under_hat(first / dx - nodes)) * (dx / (last - first))
    # h̄ − h = Σ w_j (h_{i+j} − h_i), written with the steps from sample to sample
    ahead = [weights[nodes > k].sum() for k in range(high)]
    behind = [-weights[nodes <= k].sum() for k in range(low, 0)]
    return Span(len(behind), np.array([*behind, *ahead], dtype=np.float64))


@kernel
def _average(lines, span, tables, column):
    """tables[j, column, i] = lines[j, i] + Σ weights[k]·(step from sample to sample); the sums are taken first."""
    behind, weights = span
    n, pad = lines.shape[1], weights.size
    room, scratch = np.empty(n + 2 * (pad + BLOCK)), np.empty(BLOCK)
    steps = np.empty(room.size)
    first = pad - behind
    for j in range(lines.shape[0]):
        out = tables[j, column]
        for i in range(n):
            room[pad + i] = lines[j, i]
        _level_ends(room, pad, n)
        for i in range(0, n + weights.size + BLOCK - WIDTH, WIDTH):
            store(steps, i, load(room, first + i + 1) - load(room, first + i))
        for i in range(0, n, BLOCK):
            a, b, c, d = load(steps, i), load(steps, i + 8), load(steps, i + 16), load(steps, i + 24)
            weight = weights[0]
            a, b, c, d = weight * a, weight * b, weight * c, weight * d
            for k in range(1, weights.size):
                weight = weights[k]
                a, b = a + weight * load(steps, i + k), b + weight * load(steps, i + k + 8)
                c, d = c + weight * load(steps, i + k + 16), d + weight * load(steps, i + k + 24)
            at = pad + i
            a, b, c, d = load(room, at) + a, load(room, at + 8) + b, load(room, at + 16) + c, load(room, at + 24) + d
            if i + BLOCK <= n:
                store(out, i, a)
                store(out, i + 8, b)
                store(out, i + 16, c)
                store(out, i + 24, d)
            else:
                store(scratch, 0, a)
                store(scratch, 8, b)
                store(scratch, 16, c)
                store(scratch, 24, d)
                for k in range(i, n):
                    out[k] = scratch[k - i]


def _under_hat(t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Area of a hat of height and half width 1 about 0, up to t."""
    left, right = np.clip(t + 1.0, 0.0, 1.0), np.clip(t, 0.0, 1.0)
    return 0.5 * left**2 + right - 0.5 * right**2
