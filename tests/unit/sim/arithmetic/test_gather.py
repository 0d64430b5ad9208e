"""Numbers gathered for eight rows: each row's own place, and the numbers that follow it."""

from __future__ import annotations

import numpy as np
from every import every
from numba import njit

from sim.arithmetic.gather import gather, gather_four
from sim.arithmetic.simd import load_index, store
from sim.arithmetic.simd_types import WIDTH


@njit
def gathered(array, at, offset, one, four):
    places = load_index(at, 0)
    store(one, 0, gather(array, places, offset))
    a, b, c, d = gather_four(array, places, offset)
    store(four, 0, a)
    store(four, WIDTH, b)
    store(four, 2 * WIDTH, c)
    store(four, 3 * WIDTH, d)


@every("offset", [-1, 0, 3])
def test_every_row_has_the_numbers_at_its_own_place(offset):
    """Places in no order, some of them twice, up to the array's ends."""
    array = np.random.default_rng(4).normal(size=40)
    at = np.array([7, 36 - offset, -offset, 12, 12, 30, 5, 21])
    one, four = np.empty(WIDTH), np.empty(4 * WIDTH)
    gathered(array, at, offset, one, four)
    assert np.array_equal(one, array[at + offset])
    assert np.array_equal(four.reshape(4, WIDTH), array[at + offset + np.arange(4)[:, None]])
