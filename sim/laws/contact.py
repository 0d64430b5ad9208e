"""Ground tables: their columns, smooth reading of them, and the hard contact law."""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numba.extending import overload
from numpy.typing import NDArray

from sim.arithmetic.compiled import INLINE, kernel, part
from sim.arithmetic.gather import gather_four
from sim.arithmetic.simd import LanesType, largest, smallest, truncate, whole
from sim.rates import Rates, of_spring


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
