"""Ground as wheels and disc feel it: rolling envelopes, the stones' hard profile, and means over a contact's length."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel, routine
from sim.arithmetic.simd import WIDTH, as_lanes, lane, largest, load, magnitude, store
from sim.laws.contact import COLUMN

OUT_OF_REACH = 1.0  # what is this far below the lowest ground no disc comes to [m]
STEEPEST = 10.0  # beside stones the hard profile falls at this slope


_BLOCK = 32  # samples that are laid at once, and share one reach in `_dilate`


class Circle(NamedTuple):
    """The lower half of a rolling circle, as `_dilate` takes it."""

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
def _steepen(room, steepest):
    """The greatest step from sample to sample within each block of `room`."""
    for b in range(steepest.size):
        start = b * _BLOCK
        most = as_lanes(0.0)
        for i in range(start, start + _BLOCK, WIDTH):
            most = largest(most, magnitude(load(room, i + 1) - load(room, i)))
        steepest[b] = 0.0
        for j in range(WIDTH):
            steepest[b] = max(steepest[b], lane(most, j))


@routine
def _dilate(room, pad, n, circle, steepest, out):
    """out[pad + i] = max_k(heights[i + k] + cap[k]) of n heights (`_level_ends`) with their steps (`_steepen`).

    Only offsets that can carry the circle are tried: with |h(x + u) − h(x)| ≤ S|u| nearby, the contact lies within
    |u| ≤ 2RS, because the circle falls away by at least u²/2R. S is taken from the samples within reach of a block,
    so the result is that of the full search. Whole blocks are put; pad is no less than the reach.
    """
    cap, lift = circle.cap, circle.lift
    reach = (cap.size - 1) // 2
    for start in range(pad, pad + n, _BLOCK):
        rise = 0.0
        for b in range((start - reach) // _BLOCK, (start + _BLOCK + reach) // _BLOCK + 1):
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


def _circle(radius: float, dx: float) -> Circle:
    return Circle(_cap(radius, dx), 2.0 * radius / dx**2)


@lru_cache(maxsize=64)
def _cap(radius: float, dx: float) -> NDArray[np.float64]:
    """Heights of a circle's lower half over its lowest point, downwards, at whole offsets within its radius [m]."""
    reach = math.floor(radius / dx)
    u = dx * np.arange(-reach, reach + 1)
    return np.sqrt(np.maximum(radius**2 - u**2, 0.0)) - radius


@kernel
def _envelope(heights, circle, out):
    n, pad = heights.size, circle.cap.size
    room = np.empty(n + 2 * (pad + _BLOCK))
    room[pad : pad + n] = heights
    _level_ends(room, pad, n)
    steepest, found = np.empty((room.size - 1) // _BLOCK), np.empty(room.size)
    _steepen(room, steepest)
    _dilate(room, pad, n, circle, steepest, found)
    out[:] = found[pad : pad + n]


def envelope(heights: NDArray[np.float64], dx: float, radius: float) -> NDArray[np.float64]:
    """Height of a rolling circle's lowest point when it touches the profile: (n,) → (n,) [m].

    h_R(x) = max over |u| ≤ R of h(x + u) + √(R² − u²), less R; the profile goes on level beyond its ends.
    """
    out = np.empty(heights.size)
    _envelope(np.ascontiguousarray(heights, dtype=np.float64), _circle(radius, dx), out)
    return out


@kernel
def _carrier(padded, cap, labels, env, floor, out):
    """Label of the sample that carries the circle where env lies above the floor, else −1; env touches between samples.

    What the parabola through the carrying sample and its neighbours adds to env is limited at a corner of the profile:
    to an eighth of the second difference on the higher side. Without it the slope of env ripples by a sample's share
    of the curvature, and a blow with it by 1 to 2 %.
    """
    reach = (cap.size - 1) // 2
    n = out.size
    for i in range(n):
        out[i] = -1
        if env[i] <= floor[i]:
            continue
        best = -1e300
        at = 0
        for k in range(cap.size):
            value = padded[i + k] + cap[k]
            if value > best:
                best = value
                at = k
        out[i] = labels[min(max(i + at - reach, 0), n - 1)]
        if at < 2 or at > cap.size - 3:
            continue
        left, right = padded[i + at - 1] + cap[at - 1], padded[i + at + 1] + cap[at + 1]
        side = 1 if right >= left else -1
        bend = 2.0 * best - left - right
        next_bend = 2.0 * max(left, right) - best - padded[i + at + 2 * side] - cap[at + 2 * side]
        if bend > 0.0 and next_bend > 0.0:
            env[i] = best + 0.125 * min((right - left) * (right - left) / bend, next_bend)


def hard_profile(
    ground: NDArray[np.float64],
    stone_top: NDArray[np.float64],
    stone_id: NDArray[np.int32],
    dx: float,
    radius: float,
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Envelope of the stones for a disc [m] and the stone that carries it (−1: none); shapes (n,).

    Where a stone lies nowhere within the disc's radius there is nothing to touch: the profile lies out of reach of any
    disc whatever the ground does. It falls there from the envelope's end, which is a disc's radius below the stone's
    (the hub then stands no higher than that), at a steep but even slope: so nothing jumps, the smooth reading between
    samples does not overshoot, and height and slope still belong together, as the energy asks for.
    """
    stones = stone_id >= 0
    lowest = float(min(ground.min(), stone_top[stones].min(initial=np.inf))) - radius - OUT_OF_REACH
    nothing, none = np.full(ground.size, lowest), np.full(ground.size, -1, dtype=np.int32)
    if not stones.any():
        return nothing, none
    tops = np.where(stones, stone_top, lowest)
    env = envelope(tops, dx, radius)
    cap = _cap(radius, dx)
    reach = (cap.size - 1) // 2
    which = np.empty(ground.size, dtype=np.int32)
    _carrier(np.pad(tops, reach, mode="edge"), cap, stone_id, env, nothing, which)
    beside = env <= nothing
    rise = STEEPEST * dx * np.arange(ground.size)
    ends = np.where(beside, -np.inf, env)
    falling = np.maximum.accumulate(ends + rise) - rise
    rising = np.maximum.accumulate((ends - rise)[::-1])[::-1] + rise
    return np.where(beside, np.maximum(np.maximum(falling, rising), nothing), env), which


def averaged(heights: NDArray[np.float64], dx: float, first: float, last: float) -> NDArray[np.float64]:
    """Mean over [x + first, x + last] of a profile that runs straight between samples: (n,) → (n,), first < last [m].

    A constant profile is given back to the letter: only differences are weighed. Beyond its ends it goes on level.
    """
    out = np.empty(heights.size)
    _averaged(np.ascontiguousarray(heights, dtype=np.float64), _span(dx, first, last), out)
    return out


@kernel
def _averaged(heights, span, out):
    n, pad = heights.size, span.weights.size
    room = np.empty(n + 2 * (pad + _BLOCK))
    room[pad : pad + n] = heights
    _level_ends(room, pad, n)
    _average(room, pad, n, span, np.empty(room.size), out)


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


@routine
def _average(room, pad, n, span, steps, out):
    """out[i] = heights[i] + Σ weights[k]·(step from sample to sample) of n heights (`_level_ends`).

    The sums are taken first. `steps`: room for all steps, whole blocks of them; pad is no less than the weights.
    """
    behind, weights = span
    first = pad - behind
    for i in range(0, n + weights.size + _BLOCK - WIDTH, WIDTH):
        store(steps, i, load(room, first + i + 1) - load(room, first + i))
    scratch = np.empty(_BLOCK)
    for i in range(0, n, _BLOCK):
        a, b, c, d = load(steps, i), load(steps, i + 8), load(steps, i + 16), load(steps, i + 24)
        weight = weights[0]
        a, b, c, d = weight * a, weight * b, weight * c, weight * d
        for k in range(1, weights.size):
            weight = weights[k]
            a, b = a + weight * load(steps, i + k), b + weight * load(steps, i + k + 8)
            c, d = c + weight * load(steps, i + k + 16), d + weight * load(steps, i + k + 24)
        j = pad + i
        a, b, c, d = load(room, j) + a, load(room, j + 8) + b, load(room, j + 16) + c, load(room, j + 24) + d
        if i + _BLOCK <= n:
            store(out, i, a)
            store(out, i + 8, b)
            store(out, i + 16, c)
            store(out, i + 24, d)
        else:
            store(scratch, 0, a)
            store(scratch, 8, b)
            store(scratch, 16, c)
            store(scratch, 24, d)
            for j in range(i, n):
                out[j] = scratch[j - i]


def _under_hat(t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Area of a hat of height and half width 1 about 0, up to t."""
    left, right = np.clip(t + 1.0, 0.0, 1.0), np.clip(t, 0.0, 1.0)
    return 0.5 * left**2 + right - 0.5 * right**2


@kernel
def _lay(ground, stone_top, strength, gauge, press, ahead, under, tables):
    """All columns of ground tables (rows, COLUMNS, n) but the hard one, from samples (rows, n) each."""
    rows, n = ground.shape
    pad = max(gauge.cap.size, press.cap.size, ahead.weights.size, under.weights.size)
    size = n + 2 * (pad + _BLOCK)
    room, found, steps, steepest = np.empty(size), np.empty(size), np.empty(size), np.empty((size - 1) // _BLOCK)
    for j in range(rows):
        table = tables[j]
        for i in range(n):
            room[pad + i] = table[COLUMN.surface, i] = max(ground[j, i], stone_top[j, i])
        _level_ends(room, pad, n)
        _steepen(room, steepest)
        _average(room, pad, n, ahead, steps, table[COLUMN.ahead])
        _dilate(room, pad, n, gauge, steepest, found)
        _level_ends(found, pad, n)
        _average(found, pad, n, under, steps, table[COLUMN.gauge])
        _dilate(room, pad, n, press, steepest, found)
        _level_ends(found, pad, n)
        _average(found, pad, n, under, steps, table[COLUMN.press])
        for i in range(n):
            room[pad + i] = table[COLUMN.strength, i] = strength[j, i]
        _level_ends(room, pad, n)
        _average(room, pad, n, under, steps, table[COLUMN.wheel_strength])


def lay_columns(
    ground: NDArray[np.float64], stone_top: NDArray[np.float64], strength: NDArray[np.float64], dx: float,
    radii: tuple[float, float], arc: tuple[float, float], contact: tuple[float, float], tables: NDArray[np.float64],
) -> None:  # fmt: skip
    """Put all columns but the hard one into ground tables (rows, COLUMNS, n), C-contiguous.

    ground, stone_top [m], strength [Pa]: samples dx apart, (rows, n) each; radii of gauge and press wheel [m]; arc: of
    the disc that leads, and contact: of a wheel, both from … to ahead of a place [m].
    """
    _lay(
        *(np.ascontiguousarray(values, dtype=np.float64) for values in (ground, stone_top, strength)),
        *(_circle(radius, dx) for radius in radii), _span(dx, *arc), _span(dx, *contact), tables,
    )  # fmt: skip
