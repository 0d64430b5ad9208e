"""Points of a unit cube at which a function is asked for: a first point, and others with some coordinates changed.

One block for each first point A: A itself, a second point B, and A with the coordinates of B in single columns or in
groups of columns (Saltelli et al. 2010, memory). For screening (Morris 1991, radial as Campolongo et al. 2011, memory)
B is not asked for, and each coordinate goes on by a step that is no simple share of its range, round from 1 to 0: a
function that repeats itself is not met at the same height again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]
Columns = tuple[int, ...]
STEP = 0.382  # share of a range that a screened value goes on by: the golden section
EDGE = 1e-6  # coordinates keep so far from 0 and 1: a normal value there is 4.75 standard deviations out


@dataclass(frozen=True)
class Block:
    """The points of one first point, (points, k): A, B (where it is asked for), then one for each of the changes."""

    points: Values
    second: bool  # whether B is among them


def share_blocks(k: int, n: int, changes: Sequence[Columns], seed: int) -> list[Block]:
    """n blocks for shares of variance over k columns; the first n of 2n are the same points.

    Scrambled Sobol' points, A and B from one sequence of 2k dimensions (scipy.stats.qmc).
    """
    drawn = _sobol(2 * k, n, seed)
    blocks = []
    for row in drawn:
        a, b = row[:k], row[k:]
        points = np.tile(a, (2 + len(changes), 1))
        points[1] = b
        for place, columns in enumerate(changes):
            points[2 + place, list(columns)] = b[list(columns)]
        blocks.append(Block(points, second=True))
    return blocks


def screen_blocks(k: int, n: int, seed: int) -> list[Block]:
    """n blocks for screening k columns one by one: each goes STEP up, or 1 − STEP down."""
    blocks = []
    for a in _sobol(k, n, seed):
        points = np.tile(a, (1 + k, 1))
        points[1 + np.arange(k), np.arange(k)] = np.where(a + STEP < 1.0, a + STEP, a + STEP - 1.0)
        blocks.append(Block(points, second=False))
    return blocks


def _sobol(dimensions: int, n: int, seed: int) -> Values:
    """n points of a scrambled Sobol' sequence, (n, dimensions), a little off the cube's faces."""
    from scipy.stats import qmc  # noqa: PLC0415 (scipy.stats: a third of a second)

    whole = 1 << max(n - 1, 0).bit_length()  # the sequence is even in powers of two: no warning, the first n are used
    points = qmc.Sobol(dimensions, scramble=True, bits=64, rng=np.random.default_rng([seed, RANK])).random(whole)[:n]
    return np.asarray(EDGE + (1.0 - 2.0 * EDGE) * points)


RANK = 9  # purpose of these random numbers, beside those of `scenarios.ground.synthesis`
