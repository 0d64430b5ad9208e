"""Single features and waves against their formulae."""

from __future__ import annotations

import numpy as np
import pytest
from every import every

from scenarios.format.errors import ScenarioError
from scenarios.ground.curves import blend
from scenarios.load import load
from scenarios.spec import Drop, Gilgai, Hollow, Hump, Sine

X = -30.0 + 0.005 * np.arange(18001)


def at(values, x):
    return float(np.interp(x, X, values))


def test_hump_and_hollow():
    hump = Hump(at=20.0, height=0.15, length=3.0).heights(X, 1, 0)
    assert at(hump, 20.0) == pytest.approx(0.15, abs=1e-9)
    assert at(hump, 19.25) == at(hump, 20.75) == pytest.approx(0.075, abs=1e-9)
    assert np.all(hump[np.abs(X - 20.0) >= 1.5] == 0.0)
    hollow = Hollow(at=20.0, depth=0.15, length=3.0).heights(X, 1, 0)
    np.testing.assert_array_equal(hollow, -hump)


def test_drop_falls_and_stays_down():
    drop = Drop(at=15.0, depth=0.55, length=1.0).heights(X, 1, 0)
    assert at(drop, 14.9) == 0.0
    assert at(drop, 15.5) == pytest.approx(-0.275, abs=1e-9)
    assert at(drop, 16.0) == at(drop, 59.0) == pytest.approx(-0.55, abs=1e-12)
    assert np.all(np.diff(drop) <= 0.0)


def test_sine_everywhere():
    wave = Sine(amplitude=0.03, wavelength=2.0).heights(X, 1, 0)
    np.testing.assert_allclose(wave, 0.03 * np.sin(np.pi * X), atol=1e-12)


def test_sine_that_starts_and_ends():
    wave = Sine(amplitude=0.03, wavelength=2.0, start=10.0, end=20.0).heights(X, 1, 0)
    assert np.all(wave[(X <= 10.0) | (X >= 20.0)] == 0.0)
    inside = (X >= 11.0) & (X <= 19.0)
    np.testing.assert_allclose(wave[inside], 0.03 * np.sin(np.pi * (X[inside] - 10.0)), atol=1e-12)
    assert np.max(np.abs(np.diff(wave, 2))) < 2 * 0.03 * (np.pi * 0.005) ** 2 * 3  # no kink where it starts


@every("seed", range(5))
def test_gilgai_has_the_wanted_height_and_wavelength(seed):
    """Over 80 km: mean crest to trough within 2 % of `height`, mean distance from hump to hump within 1 %."""
    x = 0.02 * np.arange(400_001)
    z = Gilgai(height=0.15, wavelength=8.0).heights(x, seed, 0)
    turns = np.flatnonzero(np.diff(np.sign(np.diff(z))) != 0) + 1
    steps = np.abs(np.diff(z[turns]))
    assert np.mean(steps) == pytest.approx(0.15, rel=0.02)
    assert np.all((steps > 0.6 * 0.15 - 1e-3) & (steps < 1.4 * 0.15 + 1e-3))
    assert 2.0 * np.mean(np.diff(x[turns])) == pytest.approx(8.0, rel=0.01)
    assert np.max(np.abs(z)) <= 0.7 * 0.15 + 1e-12
    assert abs(np.mean(z)) < 0.005


def test_a_longer_gilgai_only_adds_to_a_shorter_one():
    spec = Gilgai(height=0.15, wavelength=8.0)
    long = spec.heights(X, 4, 0)
    np.testing.assert_array_equal(spec.heights(X[:9000], 4, 0), long[:9000])


def test_gilgai_begins_with_a_hump_or_a_hollow():
    """At the first place the height runs up for about half of the seeds and down for the others."""
    spec = Gilgai(height=0.15, wavelength=8.0)
    up = sum(spec.heights(X, seed, 0)[500] > spec.heights(X, seed, 0)[0] for seed in range(60))
    assert 15 < up < 45


def test_blend_is_the_cubic_step():
    np.testing.assert_allclose(blend(np.array([-1.0, 0.0, 0.25, 0.5, 1.0, 2.0])), [0, 0, 0.15625, 0.5, 1, 1])


FLAT = 'title = "t"\n[ground]\nlength_m = 40\n'
HUMPED = '[[ground.features]]\nkind = "hump"\nat_m = 20\nheight_mm = 100\nlength_m = 4\n'


@every(
    ("text", "words"),
    [
        (FLAT, "perfectly flat, a bench floor"),
        (FLAT + HUMPED, "perfectly flat between its features"),
        (FLAT + 'roughness = { class = "none" }\n', None),
        (FLAT + 'roughness = { class = "none" }\n' + HUMPED, None),
        (FLAT + 'roughness = { class = "D" }\n', None),
    ],
)
def test_ground_of_which_nothing_is_said_is_told_to_be_flat(text, words, tmp_path):
    path = tmp_path / "a.toml"
    path.write_text(text, encoding="utf-8")
    told = load(path).warnings
    assert len(told) == (0 if words is None else 1)
    assert words is None or words in told[0]
    plain = tmp_path / "b.toml"
    plain.write_text(text.replace('roughness = { class = "none" }\n', ""), encoding="utf-8")
    assert np.array_equal(load(plain).track().ground, load(path).track().ground)


def test_no_roughness_beside_a_density_is_a_fault(tmp_path):
    path = tmp_path / "a.toml"
    path.write_text(FLAT + 'roughness = { class = "none", gd_n0_m3 = 1e-3 }\n', encoding="utf-8")
    with pytest.raises(ScenarioError, match="both class and gd_n0_m3"):
        load(path)
