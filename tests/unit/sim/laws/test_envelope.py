"""Envelopes of a circle and means over a length: against grey dilation and quadrature."""

from __future__ import annotations

import math

import numpy as np
import pytest
import synthetic_ground
from every import every
from scipy.integrate import quad
from scipy.ndimage import grey_dilation

from sim.laws.envelope import averaged, envelope, put_means


def heights(n: int = 3000, seed: int = 4) -> np.ndarray:
    return synthetic_ground.random_heights(n, 0.005, 1024e-6, np.random.default_rng(seed))


PROFILES = {
    "random ground": heights(),
    "tops of stones": synthetic_ground.named("stony").stone_top[6000:9000],
    "a step": np.where(np.arange(3000) > 1500, 0.3, 0.0),
    "noise": 0.05 * np.random.default_rng(3).standard_normal(3000),
    "one spike": np.where(np.arange(3000) == 1501, 0.1, 0.0),
    "shorter than the wheel": heights(37),
}


@every("radius", [0.15, 0.20, 0.28, 0.5])
@every("dx", [0.005, 0.0034])
@every("profile", PROFILES)
def test_envelope_is_a_grey_dilation(profile, radius, dx):
    h = PROFILES[profile]
    reach = math.floor(radius / dx)
    u = dx * np.arange(-reach, reach + 1)
    cap = np.sqrt(np.maximum(radius**2 - u**2, 0.0)) - radius
    yardstick = grey_dilation(np.pad(h, reach, mode="edge"), structure=cap, mode="nearest")[reach : reach + h.size]
    assert np.abs(envelope(h, dx, radius) - yardstick).max() < 1e-9


def test_envelope_lies_on_or_over_the_ground_and_keeps_its_top():
    h = heights()
    e = envelope(h, 0.005, 0.2)
    assert (e >= h - 1e-15).all()
    assert e.max() == pytest.approx(h.max(), abs=1e-15)


def test_envelope_does_not_roll_lower_on_higher_ground():
    h = heights()
    higher = h + np.maximum(heights(seed=9), 0.0)
    assert (envelope(higher, 0.005, 0.2) >= envelope(h, 0.005, 0.2)).all()
    assert envelope(h + 1.0, 0.005, 0.2) == pytest.approx(envelope(h, 0.005, 0.2) + 1.0, abs=1e-12)


def test_envelope_of_level_ground_and_of_a_wheel_smaller_than_the_grid():
    assert np.array_equal(envelope(np.zeros(100), 0.005, 0.2), np.zeros(100))
    h = heights(200)
    assert np.array_equal(envelope(h, 0.005, 0.004), h)


@every("length", [0.1, 0.1437, 0.005, 0.0023])
def test_average_ahead_against_quadrature(length):
    dx = 0.005
    h = heights(400)
    x = dx * np.arange(h.size)
    ours = averaged(h, dx, 0.0, length)
    for i in (0, 17, 200, 340):
        knots = [p for p in x if x[i] < p < x[i] + length]
        exact = quad(lambda s: np.interp(s, x, h), x[i], x[i] + length, points=knots or None, limit=200)[0] / length
        assert ours[i] == pytest.approx(exact, abs=1e-12)


def test_average_ahead_goes_on_level_at_the_end():
    h = np.linspace(0.0, 1.0, 50)
    assert averaged(h, 0.005, 0.0, 0.1)[-1] == pytest.approx(1.0)


@every("half", [0.03, 0.0271, 0.002])
def test_average_about_a_place_against_quadrature(half):
    dx = 0.005
    h = heights(400)
    x = dx * np.arange(h.size)
    ours = averaged(h, dx, -half, half)
    for i in (17, 200, 340):
        knots = [p for p in x if abs(p - x[i]) < half]
        exact = quad(lambda s: np.interp(s, x, h), x[i] - half, x[i] + half, points=knots, limit=200)[0] / (2 * half)
        assert ours[i] == pytest.approx(exact, abs=1e-12)


def test_averaging_gives_constant_and_straight_profiles_back():
    level, slope = np.full(100, 1.2e6 / 7), np.linspace(0.0, 1.0, 100)
    assert np.array_equal(averaged(level, 0.005, -0.03, 0.03), level)
    assert averaged(slope, 0.005, -0.03, 0.03)[10:-10] == pytest.approx(slope[10:-10], abs=1e-15)


@every("every_so_many", [1, 2, 7])
def test_lines_together_are_what_each_is_alone(every_so_many):
    """And of every so many points the first is one, whether their number divides or not."""
    lines = np.stack([heights(500, seed) for seed in (1, 2, 3)])
    alone = [envelope(line, 0.005, 0.2)[::every_so_many] for line in lines]
    assert np.array_equal(envelope(lines, 0.005, 0.2, every_so_many), np.stack(alone))


def test_means_of_lines_go_into_their_column_and_nowhere_else():
    lines = np.stack([heights(101, seed) for seed in (1, 2, 3)])
    tables = np.full((3, 4, 101), 7.0)
    put_means(lines, 0.005, (-0.03, 0.03), tables, 2)
    assert np.array_equal(tables[:, 2], np.stack([averaged(line, 0.005, -0.03, 0.03) for line in lines]))
    assert (np.delete(tables, 2, axis=1) == 7.0).all()
