"""Reading ground tables, and the hard contact law."""

from __future__ import annotations

import math

import numpy as np
import pytest
import synthetic_ground

from sim.laws.contact import impact_force, read_table


def heights(n: int = 3000, seed: int = 4) -> np.ndarray:
    return synthetic_ground.random_heights(n, 0.005, 1024e-6, np.random.default_rng(seed))


def two_columns() -> np.ndarray:
    return np.stack([heights(60), np.linspace(0.0, 1.0, 60) ** 2])


def test_table_meets_its_samples():
    table = two_columns()
    for i in range(2, 56):
        assert read_table(table, 0, -1.0, 200.0, -1.0 + i * 0.005)[0] == pytest.approx(table[0, i], abs=1e-12)


def test_slope_is_the_derivative_of_the_value():
    table, eps = two_columns(), 1e-6
    rng = np.random.default_rng(1)
    for x in rng.uniform(0.02, 0.27, 200):
        slope = read_table(table, 0, 0.0, 200.0, x)[1]
        near = [read_table(table, 0, 0.0, 200.0, x + k * eps)[0] for k in (-1, 1)]
        assert slope == pytest.approx((near[1] - near[0]) / (2 * eps), rel=1e-6, abs=1e-6)


def test_value_and_slope_do_not_jump_at_the_samples():
    table = two_columns()
    for i in range(3, 55):
        below = read_table(table, 0, 0.0, 200.0, i * 0.005 - 1e-12)
        above = read_table(table, 0, 0.0, 200.0, i * 0.005 + 1e-12)
        assert below[0] == pytest.approx(above[0], abs=1e-10)
        assert below[1] == pytest.approx(above[1], abs=1e-7)


def test_parabola_is_read_exactly():
    table = two_columns()
    span = 59 * 0.005
    for x in np.linspace(0.02, 0.27, 37):
        value, slope = read_table(table, 1, 0.0, 200.0, x)
        assert value == pytest.approx((x / span) ** 2, abs=1e-13)
        assert slope == pytest.approx(2 * x / span**2, rel=1e-9)


def test_beyond_the_ends_the_reading_stays_finite():
    table = two_columns()
    for x in (-100.0, 100.0):
        value, slope = read_table(table, 0, 0.0, 200.0, x)
        assert abs(value) <= 2 * np.abs(table[0]).max()
        assert math.isfinite(slope)


def test_impact_force_is_linear_in_penetration_and_damped_by_rate():
    assert impact_force(0.01, 0.0, 1e6, 0.5) == pytest.approx(1e4)
    assert impact_force(0.01, 1.0, 1e6, 0.5) == pytest.approx(1.5e4)
    assert impact_force(0.01, -1.0, 1e6, 0.5) == pytest.approx(0.5e4)
    assert impact_force(-0.01, 1.0, 1e6, 0.5) == 0.0
