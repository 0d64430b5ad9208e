"""What differs between one row, a float, and eight, `Lanes`: so that one source of code serves both.

The plain bodies serve code that is not compiled.
"""

from __future__ import annotations

from typing import Any

from numba.extending import overload

from sim.arithmetic.simd import WIDTH, LanesType, MaskType, lane, load, mask_bits, with_lane


def fetch(array, at, like):
    """Number at array[at], or eight from there on, as `like` is."""
    return array[at]


def rows_of(value):
    """1 or 8."""
    return 1


def bits_of(condition):
    """A condition as the bits of an integer, row 0 lowest."""
    return int(condition)


def of_row(value, j):
    """The number of row j."""
    return value


def with_row(value, j, number):
    """The same with row j replaced."""
    return number


_INLINE: Any = {"forceinline": True}


@overload(fetch, jit_options=_INLINE)
def _fetch(array, at, like):
    if isinstance(like, LanesType):
        return lambda array, at, like: load(array, at)
    return lambda array, at, like: array[at]


@overload(rows_of, jit_options=_INLINE)
def _rows_of(value):
    number = WIDTH if isinstance(value, LanesType) else 1
    return lambda value: number


@overload(bits_of, jit_options=_INLINE)
def _bits_of(condition):
    if isinstance(condition, MaskType):
        return lambda condition: mask_bits(condition)
    return lambda condition: int(condition)


@overload(of_row, jit_options=_INLINE)
def _of_row(value, j):
    if isinstance(value, LanesType):
        return lambda value, j: lane(value, j)
    return lambda value, j: value


@overload(with_row, jit_options=_INLINE)
def _with_row(value, j, number):
    if isinstance(value, LanesType):
        return lambda value, j, number: with_lane(value, j, number)
    return lambda value, j, number: number
