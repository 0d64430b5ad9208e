"""Random roughness below the sampling of a measured profile: band, class, seed, scaling and what is told."""

from __future__ import annotations

import numpy as np
import pytest
from every import every

from scenarios.ground.roughness import variance_between
from scenarios.load import load
from scenarios.spec import Roughness


def scenario(folder, spacing=3.0, length=600.0, text='roughness_class = "C"\n', more="", gap=None, uneven=0.0):
    """`uneven`: a random walk added to the heights, so much for every metre."""
    x = spacing * np.arange(round(length / spacing) + 1)
    if gap is not None:
        x = x[(x < gap[0]) | (x > gap[1])]
    walk = uneven * np.cumsum(np.random.default_rng(1).normal(0.0, np.sqrt(spacing), x.size))
    rows = "\n".join(f"{a:.3f},{0.2 * np.sin(a / 9.0) + b:.5f}" for a, b in zip(x, walk, strict=True))
    (folder / "p.csv").write_text(f"distance_m,height_m\n{rows}\n", encoding="utf-8")
    path = folder / "p.toml"
    path.write_text(f'title = "t"\n[ground]\n{more}[ground.profile]\nfile = "p.csv"\n{text}', encoding="utf-8")
    return path


def added(folder, **given):
    """Heights that the class adds, on the grid after the lead-in, and the grid."""
    rough = load(scenario(folder, **given)).track()
    bare = load(scenario(folder, **{**given, "text": ""})).track()
    full = rough.x > rough.x_from
    return rough.x[full], (rough.ground - bare.ground)[full]


def test_band_and_variance(tmp_path):
    """Points 3 m apart hold 6 m: class C from 1/6 to 10 c/m, variance Gd·n0²·(1/n1 − 1/n2) (ISO 8608, derived)."""
    found = load(scenario(tmp_path))
    assert found.profile is not None
    assert found.profile.fine == Roughness(letter="C", band=(1.0 / 6.0, 10.0))
    z = added(tmp_path)[1]
    expected = 256e-6 * 0.01 * (6.0 - 0.1)
    assert np.var(z) == pytest.approx(expected, rel=0.06)
    spectrum = np.abs(np.fft.rfft((z - z.mean()) * np.hanning(z.size))) ** 2
    n = np.fft.rfftfreq(z.size, 0.005)
    assert np.sum(spectrum[n < 1.0 / 6.0 - 0.01]) < 0.02 * np.sum(spectrum)
    assert np.sum(spectrum[n > 10.1]) < 1e-4 * np.sum(spectrum)


@every(("letter", "factor"), [("B", 0.25), ("D", 4.0)])
def test_a_class_is_four_times_the_one_before(letter, factor, tmp_path):
    _, c = added(tmp_path)
    _, other = added(tmp_path, text=f'roughness_class = "{letter}"\n')
    np.testing.assert_allclose(other, np.sqrt(factor) * c, rtol=1e-6, atol=1e-12)


def test_it_depends_on_the_seed_and_on_nothing_else(tmp_path):
    one, again = added(tmp_path)[1], added(tmp_path)[1]
    np.testing.assert_array_equal(one, again)
    assert not np.allclose(added(tmp_path, more="seed = 2\n")[1], one)
    stony = added(tmp_path, text='roughness_class = "C"\n[stones]\nrate_per_100m = 20\n')
    np.testing.assert_allclose(stony[1], one, atol=1e-12)
    coarse = load(scenario(tmp_path))
    even = load(scenario(tmp_path, text=""))
    np.testing.assert_array_equal(coarse.track().strength, even.track().strength)


def test_one_class_rougher_scales_it_too(tmp_path):
    found = load(scenario(tmp_path))
    assert found.profile is not None
    rough = found.with_roughness_scaled(4.0)
    assert rough.profile is not None
    assert rough.profile.fine is not None
    assert variance_between(rough.profile.fine, 0.2, 5.0) == pytest.approx(
        4.0 * variance_between(found.profile.fine, 0.2, 5.0)
    )
    assert found.roughness_label == "measured + class C below 6 m"
    assert rough.roughness_label == "measured + Gd(0.1) = 0.00102 m³ below 6 m"


def test_very_coarse_profiles_get_waves_up_to_20_m(tmp_path):
    found = load(scenario(tmp_path, spacing=60.0, length=3000.0))
    assert found.profile is not None
    assert found.profile.fine is not None
    assert found.profile.fine.band == (0.05, 10.0)
    assert "stands for waves of 20 m down to 0.1 m" in found.warnings[0]


def test_what_is_told(tmp_path):
    with_class = load(scenario(tmp_path)).warnings
    assert with_class == (
        "p.csv: points are up to 3 m apart, so no wave shorter than 6 m is in it; made-up roughness (class C, 0.167 "
        "to 10 c/m) stands for waves of 6 m down to 0.1 m: each ground drawn has others",
    )
    without = load(scenario(tmp_path, text="")).warnings
    assert len(without) == 1
    assert 'roughness_class = "C" (or another) in [ground.profile] puts waves of 6 m down to 0.1 m on it' in without[0]


def test_a_fine_profile_needs_nothing(tmp_path):
    assert load(scenario(tmp_path, spacing=0.25, length=60.0, text="", uneven=0.01)).warnings == ()
    found = load(scenario(tmp_path, spacing=0.05, length=60.0, uneven=0.01))
    assert found.warnings == (
        "p.csv: its points hold waves down to 0.1 m, all that a wheel feels: roughness_class adds nothing",
    )
    assert found.roughness_label == "measured"


def test_roughness_given_twice_is_told(tmp_path):
    twice = load(scenario(tmp_path, more='[ground.roughness]\nclass = "D"\n'))
    assert any("both put waves on the ground from 0.167 to 10 c/m" in text for text in twice.warnings)
    long_waves = '[ground.roughness]\nclass = "D"\nband_c_per_m = [0.05, 0.16]\n'
    assert len(load(scenario(tmp_path, more=long_waves)).warnings) == 1


def test_one_wide_gap_is_told(tmp_path):
    found = load(scenario(tmp_path, gap=(300.5, 310.0)))
    assert any("the widest gap, 12 m at 300 m, is over 2 times the usual 3 m" in text for text in found.warnings)


def test_a_profile_from_outside_takes_over_the_class(tmp_path):
    path = scenario(tmp_path)
    found = load("coarse_log", profile=tmp_path / "p.csv")
    assert path.exists()
    assert found.roughness_label == "measured + class C below 6 m"
    assert load("rough", profile=tmp_path / "p.csv").roughness_label == "measured"
