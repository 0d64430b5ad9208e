"""Stones in and on the ground: where they lie, and the profile of their upper surface."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.synthesis import STONES, stream
from scenarios.spec import Stones
from sim.track import NO_STONE

HEIGHT_SHARE = 0.3  # height of a stone over its length


class Stone(NamedTuple):
    """One stone: distance of its middle [m], length [m], height of its top over the ground there [m]."""

    at: float
    length: float
    top: float


def strewn(stones: Stones, start: float, end: float, seed: int) -> list[Stone]:
    """Random stones that lie wholly after `start` and begin before `end`, in order of distance.

    A Poisson process: gaps between middles are exponential with mean 100 m/rate, lengths and tops spread evenly.
    Drawn in order of distance: a longer track only adds to a shorter one.
    """
    if stones.rate_per_100m == 0.0:
        return []
    rng = stream(seed, STONES)
    mean_gap = 100.0 / stones.rate_per_100m
    found: list[Stone] = []
    at = start
    while at < end:
        for gap, length, top in rng.random((256, 3)):
            at -= mean_gap * np.log1p(-gap)
            stone = Stone(float(at), _between(stones.length, length), _between(stones.top, top))
            if stone.at - 0.5 * stone.length >= start and stone.at - 0.5 * stone.length < end:
                found.append(stone)
    return found


def _between(bounds: tuple[float, float], share: float) -> float:
    return float(bounds[0] + (bounds[1] - bounds[0]) * share)


def lay_stones(stones: Stones, start: float, end: float, seed: int) -> list[Stone]:
    """Random and placed stones of a stretch in order of distance; their places in the list are their numbers."""
    placed = [Stone(s.at, s.length, s.top) for s in stones.placed if start <= s.at - 0.5 * s.length < end]
    return sorted(strewn(stones, start, end, seed) + placed)


def stone_profile(
    stones: list[Stone], x: NDArray[np.float64], ground: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Upper surface of the stones on the grid x and the number of the stone it belongs to, shapes of x.

    A stone is the upper half of an ellipse, height 0.3 × length, its top `top` over the ground at its middle. Where
    two overlap the higher one counts. Where there is none the height is NO_STONE (lower still on ground that falls
    below that, so that it never shows above the ground) and the number −1.
    """
    top = np.full(x.size, min(NO_STONE, float(ground.min()) - 1.0))
    number = np.full(x.size, -1, dtype=np.int32)
    for i, stone in enumerate(stones):
        first = int(np.searchsorted(x, stone.at - 0.5 * stone.length))
        last = int(np.searchsorted(x, stone.at + 0.5 * stone.length, side="right"))
        u = (x[first:last] - stone.at) / (0.5 * stone.length)
        peak = float(np.interp(stone.at, x, ground)) + stone.top
        height = peak - HEIGHT_SHARE * stone.length * (1.0 - np.sqrt(np.maximum(1.0 - u * u, 0.0)))
        higher = height > top[first:last]
        top[first:last][higher] = height[higher]
        number[first:last][higher] = i
    return top, number
