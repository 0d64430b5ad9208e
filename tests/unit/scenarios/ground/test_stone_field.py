"""Stones: their statistics and the profile of their upper surface."""

from __future__ import annotations

import numpy as np
import pytest

from scenarios.ground.stones import HEIGHT_SHARE, Stone, lay_stones, stone_profile, strewn
from scenarios.spec import PlacedStone, Stones
from sim.track import NO_STONE

X = 0.005 * np.arange(4001)


def test_half_an_ellipse():
    """Length 0.3 m: height 0.09 m; at half its half length √(1 − 1/4) of that height over its base."""
    ground = 0.02 * X
    top, number = stone_profile([Stone(10.0, 0.30, 0.03)], X, ground)
    on = number == 0
    assert X[on][0] == pytest.approx(9.85, abs=0.006)
    assert X[on][-1] == pytest.approx(10.15, abs=0.006)
    peak = 0.02 * 10.0 + 0.03
    assert np.max(top[on]) == pytest.approx(peak, abs=1e-9)
    base = peak - 0.09
    assert float(np.interp(10.075, X, top)) == pytest.approx(base + 0.09 * np.sqrt(0.75), abs=1e-6)
    assert np.all(top[~on] == NO_STONE)
    assert np.all(number[~on] == -1)


def test_the_higher_of_two_stones_counts():
    stones = [Stone(10.0, 0.4, 0.01), Stone(10.1, 0.2, 0.03)]
    top, number = stone_profile(stones, X, np.zeros(X.size))
    alone = [stone_profile([stone], X, np.zeros(X.size))[0] for stone in stones]
    np.testing.assert_array_equal(top, np.maximum(*alone))
    assert set(number) == {-1, 0, 1}
    assert np.all(alone[1][number == 1] > alone[0][number == 1])


def test_no_stone_lies_under_deep_ground_too():
    """On ground 60 m below its start the place without stone still lies below the ground."""
    ground = -0.03 * 100.0 * X
    top, number = stone_profile([], X, ground)
    assert np.all(np.maximum(ground, top) == ground)
    assert np.all(number == -1)


def test_statistics_of_a_stone_field():
    """Poisson, 20 on 100 m over 50 km: count within 4 SD, gaps exponential, lengths and tops spread evenly."""
    stones = strewn(Stones(rate_per_100m=20.0), 0.0, 50_000.0, 7)
    assert abs(len(stones) - 10_000) < 4 * 100
    places, lengths, tops = np.array(stones).T
    gaps = np.diff(places)
    assert np.std(gaps) == pytest.approx(np.mean(gaps), rel=0.04)
    assert np.mean(gaps > 5.0) == pytest.approx(np.exp(-1.0), abs=0.02)
    for values, low, high in ((lengths, 0.10, 0.35), (tops, -0.050, 0.030)):
        assert low <= values.min() < low + 0.01 * (high - low)
        assert high >= values.max() > high - 0.01 * (high - low)
        assert np.mean(values) == pytest.approx((low + high) / 2, abs=0.02 * (high - low))
    assert abs(np.corrcoef(lengths, tops)[0, 1]) < 0.04


def test_a_longer_field_only_adds_to_a_shorter_one():
    spec = Stones(rate_per_100m=40.0)
    short, long = strewn(spec, 0.0, 100.0, 3), strewn(spec, 0.0, 400.0, 3)
    assert long[: len(short)] == short
    assert len(long) > len(short) > 20


def test_placed_stones_stand_among_strewn_ones_in_order():
    spec = Stones(rate_per_100m=20.0, placed=(PlacedStone(at=50.0, length=0.3, top=0.03),))
    stones = lay_stones(spec, 0.0, 100.0, 1)
    assert stones == sorted(stones)
    assert Stone(50.0, 0.3, 0.03) in stones
    assert len(stones) == len(strewn(spec, 0.0, 100.0, 1)) + 1


def test_no_stones_without_a_rate():
    assert lay_stones(Stones(), 0.0, 1000.0, 1) == []
    assert HEIGHT_SHARE == 0.3
