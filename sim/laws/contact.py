"""Ground as a wheel feels it: rolling envelopes, smooth reading of tables, and the hard contact law."""

from __future__ import annotations

import math
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np
from numba.extending import overload
from numpy.typing import NDArray

from sim.arithmetic.compiled import INLINE, kernel, part
from sim.arithmetic.simd import LanesType, gather_four, largest, load, smallest, store, truncate, whole
from sim.rates import Rates, of_spring

OUT_OF_REACH = 1.0  # what is this far below the lowest ground no disc comes to [m]
STEEPEST = 10.0  # beside stones the hard profile falls at this slope


_BLOCK = 32  # samples that share one reach in `_dilate`


@kernel
def _dilate(padded, cap, lift, out):
    """out[i] = max_k(padded[i + k] + cap[k]), cap symmetric; `lift` = 2R/dx² turns a rise per sample into a reach.

    Only offsets that can carry the circle are tried: with |h(x + u) − h(x)| ≤ S|u| nearby, the contact lies within
    |u| ≤ 2RS, because the circle falls away by at least u²/2R. S is taken from the samples within reach of a block,
    so the result is that of the full search. `padded` is longer than out by 2·reach plus a block of spare samples.
    """
    reach = (cap.size - 1) // 2
    n = out.size
    blocks = (padded.size - 1) // _BLOCK
    steepest = np.empty(blocks)
    for b in range(blocks):
        most = 0.0
        for i in range(b * _BLOCK, (b + 1) * _BLOCK):
            most = max(most, abs(padded[i + 1] - padded[i]))
        steepest[b] = most
    scratch = np.empty(_BLOCK)
    for start in range(0, n, _BLOCK):
        rise = 0.0
        for b in range(start // _BLOCK, min((start + _BLOCK + 2 * reach) // _BLOCK + 1, blocks)):
            rise = max(rise, steepest[b])
        need = min(int(lift * rise) + 1, reach)
        middle = start + reach
        c0 = load(padded, middle)
        c1 = load(padded, middle + 8)
        c2 = load(padded, middle + 16)
        c3 = load(padded, middle + 24)
        for k in range(1, need + 1):
            fall = cap[reach + k]
            left = middle - k
            right = middle + k
            c0 = largest(c0, largest(load(padded, left), load(padded, right)) + fall)
            c1 = largest(c1, largest(load(padded, left + 8), load(padded, right + 8)) + fall)
            c2 = largest(c2, largest(load(padded, left + 16), load(padded, right + 16)) + fall)
            c3 = largest(c3, largest(load(padded, left + 24), load(padded, right + 24)) + fall)
        if start + _BLOCK <= n:
            store(out, start, c0)
            store(out, start + 8, c1)
            store(out, start + 16, c2)
            store(out, start + 24, c3)
        else:
            store(scratch, 0, c0)
            store(scratch, 8, c1)
            store(scratch, 16, c2)
            store(scratch, 24, c3)
            for i in range(start, n):
                out[i] = scratch[i - start]


@lru_cache(maxsize=64)
def _cap(radius: float, dx: float) -> NDArray[np.float64]:
    """Heights of a circle's lower half over its lowest point, downwards, at whole offsets within its radius [m]."""
    reach = math.floor(radius / dx)
    u = dx * np.arange(-reach, reach + 1)
    return np.sqrt(np.maximum(radius**2 - u**2, 0.0)) - radius


def envelope(heights: NDArray[np.float64], dx: float, radius: float) -> NDArray[np.float64]:
    """Height of a rolling circle's lowest point when it touches the profile: (n,) → (n,) [m].

    h_R(x) = max over |u| ≤ R of h(x + u) + √(R² − u²), less R; the profile goes on level beyond its ends.
    """
    cap = _cap(radius, dx)
    reach = (cap.size - 1) // 2
    out = np.empty(heights.size)
    spare = 2 * _BLOCK
    padded = np.concatenate(
        [np.full(reach, heights[0]), heights, np.full(reach + spare, heights[-1])], dtype=np.float64
    )
    _dilate(padded, cap, 2.0 * radius / dx**2, out)
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
    behind, weights = _step_weights(dx, first, last)
    n, whole_blocks = heights.size, -(-heights.size // _BLOCK) * _BLOCK
    steps = np.zeros(whole_blocks + weights.size)
    np.subtract(heights[1:], heights[:-1], out=steps[behind : behind + n - 1])
    out = np.zeros(whole_blocks)
    out[:n] = heights
    _add_weighed(steps, weights, out)
    return out[:n]


@lru_cache(maxsize=64)
def _step_weights(dx: float, first: float, last: float) -> tuple[int, NDArray[np.float64]]:
    """How many of the weights belong to steps behind a sample, and the weights of the steps from sample to sample."""
    low, high = math.floor(first / dx - 1e-9), math.ceil(last / dx + 1e-9)
    nodes = np.arange(low, high + 1, dtype=np.float64)
    weights = (_under_hat(last / dx - nodes) - _under_hat(first / dx - nodes)) * (dx / (last - first))
    # h̄ − h = Σ w_j (h_{i+j} − h_i), written with the steps from sample to sample
    ahead = [weights[nodes > k].sum() for k in range(high)]
    behind = [-weights[nodes <= k].sum() for k in range(low, 0)]
    return len(behind), np.array([*behind, *ahead], dtype=np.float64)


@kernel
def _add_weighed(steps, weights, out):
    """out[i] += Σ weights[k]·steps[i + k], a whole number of blocks of them; the sums are taken first."""
    for i in range(0, out.size, _BLOCK):
        a, b, c, d = load(steps, i), load(steps, i + 8), load(steps, i + 16), load(steps, i + 24)
        first = weights[0]
        a, b, c, d = first * a, first * b, first * c, first * d
        for k in range(1, weights.size):
            weight = weights[k]
            a, b = a + weight * load(steps, i + k), b + weight * load(steps, i + k + 8)
            c, d = c + weight * load(steps, i + k + 16), d + weight * load(steps, i + k + 24)
        store(out, i, load(out, i) + a)
        store(out, i + 8, load(out, i + 8) + b)
        store(out, i + 16, load(out, i + 16) + c)
        store(out, i + 24, load(out, i + 24) + d)


def _under_hat(t: NDArray[np.float64]) -> NDArray[np.float64]:
    """Area of a hat of height and half width 1 about 0, up to t."""
    left, right = np.clip(t + 1.0, 0.0, 1.0), np.clip(t, 0.0, 1.0)
    return 0.5 * left**2 + right - 0.5 * right**2


@part
def hermite(a, b, c, d, f, inverse_dx):
    """Cubic Hermite with central-difference slopes between b and c at the share f: value, slope."""
    c1 = 0.5 * (c - a)
    c2 = a - 2.5 * b + 2.0 * c - 0.5 * d
    c3 = 0.5 * (d - a) + 1.5 * (b - c)
    value = b + f * (c1 + f * (c2 + f * c3))
    slope = (c1 + f * (2.0 * c2 + f * 3.0 * c3)) * inverse_dx
    return value, slope


class GroundColumns(NamedTuple):
    """Columns of a ground table: the ground as the unit's wheels and disc feel it."""

    surface: Any  # soil in union with stones [m]
    ahead: Any  # that averaged over the disc's leading arc [m]
    hard: Any  # envelope of the stones for the disc, out of reach where there are none [m]
    gauge: Any  # envelope of the surface for the gauge wheel, averaged over its contact's length [m]
    press: Any  # the same for the press wheel [m]
    strength: Any  # of the soil [Pa]
    wheel_strength: Any  # that averaged over the length of a wheel's contact [Pa]


COLUMNS = len(GroundColumns._fields)
COLUMN: Any = GroundColumns(*range(COLUMNS))
"""Place of each column in a table (COLUMNS, n), by name: a column's samples lie side by side, as they are read."""


class Tracks(NamedTuple):
    """Ground tables of several tracks, for eight rows."""

    tables: NDArray[np.float64]  # (tracks, COLUMNS, n), given flat
    samples: int  # n
    start: Any  # Lanes: where each row's track begins in `tables`


def read_table(table, column, x0, inverse_dx, x):
    """Value and slope of a column of a ground table at x [m]: cubic Hermite, central-difference slopes.

    One row: table (k, n), x a float. Eight rows: table a `Tracks`, x Lanes. Value and slope come from one
    interpolant, or energy would leak. Beyond the ends the end's value is used. This body serves code that is not
    compiled.
    """
    n = table.shape[1]
    u = min(max((x - x0) * inverse_dx, 1.0), n - 3.0)
    i = min(int(u), n - 4)
    a, b, c, d = table[column, i - 1 : i + 3]
    return hermite(a, b, c, d, u - i, inverse_dx)


def _read_one(table, column, x0, inverse_dx, x):
    n = table.shape[1]
    u = smallest(largest((x - x0) * inverse_dx, 1.0), n - 3.0)
    i = min(max(int(u), 1), n - 4)
    return hermite(
        table[column, i - 1], table[column, i], table[column, i + 1], table[column, i + 2], u - i, inverse_dx
    )


@part
def read_samples(values, start, first, n, u, inverse_dx):
    """Eight readings at once, as `read_table`: at u samples (Lanes) from the beginning of n that lie side by side in
    `values`, given flat, from start (of each row) + first on.
    """
    u = smallest(largest(u, 1.0), n - 3.0)
    i = smallest(truncate(u), n - 4.0)
    a, b, c, d = gather_four(values, whole(i + start), first - 1)
    return hermite(a, b, c, d, u - i, inverse_dx)


def _read_lanes(table, column, x0, inverse_dx, x):
    n = table.samples
    return read_samples(table.tables, table.start, column * n, n, (x - x0) * inverse_dx, inverse_dx)


@overload(read_table, jit_options=INLINE)
def _read_table(table, column, x0, inverse_dx, x):
    return _read_lanes if isinstance(x, LanesType) else _read_one


@kernel
def table_at(table, column, x0, inverse_dx, x):
    """`read_table` of one row for callers in Python: kept on disk, where its parts would be compiled anew each time."""
    return read_table(table, column, x0, inverse_dx, x)


@part
def impact_force(penetration, rate, stiffness, damping):
    """Hunt–Crossley force k·x·(1 + d·ẋ) ≥ 0 [N] of a linear contact (J. Appl. Mech. 42, 1975, exponent 1)."""
    return largest(stiffness * largest(penetration, 0.0) * (1.0 + damping * rate), 0.0)


def impact_rates(stiffness: float, damping: float, rate: float, mass: float, deepest: float = math.inf) -> Rates:
    """Rates of a mass that meets such a contact at a rate: about the penetration ẋ√(m/k) it comes to, or `deepest`,
    and of a slow contact, undamped."""
    penetration = min(rate * math.sqrt(mass / stiffness), deepest)
    damped = of_spring(stiffness, stiffness * damping * penetration, mass)
    return Rates(np.append(of_spring(stiffness, 0.0, mass), damped))


def blow_rate(stiffness: float, damping: float, rate: float, mass: float) -> float:
    """Rate of a blow [1/s] of a mass that meets such a contact at a rate ẋ: √(k(1 + d·ẋ)/m).

    Its force rises to its peak in about one over that, by a sine where d = 0, more steeply where damping meets it.
    """
    return math.sqrt(stiffness * (1.0 + damping * rate) / mass)


def blow_peak(stiffness: float, damping: float, rate: float, mass: float) -> float:
    """Peak force [N] of that blow: ẋ√(k m) undamped, 0.56 √(1 + d·ẋ) times it damped (to 8 %, by integrating)."""
    return rate * math.sqrt(stiffness * mass) * max(1.0, 0.56 * math.sqrt(1.0 + damping * rate))
