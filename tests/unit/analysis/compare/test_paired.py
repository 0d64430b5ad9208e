"""Paired differences: the interval against known answers, and how often it holds what it should."""

from __future__ import annotations

import math

import numpy as np
import pytest

from analysis.compare.paired import paired, sign_chance

NAN = math.nan


def test_the_interval_of_a_worked_example():
    # differences 1, 2, 3, 4, 5: mean 3, s = √2.5, t(0.975, 4) = 2.776 (any table of Student's t; from memory)
    change = paired(np.zeros(5), np.arange(1.0, 6.0))
    assert change.mean == 3.0
    assert change.high - change.mean == pytest.approx(2.776 * math.sqrt(2.5 / 5), rel=2e-4)
    assert change.beyond_chance
    assert change.count == 5


def test_a_design_against_itself_differs_by_exactly_nothing():
    values = np.random.default_rng(3).normal(size=8)
    change = paired(values, values)
    assert (change.mean, change.low, change.high) == (0.0, 0.0, 0.0)
    assert change.none
    assert not change.beyond_chance
    assert change.within(0.0)


def test_one_ground_has_no_interval_and_nothing_is_beyond_chance():
    change = paired(np.array([1.0]), np.array([2.0]))
    assert (change.mean, change.count) == (1.0, 1)
    assert math.isnan(change.low)
    assert not change.beyond_chance
    assert change.within(1.0)
    assert not change.within(0.5)
    assert not change.none


def test_grounds_that_one_could_not_cross_count_for_none():
    change = paired(np.array([1.0, NAN, 3.0, 4.0]), np.array([2.0, 9.0, NAN, 6.0]))
    assert (change.mean, change.count) == (1.5, 2)
    assert paired(np.array([NAN]), np.array([1.0])) is None


@pytest.mark.parametrize("count", [3, 8])
def test_it_holds_the_true_difference_in_95_of_100_cases(count):
    rng, true, held = np.random.default_rng(7), 0.3, 0
    ground = rng.normal(scale=10.0, size=(2000, count))  # what both have from the ground is far larger
    for one in ground:
        change = paired(one, one + rng.normal(true, 0.5, size=count))
        held += change.low <= true <= change.high
    assert abs(held / 2000 - 0.95) < 0.015


def test_chance_of_signs_is_that_of_a_coin():
    assert sign_chance(8, 0) == pytest.approx(2.0 / 256.0)
    assert sign_chance(0, 8) == sign_chance(8, 0)
    assert sign_chance(5, 0) > 0.05 > sign_chance(6, 0)
    assert sign_chance(7, 1) == pytest.approx(2.0 * 9.0 / 256.0)
