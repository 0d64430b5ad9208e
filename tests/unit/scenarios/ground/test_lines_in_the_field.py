"""Banks, ramps, edges, ruts and ridges against their formulae, worked by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from every import every

from scenarios.spec import Bank, Edge, Ramp, Ridges, Rut

X = -30.0 + 0.005 * np.arange(24001)


def of(feature):
    return feature.heights(X, 1, 0)


def at(values, x):
    return float(np.interp(x, X, values))


def width(values):
    """Distance between the first and the last place that is not at height zero [m]."""
    places = X[np.abs(values) > 1e-9]
    return float(places[-1] - places[0])


def test_bank_with_batter_has_a_level_crest():
    """Height 0.4 m, steepest 1 in 4, so slopes of 1.5·4·0.4 = 2.4 m; base 6 m leaves a crest of 1.2 m."""
    bank = of(Bank(at=20.0, height=0.4, base=6.0, batter=4.0))
    assert width(bank) == pytest.approx(6.0, abs=0.03)
    assert np.all(bank[np.abs(X - 20.0) < 0.595] == 0.4)
    assert at(bank, 17.0 + 1.2) == at(bank, 23.0 - 1.2) == pytest.approx(0.2, abs=1e-9)
    assert np.max(np.diff(bank)) / 0.005 == pytest.approx(1.0 / 4.0, rel=1e-4)


def test_bank_without_batter_meets_in_its_crest():
    bank = of(Bank(at=20.0, height=0.4, base=6.0))
    assert at(bank, 20.0) == pytest.approx(0.4, abs=1e-9)
    assert at(bank, 18.5) == pytest.approx(0.2, abs=1e-9)
    assert np.all(bank[np.abs(X - 20.0) >= 3.0] == 0.0)


@every("angle", [90.0, 60.0, 30.0])
def test_a_row_that_crosses_at_an_angle_meets_longer_banks_and_ruts(angle):
    """Lengths grow by 1/sin(angle), heights stay."""
    longer = 1.0 / math.sin(math.radians(angle))
    bank = of(Bank(at=20.0, height=0.4, base=6.0, batter=4.0, angle=math.radians(angle)))
    rut = of(Rut(at=20.0, depth=0.08, width=0.6, angle=math.radians(angle)))
    assert width(bank) == pytest.approx(6.0 * longer, abs=0.06 * longer)
    assert width(rut) == pytest.approx(0.6 * longer, abs=0.02 * longer)
    assert np.max(bank) == 0.4
    assert np.min(rut) == -0.08


def test_rut_with_shoulders():
    """Width 0.8 m: flat within ±0.2 m, half deep at ±0.3, lip at ±0.4, shoulder highest at ±0.5, out at ±0.6 m."""
    rut = of(Rut(at=20.0, depth=0.1, width=0.8, shoulder=0.03))
    assert np.all(rut[np.abs(X - 20.0) < 0.195] == -0.1)
    for side in (-1.0, 1.0):
        assert at(rut, 20.0 + 0.3 * side) == pytest.approx(-0.05, abs=1e-9)
        assert at(rut, 20.0 + 0.4 * side) == pytest.approx(0.0, abs=1e-9)
        assert at(rut, 20.0 + 0.5 * side) == pytest.approx(0.03, abs=1e-9)
    assert np.all(rut[np.abs(X - 20.0) >= 0.6 - 1e-9] == 0.0)
    assert np.max(of(Rut(at=20.0, depth=0.1, width=0.8))) == 0.0


@every("rise", [0.5, -0.5])
def test_ramp_is_straight_but_for_its_ends(rise):
    """Run 10 m, a tenth rounded at each end: slope rise/(10·0.9) between 1 m and 9 m, halfway up in the middle."""
    ramp = of(Ramp(at=20.0, rise=rise, run=10.0))
    assert np.all(ramp[X <= 20.0] == 0.0)
    assert at(ramp, 25.0) == pytest.approx(0.5 * rise, abs=1e-9)
    assert at(ramp, 30.0) == at(ramp, 89.0) == pytest.approx(rise, abs=1e-12)
    slope = np.diff(ramp) / 0.005
    inside = (X[:-1] > 21.0) & (X[:-1] < 28.99)
    np.testing.assert_allclose(slope[inside], rise / 9.0, rtol=1e-9)
    assert np.max(np.abs(np.diff(slope))) < 1.01 * abs(rise) / 9.0 * 0.005  # no kink


@every("step", [0.06, -0.06])
def test_edge_is_a_straight_face(step):
    edge = of(Edge(at=20.0, step=step, run=0.1))
    assert np.all(edge[X <= 20.0 + 1e-9] == pytest.approx(0.0, abs=1e-12))
    assert at(edge, 20.05) == pytest.approx(0.5 * step, abs=1e-9)
    assert np.all(edge[X >= 20.105] == step)


@every("angle", [90.0, 45.0, 10.0])
def test_ridges(angle):
    """Height from furrow to ridge; a ridge at distance 0 and every spacing/sin(angle) after it."""
    spec = Ridges(spacing=0.75, height=0.08, angle=math.radians(angle))
    ridges = of(spec)
    wave = 0.75 / math.sin(math.radians(angle))
    assert spec.wavelength == pytest.approx(wave)
    np.testing.assert_allclose(ridges, 0.04 * np.cos(2 * np.pi * X / wave), atol=1e-12)


def test_ridges_that_start_and_end_fade_in_and_out():
    ridges = of(Ridges(spacing=0.75, height=0.08, start=10.0, end=40.0))
    assert np.all(ridges[(X <= 10.0) | (X >= 40.0)] == 0.0)
    inside = (X >= 10.375) & (X <= 39.625)
    np.testing.assert_allclose(ridges[inside], 0.04 * np.cos(2 * np.pi * (X[inside] - 10.0) / 0.75), atol=1e-12)
    assert np.max(np.abs(np.diff(ridges))) / 0.005 < 2.0 * 0.04 * 2 * np.pi / 0.75
