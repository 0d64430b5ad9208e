"""Quintic between the nodes of the toolbar's path, and the path itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import synthetic_ground
from every import every

from sim.laws.envelope import envelope
from sim.toolbar.path import PATH_STEP, path, quintic, wheel_path
from sim.unit import Unit


@every("seed", range(5))
def test_quintic_is_exact_for_polynomials_of_the_fifth_degree(seed):
    rng = np.random.default_rng(seed)
    p = np.polynomial.Polynomial(rng.normal(size=6))
    h = 0.3
    first, second = p.deriv(), p.deriv(2)
    ends = [f(t) for t in (0.0, h) for f in (p, first, second)]
    for u in (0.0, 0.1, 0.37, 0.5, 0.9, 1.0):
        value, rate, acc = quintic(*ends, h, u)
        assert value == pytest.approx(p(u * h), abs=1e-12)
        assert rate == pytest.approx(first(u * h), abs=1e-11)
        assert acc == pytest.approx(second(u * h), abs=1e-10)


def test_quintic_rates_are_the_derivatives_of_its_value():
    ends, h, eps = (0.02, -0.3, 4.0, -0.01, 0.5, -2.0), 2e-3, 1e-4
    for u in (0.2, 0.5, 0.8):
        near = [quintic(*ends, h, u + k * eps) for k in (-1, 1)]
        _, rate, acc = quintic(*ends, h, u)
        assert (near[1][0] - near[0][0]) / (2 * eps * h) == pytest.approx(rate, rel=1e-6)
        assert (near[1][1] - near[0][1]) / (2 * eps * h) == pytest.approx(acc, rel=1e-6)


@every(("dx", "nth"), [(0.005, 1), (0.0025, 2), (0.00125, 4), (0.002, 2), (0.003, 1)])
def test_a_wheels_path_is_the_envelope_at_points_5_mm_apart_at_most(dx, nth):
    heights = synthetic_ground.random_heights(6000, dx, 1024e-6, np.random.default_rng(2))
    ours, apart = wheel_path(heights, dx, 0.5)
    assert apart == pytest.approx(nth * dx)
    assert apart <= PATH_STEP + 1e-12
    assert np.array_equal(ours, envelope(heights, dx, 0.5)[::nth])


def test_a_finer_grid_hardly_changes_the_toolbars_motion():
    """Waves up to 40 c/m on 1.25 mm and on a quarter of it: the axle wheels miss the same tops."""
    coarse, fine = (synthetic_ground.short_relief("D", 40.0, dx) for dx in (0.00125, synthetic_ground.VERY_FINE))
    a, b = (path(Unit(), t.surface, t.x0, t.dx, -25.0, 2.5, 1.5e-3, 8000, True) for t in (coarse, fine))
    assert np.abs(a[:, 0] - b[:, 0]).max() < 1e-5
    assert np.sqrt(np.mean((a[:, 2] - b[:, 2]) ** 2)) < 0.02 * b[:, 2].std()


def test_level_toolbar_does_not_move():
    track = synthetic_ground.named("class D short")
    out = path(Unit(), track.surface, track.x0, track.dx, -25.0, 2.5, 1e-3, 500, False)
    assert np.array_equal(out, np.zeros((500, 6)))


def test_carried_toolbar_rests_on_flat_ground():
    out = path(Unit(), np.zeros(4000), -30.0, 0.005, -25.0, 2.5, 1e-3, 500, True)
    assert np.array_equal(out, np.zeros((500, 6)))


def test_carried_toolbar_climbs_to_higher_ground():
    surface = np.where(np.arange(20_000) * 0.005 - 30.0 > 0.0, 0.10, 0.0)
    out = path(Unit(), surface, -30.0, 0.005, -10.0, 2.5, 2e-3, 10_000, True)
    assert out[-1, 0] == pytest.approx(0.10, abs=1e-6)
    assert out[-1, 3] == pytest.approx(0.0, abs=1e-6)
    assert out[:, 3].max() > 0.01  # nose up on the way


def test_columns_are_derivatives_of_one_another():
    track = synthetic_ground.named("waves")
    h = 1e-3
    out = path(Unit(), track.surface, track.x0, track.dx, -20.0, 2.5, h, 6000, True)
    for column in (0, 1, 3, 4):
        slope = np.gradient(out[:, column], h)[1:-1]
        assert np.abs(slope - out[1:-1, column + 1]).max() < 5e-3 * np.abs(slope).max()


def test_path_does_not_depend_on_how_often_it_is_read():
    """The march inside takes steps of a millisecond or less: nodes at 1 and 2 ms meet."""
    track = synthetic_ground.named("class D short")
    fine = path(Unit(), track.surface, track.x0, track.dx, -20.0, 2.5, 0.5e-3, 8001, True)
    coarse = path(Unit(), track.surface, track.x0, track.dx, -20.0, 2.5, 2e-3, 2001, True)
    assert np.abs(fine[::4, 0] - coarse[:, 0]).max() < 1e-5
    assert np.abs(fine[::4, 3] - coarse[:, 3]).max() < 1e-5


def test_the_front_axle_stands_in_front():
    """Front wheels on a step, rear wheels still below it: nose up by h/(a_f + a_r), O lifted by h·a_r/(a_f + a_r)."""
    ahead, behind, height, speed, node = 3.0, 1.0, 0.10, 0.5, 8e-3
    unit = Unit()
    bar = replace(unit.toolbar, axle_front=ahead, axle_rear=behind, wheel_radius=1e-3, damping=2e4)
    surface = np.where(0.005 * np.arange(4000) >= 10.0, height, 0.0)
    start, nodes = 10.0 - ahead - 0.2, round(3.6 / speed / node)  # to 0.4 m before the rear axle comes to the step
    got = path(replace(unit, toolbar=bar), surface, 0.0, 0.005, start, speed, node, nodes, True)[-1]
    assert got[0] == pytest.approx(height * behind / (ahead + behind), rel=2e-3)
    assert got[3] == pytest.approx(height / (ahead + behind), rel=2e-3)


@pytest.mark.parametrize(("ahead", "behind", "met"), [(3.0, 1.0, "front"), (1.0, 3.0, "rear")])
def test_a_push_on_an_axle_turns_the_bar_by_that_axles_own_arm(ahead, behind, met):
    """The first push of a bump on one axle, the other still on flat ground: p″/z″ = a m/I, with its arm and sign."""
    bar = replace(Unit().toolbar, axle_front=ahead, axle_rear=behind, wheel_radius=1e-3)
    at = 10.0 + (ahead if met == "front" else -behind) + 0.1  # the bump begins 0.1 m ahead of that axle
    x = 0.005 * np.arange(4000)
    surface = 0.02 * np.clip(np.minimum(x - at, at + 0.4 - x) / 0.2, 0.0, 1.0)
    got = path(replace(Unit(), toolbar=bar), surface, 0.0, 0.005, 10.0, 2.0, 1e-3, 60, True)
    first = int(np.argmax(np.abs(got[:, 2]) > 1e-3))
    arm = ahead if met == "front" else -behind
    assert first > 0
    assert got[first, 5] / got[first, 2] == pytest.approx(arm * bar.mass / bar.inertia, rel=1e-3)
