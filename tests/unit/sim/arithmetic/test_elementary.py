"""The elementary functions against the C library over the ranges that their docstrings name."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim.arithmetic.elementary import exponential, hyperbolic_tangent, logarithm, power, sincos

NEAR = 4e-15  # relative error that the module promises


@pytest.mark.parametrize("x", [0.0, 1e-300, 1e-12, 0.5, -0.5, 1.0, 1.5, 1.6, -1.6, math.pi / 2])
def test_sine_and_cosine_at_chosen_angles(x):
    s, c = sincos(x)
    assert s == pytest.approx(math.sin(x), rel=NEAR, abs=0.0)
    assert c == pytest.approx(math.cos(x), rel=NEAR, abs=1e-15)


@given(st.floats(-1.6, 1.6))
@settings(max_examples=400, deadline=None, derandomize=True)
def test_sine_and_cosine(x):
    s, c = sincos(x)
    assert abs(s - math.sin(x)) <= NEAR * abs(math.sin(x))
    assert abs(c - math.cos(x)) <= NEAR * max(abs(math.cos(x)), 0.1)
    assert s * s + c * c == pytest.approx(1.0, abs=1e-15)


@given(st.floats(-700.0, 700.0))
@settings(max_examples=400, deadline=None, derandomize=True)
def test_exponential(x):
    assert exponential(x) == pytest.approx(math.exp(x), rel=NEAR, abs=0.0)


def test_exponential_is_clipped_beyond_its_range():
    assert exponential(1e6) == exponential(700.0)
    assert exponential(-1e6) == exponential(-700.0)
    assert math.isfinite(exponential(700.0))
    assert exponential(0.0) == 1.0


@given(st.floats(1e-300, 1e300))
@settings(max_examples=400, deadline=None, derandomize=True)
def test_logarithm(x):
    assert abs(logarithm(x) - math.log(x)) <= NEAR * max(abs(math.log(x)), 0.05)


@pytest.mark.parametrize("x", [1.0 - 2**-53, 1.0, 1.0 + 2**-52, math.sqrt(0.5), math.sqrt(2.0), 2.0, 0.5, 1024.0])
def test_logarithm_near_its_joins(x):
    assert logarithm(x) == pytest.approx(math.log(x), rel=NEAR, abs=1e-18)


@given(st.floats(1e-12, 1e6), st.floats(0.6, 1.8))
@settings(max_examples=400, deadline=None, derandomize=True)
def test_power(x, m):
    assert power(x, m) == pytest.approx(math.pow(x, m), rel=1e-14)


@pytest.mark.parametrize("x", [0.0, -1.0, -1e300, 1e-301])
def test_power_of_nothing_is_nothing(x):
    assert power(x, 1.1) == 0.0


@given(st.floats(-400.0, 400.0))
@settings(max_examples=400, deadline=None, derandomize=True)
def test_hyperbolic_tangent(x):
    assert abs(hyperbolic_tangent(x) - math.tanh(x)) <= 2.3e-16


def test_dense_sweep():
    """Every promise once more on a dense grid, the worst error printed by the assertion."""
    x = np.linspace(-1.6, 1.6, 4001)
    sine = max(abs(sincos(a)[0] - math.sin(a)) / max(abs(math.sin(a)), 1e-300) for a in x if a != 0.0)
    assert sine < NEAR
    growth = max(abs(exponential(a) / math.exp(a) - 1.0) for a in np.linspace(-700, 700, 4001))
    assert growth < NEAR
