"""A named tuple behind a pointer: compiled code reads each field, of one row and of eight."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest
from numba import njit

from sim.arithmetic.constants import behind_a_pointer, with_varied
from sim.arithmetic.simd import store
from sim.arithmetic.simd_types import WIDTH


class Numbers(NamedTuple):
    """Three numbers, the middle one and the last of which differ between rows."""

    a: float
    b: float
    c: float


behind_a_pointer(Numbers, ("c", "b"))
with_rows, with_row = with_varied(all_rows=True), with_varied(all_rows=False)


@njit
def read(n):
    return n.a + 10.0 * n.b + 100.0 * n.c


@njit
def read_rows(n, varied, out):
    rows = with_rows(n, varied, 0)
    store(out, 0, rows.a + 10.0 * rows.b + 100.0 * rows.c)
    for j in range(WIDTH):
        out[WIDTH + j] = read(with_row(n, varied, j))


def test_fields_are_read_of_one_row_and_of_eight():
    assert read(Numbers(1.0, 2.0, 3.0)) == 321.0
    assert read(Numbers(4.0, 5.0, 6.0)) == 654.0  # another tuple, other numbers
    varied = np.arange(2.0 * WIDTH)  # all c, then all b
    out = np.empty(2 * WIDTH)
    read_rows(Numbers(1.0, np.nan, np.nan), varied, out)
    expected = 1.0 + 10.0 * varied[WIDTH:] + 100.0 * varied[:WIDTH]
    np.testing.assert_array_equal(out, [*expected, *expected])


def test_what_is_no_number_is_refused():
    with pytest.raises(TypeError):
        read(Numbers(1.0, "2", 3.0))
