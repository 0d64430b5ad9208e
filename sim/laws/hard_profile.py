"""Stones as a disc feels them: a profile that can be touched where there are any, and out of reach elsewhere."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel, routine
from sim.arithmetic.simd import WIDTH, as_lanes, load, lowest_bit, mask_bits
from sim.laws.envelope import BLOCK, circle_of, dilate

OUT_OF_REACH = 1.0  # what is this far below the lowest ground no disc comes to [m]
STEEPEST = 10.0  # beside stones the hard profile falls at this slope


@routine
def _first_at(room, first, cap, height):
    """The first k of room[first + k] + cap[k] that comes up to a height, which one of them has."""
    wanted, whole = as_lanes(height), cap.size // WIDTH * WIDTH
    for k in range(0, whole, WIDTH):
        bits = mask_bits(load(room, first + k) + load(cap, k) >= wanted)
        if bits != 0:
            return k + lowest_bit(bits)
    for k in range(whole, cap.size):
        if room[first + k] + cap[k] >= height:
            return k
    return 0


@routine
def _carry(room, pad, circle, labels, env, lowest, which):
    """Label of the sample that carries the circle where env is above the lowest, else −1; env touches between samples.

    `room` and `env` hold the heights and their envelope from `pad` on. What the parabola through the carrying sample
    and its neighbours adds to env is limited at a corner of the profile: to an eighth of the second difference on the
    higher side. Without it the slope of env ripples by a sample's share of the curvature, and a blow with it by 1 to
    2 %.
    """
    cap = circle.cap
    reach = (cap.size - 1) // 2
    n = which.size
    for i in range(n):
        which[i] = -1
        if env[pad + i] <= lowest:
            continue
        first, best = pad + i - reach, env[pad + i]
        at = _first_at(room, first, cap, best)
        which[i] = labels[min(max(i + at - reach, 0), n - 1)]
        if at < 2 or at > cap.size - 3:
            continue
        left, right = room[first + at - 1] + cap[at - 1], room[first + at + 1] + cap[at + 1]
        side = 1 if right >= left else -1
        bend = 2.0 * best - left - right
        next_bend = 2.0 * max(left, right) - best - room[first + at + 2 * side] - cap[at + 2 * side]
        if bend > 0.0 and next_bend > 0.0:
            env[pad + i] = best + 0.125 * min((right - left) * (right - left) / bend, next_bend)


@kernel
def _hard(stone_top, stone_id, lowest, circle, rise, hard, which):
    """`hard_profile` over stones; rise: of what lies beside them, from sample to sample."""
    n, pad = stone_top.size, circle.cap.size
    room = np.empty(n + 2 * (pad + BLOCK))
    env = np.empty(room.size)
    for i in range(n):
        room[pad + i] = stone_top[i] if stone_id[i] >= 0 else lowest
    dilate(room, pad, n, circle, env)
    _carry(room, pad, circle, stone_id, env, lowest, which)
    highest = -np.inf
    for i in range(n):  # falling behind stones
        if env[pad + i] > lowest:
            hard[i] = env[pad + i]
            highest = max(highest, hard[i] + rise * i)
        else:
            hard[i] = max(highest - rise * i, lowest)
    highest = -np.inf
    for i in range(n - 1, -1, -1):  # rising towards them
        if env[pad + i] > lowest:
            highest = max(highest, hard[i] - rise * i)
        else:
            hard[i] = max(hard[i], highest + rise * i)


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
    lowest = float(min(ground.min(), stone_top[stones].min(initial=np.inf))) - (radius + OUT_OF_REACH)
    hard, which = np.full(ground.size, lowest), np.full(ground.size, -1, dtype=np.int32)
    if stones.any():
        samples = (np.ascontiguousarray(values) for values in (stone_top, stone_id))
        _hard(*samples, lowest, circle_of(radius, dx), STEEPEST * dx, hard, which)
    return hard, which
