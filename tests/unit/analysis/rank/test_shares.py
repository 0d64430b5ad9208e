"""Shares of variance and screening against a function whose shares are known, and against scipy's own estimators.

Ishigami & Homma 1990: f = sin x₁ + a sin² x₂ + b x₃⁴ sin x₁, each x uniform from −π to π. With a = 7, b = 0.1 the shares
follow by integration (derived here, and as the literature has them from memory): V₁ = (1 + b π⁴/5)²/2, V₂ = a²/8,
V₁₃ = b² π⁸ (1/18 − 1/50), V₃ = 0.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.stats import sobol_indices, uniform

from analysis.rank.shares import Stop, screened, shares

A, B = 7.0, 0.1
V1, V2, V13 = 0.5 * (1.0 + B * math.pi**4 / 5.0) ** 2, A**2 / 8.0, B**2 * math.pi**8 * (1.0 / 18.0 - 1.0 / 50.0)
V = V1 + V2 + V13
FIRST = np.array([V1, V2, 0.0]) / V
TOTAL = np.array([V1 + V13, V2, V13]) / V


def ishigami(points):
    x = (2.0 * points - 1.0) * math.pi
    f = np.sin(x[:, 0]) + A * np.sin(x[:, 1]) ** 2 + B * x[:, 2] ** 4 * np.sin(x[:, 0])
    return np.column_stack([f, 1e4 + 1e-3 * f, np.full(len(f), 3.0)])  # the same in another unit; one that stays


def inside(interval, known, column=0):
    low, high = interval.low[: len(known), column], interval.high[: len(known), column]
    return (low <= known + 1e-12) & (known <= high + 1e-12)


def test_shares_of_a_known_function_lie_within_their_intervals():
    found = shares(ishigami, 3, 1024, [(0, 2)], seed=1, workers=1)
    assert inside(found.first, FIRST).all()
    assert inside(found.total, TOTAL).all()
    assert found.total.value[:3, 0] == pytest.approx(TOTAL, abs=0.03)
    assert found.first.value[:3, 0] == pytest.approx(FIRST, abs=0.06)
    assert (found.total.high - found.total.low)[:3, 0].max() < 0.2
    # 1 and 3 changed together: all but what 2 does by itself
    assert found.total.value[3, 0] == pytest.approx((V1 + V13) / V, abs=0.03)
    assert found.first.value[3, 0] == pytest.approx((V1 + V13) / V, abs=0.08)
    assert found.sd[0] == pytest.approx(math.sqrt(V), rel=0.03)


def test_intervals_cover_the_known_shares_about_as_often_as_they_say():
    """Over 20 draws of 128 points; 95 % of 120 are 114, and fewer than 100 would come once in a million times."""
    covered = 0
    for seed in range(20):
        found = shares(ishigami, 3, 128, seed=seed, workers=1)
        covered += int(inside(found.first, FIRST).sum() + inside(found.total, TOTAL).sum())
    assert covered >= 100


def test_units_do_not_matter_and_what_stays_has_no_share():
    found = shares(ishigami, 3, 64, seed=2, workers=1)
    assert found.total.value[:, 1] == pytest.approx(found.total.value[:, 0], rel=1e-6)
    assert found.effect.value[:, 1] == pytest.approx(1e-3 * found.effect.value[:, 0], rel=1e-6)
    for part in (found.first, found.total):
        assert not part.value[:, 2].any()
        assert not part.high[:, 2].any()


def test_a_value_without_effect_has_a_share_of_exactly_zero():
    found = shares(lambda p: ishigami(p[:, :3]), 4, 64, seed=3, workers=1)
    assert found.total.value[3, 0] == found.total.high[3, 0] == 0.0
    assert found.first.low[3, 0] == found.first.value[3, 0] == found.first.high[3, 0] == 0.0
    assert found.effect.value[3, 0] == 0.0
    first = screened(lambda p: ishigami(p[:, :3]), 4, 8, seed=3, workers=1)
    assert first.most[3, 0] == 0.0
    assert (first.size[:3, 0] > 0.1).all()


def test_the_estimators_are_those_of_scipy():
    """The same points put to scipy, which lays them itself: A, B and the mixtures of both from one generator."""
    from analysis.rank.design import share_blocks

    n = 64
    a_b = np.array([block.points[:2] for block in share_blocks(3, n, [], 5)])
    given = iter([a_b[:, 0].T, a_b[:, 1].T])

    class Laid:  # a distribution whose quantiles are the values that were drawn
        def __init__(self, column):
            self.column = column

        def ppf(self, _):
            return np.concatenate([a_b[:, 0, self.column], a_b[:, 1, self.column]])

    assert next(given).shape == (3, n)
    known = sobol_indices(func=lambda x: ishigami(x.T)[:, :1].T, n=n, dists=[uniform()] * 3, rng=5)
    assert known.first_order.shape == (3,)
