"""Patches of soft and hard soil: place, share, and what they leave alone."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from every import every

from scenarios.ground.patches import covered, patch_factor, random_patches
from scenarios.load import load
from scenarios.spec import Hump, Patch, Patches

X = -30.0 + 0.005 * np.arange(20001)


def at(values, x):
    return float(np.interp(x, X, values))


def test_a_patch_by_its_place():
    """Half the strength from 20 to 30 m: three quarters at its ends, where the change is half done; fade 0.5 m."""
    factor = patch_factor([Patch(start=20.0, end=30.0, strength_share=0.5)], X, 1)
    assert at(factor, 25.0) == pytest.approx(0.5)
    assert at(factor, 20.0) == at(factor, 30.0) == pytest.approx(0.75, abs=1e-9)
    assert np.all(factor[(X < 19.74) | (X > 30.26)] == 1.0)
    assert np.all(np.abs(factor[(X > 20.26) & (X < 29.74)] - 0.5) < 1e-12)
    assert np.trapezoid(1.0 - factor, X) == pytest.approx(0.5 * 10.0, rel=1e-6)  # the change leaves the length alone


def test_patches_that_overlap_multiply():
    both = [Patch(start=20.0, end=30.0, strength_share=0.5), Patch(start=25.0, end=35.0, strength_share=3.0)]
    factor = patch_factor(both, X, 1)
    assert [at(factor, x) for x in (22.0, 27.0, 33.0)] == pytest.approx([0.5, 1.5, 3.0])


def test_touching_patches_leave_no_gap_between_them():
    ends = np.array([[20.0, 30.0], [30.0, 40.0]])
    inside = (X > 20.3) & (X < 39.7)
    np.testing.assert_allclose(covered(ends, 0.5, X)[inside], 1.0, atol=1e-12)


@every("share", [0.1, 0.3, 0.7])
def test_share_and_size_of_random_patches(share):
    """Over ten rows of 100 km: the share in patches within 2 % of what was asked, lengths even in 4·(1 ± 0.5) m."""
    spec = Patches(share=share, size=4.0, strength_share=2.0)
    rows = [random_patches(spec, 0.0, 100_000.0, seed) for seed in range(10)]
    assert sum(np.sum(np.diff(ends, axis=1)) for ends in rows) / 1e6 == pytest.approx(share, rel=0.02)
    ends = rows[0]
    lengths = ends[:, 1] - ends[:, 0]
    assert np.all((lengths >= 2.0) & (lengths <= 6.0))
    assert np.mean(lengths) == pytest.approx(4.0, rel=0.02)
    gaps = ends[1:, 0] - ends[:-1, 1]
    assert np.all(gaps >= 0.0)
    assert np.std(gaps) == pytest.approx(np.mean(gaps), rel=0.05)  # exponential


def test_the_start_of_a_track_is_like_any_other_place():
    """Over 3000 seeds the share in patches right at the start is the share asked for."""
    spec = Patches(share=0.3, size=5.0, strength_share=2.0)
    hits = 0
    for seed in range(3000):
        ends = random_patches(spec, 0.0, 1.0, seed)
        hits += bool(np.any((ends[:, 0] <= 0.0) & (ends[:, 1] >= 0.0)))
    assert hits / 3000 == pytest.approx(0.3, abs=4 * np.sqrt(0.3 * 0.7 / 3000))


def test_a_longer_row_only_adds_to_a_shorter_one():
    spec = Patches(share=0.3, size=5.0, strength_share=2.0)
    short, long = random_patches(spec, 0.0, 100.0, 3), random_patches(spec, 0.0, 400.0, 3)
    np.testing.assert_array_equal(long[: len(short)], short)
    assert len(long) > len(short) > 3


def test_two_kinds_of_patches_lie_in_different_places_and_change_nothing_else():
    found = load("patches")
    one = replace(found, ground=replace(found.ground, features=found.ground.features[:1]))
    none = replace(found, ground=replace(found.ground, features=()))
    first = one.track().strength / none.track().strength
    second = found.track().strength / one.track().strength
    measured = found.track().x > 0.0
    assert set(np.round(first[measured], 6)) >= {0.5, 1.0}
    assert set(np.round(second[measured], 6)) >= {2.5, 1.0}
    assert not np.array_equal(first < 0.75, second > 1.5)
    np.testing.assert_array_equal(found.track().ground, none.track().ground)
    hump = (Hump(at=50.0, height=0.1, length=3.0), *found.ground.features)
    bumped = replace(found, ground=replace(found.ground, features=hump))
    np.testing.assert_array_equal(bumped.track().strength, found.track().strength)


def test_patches_change_a_measured_strength_too(tmp_path):
    x = 0.25 * np.arange(241)
    csv = tmp_path / "p.csv"
    rows = "\n".join(f"{a},0,2.0" for a in x)
    csv.write_text(f"distance_m,height_m,strength_MPa\n{rows}\n", encoding="utf-8")
    toml = tmp_path / "p.toml"
    patch = '[[ground.features]]\nkind = "patch"\nstart_m = 20\nend_m = 30\nstrength_share = 0.5\n'
    toml.write_text(f'title = "t"\n[ground]\n[ground.profile]\nfile = "p.csv"\n{patch}', encoding="utf-8")
    track = load(toml).track()
    assert np.interp(25.0, track.x, track.strength) == pytest.approx(1.0e6)
    assert np.interp(40.0, track.x, track.strength) == pytest.approx(2.0e6)


def test_a_profile_from_outside_keeps_patches_that_lie_on_it(tmp_path):
    x = 0.25 * np.arange(241)
    csv = tmp_path / "p.csv"
    csv.write_text("distance_m,height_m\n" + "\n".join(f"{a},0" for a in x) + "\n", encoding="utf-8")
    toml = tmp_path / "p.toml"
    text = 'title = "t"\n[ground]\nlength_m = 200\n'
    for start in (20, 150):
        text += f'[[ground.features]]\nkind = "patch"\nstart_m = {start}\nend_m = {start + 9}\nstrength_share = 2\n'
    text += '[[ground.features]]\nkind = "hump"\nat_m = 30\nheight_mm = 100\nlength_m = 3\n'
    toml.write_text(text, encoding="utf-8")
    found = load(toml, profile=csv)
    assert found.ground.features == (Patch(start=20.0, end=29.0, strength_share=2.0),)
    assert found.warnings == ("patches and stone fields that do not lie on the profile and are left out: 1",)
