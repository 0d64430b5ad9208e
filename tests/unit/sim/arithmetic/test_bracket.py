"""The bracketed secant against closed forms."""

from __future__ import annotations

import math

import pytest

from sim.arithmetic.bracket import zero_between


@pytest.mark.parametrize(
    ("function", "low", "high", "zero"),
    [
        (lambda x: x - 3.0, 0.0, 10.0, 3.0),
        (lambda x: math.cos(x) - x, 0.0, 1.0, 0.7390851332151607),  # Dottie number
        (lambda x: x**9, -1.0, 0.5, 0.0),
        (lambda x: min(math.exp(40.0 * x), 1e6) - 2.0, -1.0, 1.0, math.log(2.0) / 40.0),  # flat, steep, flat
        (lambda x: math.copysign(1.0, x - 0.3), 0.0, 1.0, 0.3),  # a jump
    ],
)
def test_the_zero_is_found_from_either_end(function, low, high, zero):
    for ends in ((low, high), (high, low)):
        found = zero_between(function, *ends)
        assert found == pytest.approx(zero, rel=4e-15, abs=1e-14)


def test_an_end_that_is_a_zero_is_given_back():
    assert zero_between(lambda x: x, 0.0, 1.0) == 0.0
    assert zero_between(lambda x: x - 1.0, 0.0, 1.0) == 1.0


def test_few_steps_are_taken():
    asked = []
    zero_between(lambda x: asked.append(x) or math.exp(x) - 5.0, 0.0, 10.0)
    assert len(asked) < 30
