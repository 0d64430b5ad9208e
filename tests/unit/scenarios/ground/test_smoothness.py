"""Dense records that were smoothed are told from rough ones, by their own spectrum."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from every import every
from scipy.interpolate import CubicSpline
from scipy.ndimage import gaussian_filter1d, uniform_filter1d
from scipy.signal import butter, sosfiltfilt

from scenarios.ground.profile import Profile, added_notes, warnings_of
from scenarios.ground.roughness import rough_heights
from scenarios.ground.smoothness import smooth_below
from scenarios.spec import Roughness

DX = 0.05


def rough(length=200.0, seed=1, letter="D", waviness=2.0, dx=DX):
    """Places and heights of made ground down to 0.1 m."""
    n = round(length / dx)
    return dx * np.arange(n), rough_heights(Roughness(letter=letter, waviness=waviness), n, dx, seed)


def low_passed(heights):
    """Waves under 1 m taken out (Butterworth of order 2, forth and back)."""
    return sosfiltfilt(butter(2, 1.0, fs=1.0 / DX, output="sos"), heights)


FILTERS = {
    "low pass": low_passed,
    "bell": lambda h: gaussian_filter1d(h, 0.25 / DX),
    "mean over 1 m": lambda h: uniform_filter1d(h, round(1.0 / DX)),
    "every metre, straight between": lambda h: np.interp(np.arange(h.size), np.arange(h.size)[::20], h[::20]),
    "every metre, a curve, in mm": lambda h: np.round(CubicSpline(np.arange(h.size)[::20], h[::20])(range(h.size)), 3),
}


@every("waviness", [1.5, 2.0, 2.5, 3.0])
@every("seed", [1, 2, 3])
def test_rough_ground_is_not_called_smooth(waviness, seed):
    for length in (20.0, 60.0, 200.0):
        x, h = rough(length, seed, waviness=waviness)
        assert smooth_below(x, h) is None
        assert smooth_below(x, np.round(h, 3)) is None


@every("name", FILTERS)
def test_smoothed_ground_is_told_with_about_its_shortest_wave(name):
    """Filters of 1 m: none leaves waves of 0.5 m, all leave those of 3 m."""
    for seed in (1, 2, 3):
        for waviness in (2.0, 2.5):
            x, h = rough(seed=seed, waviness=waviness)
            found = smooth_below(x, FILTERS[name](h))
            assert found is not None
            assert 0.5 < found < 3.0


def test_a_smooth_road_and_single_shapes_are_not_told():
    """A road of class A with w 2.5 every 0.25 m, and ground with ridges, a wave, a step or a bump on it."""
    assert smooth_below(*rough(500.0, letter="A", waviness=2.5, dx=0.25)) is None
    x, h = rough(letter="C")
    for shape in (
        0.05 * np.cos(2 * np.pi * x / 0.9), 0.05 * np.sin(2 * np.pi * x / 2.0), 0.15 * np.cos(2 * np.pi * x / 8.0),
        0.2 * (x > 100.0), 0.2 * np.exp(-((x - 100.0) ** 2)),
    ):  # fmt: skip
        assert smooth_below(x, h + shape) is None


def test_too_short_a_record_or_a_flat_one_says_nothing():
    x, h = rough(length=4.0)
    assert smooth_below(x, gaussian_filter1d(h, 5.0)) is None
    assert smooth_below(DX * np.arange(500), np.zeros(500)) is None


def test_the_profile_says_so_and_made_up_waves_begin_there():
    x, h = rough()
    honest, smoothed = (Profile(Path("p.csv"), x, heights, None) for heights in (h, low_passed(h)))
    assert warnings_of(honest) == []
    assert honest.shortest_wavelength == pytest.approx(2 * DX)
    (told,) = warnings_of(smoothed)
    wave = smoothed.shortest_wavelength
    assert 0.6 < wave < 1.6
    assert f"the record is smooth below waves of {wave:.2g} m" in told
    assert 'roughness_class = "C" (or another) in [ground.profile]' in told
    filled = smoothed.with_fine("C")
    assert filled.fine is not None
    assert filled.fine.band == (1.0 / wave, 10.0)
    assert f"stands for waves of {wave:.3g} m down to 0.1 m" in warnings_of(filled)[0]
    assert added_notes(filled, "C", None) == []


def test_points_far_apart_are_told_as_such_alone():
    x, h = rough(length=400.0, dx=1.0, letter="C")
    profile = Profile(Path("p.csv"), x, gaussian_filter1d(h, 1.2), None)
    assert profile.smooth_below is None or profile.smooth_below > 2.5
    assert warnings_of(Profile(Path("p.csv"), x, h, None))[0].startswith("p.csv: points are up to 1 m apart")
