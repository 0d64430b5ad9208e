"""Shares of variance and screening of a function with known shares, and against scipy's own estimators.

Ishigami & Homma 1990: f = sin x₁ + a sin² x₂ + b x₃⁴ sin x₁, each x uniform from −π to π. With a = 7, b = 0.1 the
shares follow by integration (derived here, and as the literature has them from memory): V₁ = (1 + b π⁴/5)²/2,
V₂ = a²/8, V₁₃ = b² π⁸ (1/18 − 1/50), V₃ = 0.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.random import default_rng
from scipy.stats import sobol_indices, uniform

from analysis.rank.design import EDGE, RANK, share_blocks
from analysis.rank.shares import Stop, _Terms, screened, shares

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


def test_points_and_estimators_are_those_of_scipy():
    n, seed = 64, 5
    even = uniform(EDGE, 1.0 - 2.0 * EDGE)
    known = sobol_indices(func=lambda x: ishigami(x.T)[:, 0], n=n, dists=[even] * 3, rng=default_rng([seed, RANK]))
    blocks = share_blocks(3, n, [(0,), (1,), (2,)], seed)
    f = np.array([ishigami(block.points) for block in blocks])
    terms = _Terms(f, np.array([block.points for block in blocks]), [(0,), (1,), (2,)], eased=False)
    first, total, _ = terms.indices(np.arange(n)[None, :])
    assert first[0, :, 0] == pytest.approx(known.first_order, rel=1e-9)
    assert total[0, :, 0] == pytest.approx(known.total_order, rel=1e-9)


def test_what_is_eased_is_the_same_in_the_mean_and_known_better():
    """A function that is mostly a sum of parabolas: the interval narrows, the answer does not move."""

    def smooth(points):
        t = 2.0 * points - 1.0
        return (t @ [2.0, 1.0, 0.0] + t[:, 1] ** 2 + 0.5 * t[:, 0] * t[:, 2])[:, None]

    v1, v2, v13 = 4.0 / 3.0, 1.0 / 3.0 + 4.0 / 45.0, 0.25 / 9.0
    known = np.array([v1 + v13, v2, v13]) / (v1 + v2 + v13)
    blocks = share_blocks(3, 64, [(0,), (1,), (2,)], 3)
    points = np.array([block.points for block in blocks])
    f = np.array([smooth(block.points) for block in blocks])
    again = default_rng(1).integers(0, 64, (400, 64))
    wide, narrow = (
        _Terms(f, points, [(0,), (1,), (2,)], eased=eased).indices(again)[1][:, :, 0] for eased in (False, True)
    )
    assert narrow.mean(axis=0) == pytest.approx(known, abs=0.03)
    assert (narrow.std(axis=0)[:2] < 0.5 * wide.std(axis=0)[:2]).all()


def test_what_cannot_be_had_is_left_out_and_counted():
    def some(points):
        f = ishigami(points)
        f[points[:, 0] > 0.97] = np.nan
        return f

    found = shares(some, 3, 256, seed=4, workers=1)
    assert 230 < found.blocks < 256
    assert found.missing[0] > 0
    assert inside(found.total, TOTAL).all()


def test_the_same_for_any_number_of_workers():
    one, two = (shares(ishigami, 3, 32, [(0, 1)], seed=7, workers=count) for count in (1, 2))
    for a, b in zip((*one.first, *one.total, *one.effect), (*two.first, *two.total, *two.effect), strict=True):
        assert np.array_equal(a, b, equal_nan=True)


def test_stopping_keeps_what_is_done():
    asked = []

    def until(points):
        asked.append(points)
        if len(asked) > 20:
            raise KeyboardInterrupt
        return ishigami(points)

    with pytest.raises(Stop) as stopped:
        shares(until, 3, 64, seed=1, workers=1)
    assert (stopped.value.done, stopped.value.asked) == (20, 64)
    assert stopped.value.found is not None
    assert stopped.value.found.blocks == 20
    whole = shares(ishigami, 3, 20, seed=1, workers=1)  # the first 20 points are the same
    assert stopped.value.found.total.value[:, 0] == pytest.approx(whole.total.value[:, 0], rel=1e-9)


def test_too_little_is_said_to_be_nothing():
    def at_once(_points):
        raise KeyboardInterrupt

    with pytest.raises(Stop) as stopped:
        shares(at_once, 3, 64, seed=1, workers=1)
    assert stopped.value.found is None


def test_screening_finds_effects_from_end_to_end():
    first = screened(lambda p: np.column_stack([3.0 * p[:, 0] - p[:, 1], p[:, 0] * p[:, 2]]), 3, 16, seed=1, workers=1)
    assert first.size[:, 0] == pytest.approx([3.0, 1.0, 0.0])
    assert first.mean[:, 0] == pytest.approx([3.0, -1.0, 0.0])
    assert first.scatter[:, 0] == pytest.approx([0.0, 0.0, 0.0], abs=1e-12)
    assert first.scatter[2, 1] > 0.1  # it hangs on another value
    assert not first.missing.any()
