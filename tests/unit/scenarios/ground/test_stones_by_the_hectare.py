"""Stones given by the hectare against a field of half ellipsoids cut in plan."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from every import every
from scipy.stats import ks_2samp

from scenarios.ground.stone_field import cut, field_stones, strikes_per_hectare, strikes_per_metre
from scenarios.ground.stones import HEIGHT_SHARE
from scenarios.load import load
from scenarios.spec import StoneField


def test_strikes_by_hand():
    """10 000 stones a hectare (one on a square metre), 0.2–0.4 m and a groove of 0.05 m: 0.35 strikes on a metre.

    Rows 0.25 m apart run 40 000 m on a hectare: 14 000 strikes.
    """
    field = StoneField(stones_per_ha=1e4, length=(0.2, 0.4), groove=0.05)
    assert strikes_per_metre(field) == pytest.approx(0.35)
    assert strikes_per_hectare(field, 0.25) == pytest.approx(14_000.0)


@every("groove", [0.0, 0.025, 0.2])
def test_against_a_field_in_plan(groove):
    """A square of 400 m with half ellipsoids strewn on it, cut along 200 rows: rate, and spread of chords and tops.

    Here no formula of the module is used: the row meets what of a stone lies within half a groove of its line.
    """
    field = StoneField(stones_per_ha=5000.0, length=(0.1, 0.4), top=(-0.04, 0.02), groove=groove)
    rng = np.random.default_rng(4)
    side, rows = 400.0, 200
    count = rng.poisson(5000.0 * side * side / 1e4)
    across = rng.uniform(0.0, side, count)
    size = rng.uniform(0.1, 0.4, count)
    top = rng.uniform(-0.04, 0.02, count)
    chords, tops = [], []
    for row in np.linspace(1.0, side - 1.0, rows):
        near = np.maximum(np.abs(across - row) - 0.5 * groove, 0.0)  # nearest part of the groove to the middle
        hit = near < 0.5 * size
        share = np.sqrt(1.0 - (2.0 * near[hit] / size[hit]) ** 2)
        chords.append(size[hit] * share)
        tops.append(top[hit] - 0.3 * size[hit] * (1.0 - share))  # height over the base shrinks with the same share
    chord, height = np.concatenate(chords), np.concatenate(tops)
    found = field_stones((field,), 0.0, side * rows, 8)
    assert len(found) == pytest.approx(chord.size, rel=0.03)
    assert strikes_per_metre(field) * side * rows == pytest.approx(chord.size, rel=0.03)
    _, ours, ours_top = np.array(found).T
    assert np.mean(ours) == pytest.approx(np.mean(chord), rel=0.02)
    assert np.mean(ours_top) == pytest.approx(np.mean(height), abs=0.001)
    assert ks_2samp(ours, chord).pvalue > 1e-3
    assert ks_2samp(ours_top, height).pvalue > 1e-3


def test_a_stone_cut_through_its_middle_and_off_it():
    """D = 0.4 m, y = 0.12 m: chord 0.4·√(1 − 0.6²) = 0.32 m, top 0.3·0.08 = 24 mm lower (by hand)."""
    field = StoneField(stones_per_ha=1.0, length=(0.4, 0.4), top=(0.01, 0.01), groove=0.0)
    assert cut(field, 5.0, 0.3, 0.0, 0.7) == pytest.approx((5.0, 0.4, 0.01))
    assert cut(field, 5.0, 0.3, 0.6, 0.7) == pytest.approx((5.0, 0.32, -0.014))
    wide = replace(field, groove=0.4)
    assert cut(wide, 5.0, 0.3, 0.49, 0.7) == pytest.approx((5.0, 0.4, 0.01))  # its middle lies in the groove


def test_no_stone_hangs_over_the_ground():
    field = StoneField(stones_per_ha=2e5)
    assert all(s.top <= HEIGHT_SHARE * s.length + 1e-12 for s in field_stones((field,), 0.0, 300.0, 1) if s.top > 0.0)


def test_a_field_has_ends_and_streams_of_its_own():
    here, there = StoneField(stones_per_ha=2e4, end=50.0), StoneField(stones_per_ha=2e4, start=100.0)
    both = field_stones((here, there), 0.0, 200.0, 3)
    first, second = field_stones((here,), 0.0, 200.0, 3), [s for s in both if s.at > 75.0]
    assert both == first + second
    assert all(s.at - s.length / 2 >= 100.0 for s in second)
    assert all(s.at - s.length / 2 < 50.0 for s in first)
    assert [s.length for s in first[:5]] != [s.length for s in second[:5]]
    longer = field_stones((there,), 0.0, 400.0, 3)
    assert longer[: len(field_stones((there,), 0.0, 200.0, 3))] == field_stones((there,), 0.0, 200.0, 3)
    assert field_stones((StoneField(stones_per_ha=0.0),), 0.0, 100.0, 1) == []


def test_a_field_leaves_strewn_stones_ground_and_strength_alone():
    found = load("stony")
    more = replace(found, ground=replace(found.ground, features=(StoneField(stones_per_ha=5000.0, start=40.0),)))
    one, two = found.track(), more.track()
    np.testing.assert_array_equal(one.ground, two.ground)
    np.testing.assert_array_equal(one.strength, two.strength)
    assert set(found.stones_on_track()) < set(more.stones_on_track())
    numbers = set(two.stone_id.tolist()) - {-1}
    assert numbers <= set(range(len(more.stones_on_track())))
    before = one.x < 39.0
    np.testing.assert_array_equal(one.stone_top[before], two.stone_top[before])
