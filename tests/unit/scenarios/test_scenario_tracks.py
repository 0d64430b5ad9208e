"""The track of a scenario: layout, blending, determinism, and streams that do not touch each other."""

from __future__ import annotations

import pickle
from dataclasses import replace

import numpy as np
import pytest

from scenarios.format.errors import ScenarioError
from scenarios.ground.strength import strength_shares
from scenarios.load import load
from scenarios.spec import Gilgai, Hump, Roughness
from sim.track import Track

FULL = """title = "t"
[ground]
length_m = 60
seed = 5
[ground.roughness]
class = "D"
[[ground.features]]
kind = "gilgai"
height_mm = 100
wavelength_m = 5
[stones]
rate_per_100m = 30
"""


@pytest.fixture(scope="module")
def full(tmp_path_factory):
    path = tmp_path_factory.mktemp("tracks") / "full.toml"
    path.write_text(FULL, encoding="utf-8")
    return load(path)


def same(a: Track, b: Track) -> bool:
    return all(
        np.array_equal(getattr(a, name), getattr(b, name)) for name in ("ground", "stone_top", "stone_id", "strength")
    )


def test_layout_of_the_grid(full):
    track = full.track()
    assert (track.x0, track.dx, track.x_from, track.x_to) == (-30.0, 0.005, 0.0, 60.0)
    assert track.x[-1] == pytest.approx(66.0, abs=1e-9)
    assert track.ground.shape == track.stone_top.shape == track.stone_id.shape == track.strength.shape
    assert track.stone_id.dtype == np.int32


def test_lead_in_is_flat_then_blends_then_settles(full):
    """Flat and even up to −12 m; between −12 and −4 m the full ground times 3u² − 2u³; full from −4 m on."""
    track = full.track()
    x = track.x
    flat = x <= -12.0
    assert np.all(track.ground[flat] == 0.0)
    assert np.all(track.strength[flat] == full.soil.strength)
    u = np.clip((x + 12.0) / 8.0, 0.0, 1.0)
    ramp = 3 * u**2 - 2 * u**3
    shares = strength_shares(full.variation, x.size, 0.005, full.seed)
    np.testing.assert_allclose(track.strength, full.soil.strength * (1.0 + ramp * (shares - 1.0)), rtol=1e-12)
    inside = (x > -12.0) & (x < -4.0)
    assert np.max(np.abs(track.ground[inside])) > 0.01
    bare = replace(
        full, ground=replace(full.ground, features=(Hump(at=-8.0, height=0.2, length=16.0),), roughness=None)
    )
    expected = 0.2 * 0.5 * (1 + np.cos(2 * np.pi * np.clip((x + 8.0) / 16.0, -0.5, 0.5))) * ramp
    np.testing.assert_allclose(bare.track().ground, expected, atol=1e-12)


def test_the_same_seed_gives_the_same_bits(full):
    assert same(full.track(), full.track())
    assert same(full.track(seed=5), full.track())
    assert same(pickle.loads(pickle.dumps(full)).track(), full.track())


def test_another_seed_gives_other_ground_stones_and_strength(full):
    one, two = full.track(seed=1), full.track(seed=2)
    for name in ("ground", "stone_id", "strength"):
        assert not np.array_equal(getattr(one, name), getattr(two, name)), name


def test_every_kind_of_randomness_has_a_stream_of_its_own(full):
    """Taking one part away leaves the others as they were, to the bit."""
    track = full.track()
    no_stones = replace(full, stones=replace(full.stones, rate_per_100m=0.0)).track()
    assert np.array_equal(no_stones.ground, track.ground)
    assert np.array_equal(no_stones.strength, track.strength)
    no_rough = replace(full, ground=replace(full.ground, roughness=None))
    assert np.array_equal(no_rough.track().strength, track.strength)
    assert no_rough.stones_on_track() == full.stones_on_track()
    no_gilgai = replace(full, ground=replace(full.ground, features=()))
    np.testing.assert_allclose(
        no_rough.track().ground + no_gilgai.track().ground, track.ground, atol=1e-12, err_msg="parts do not add up"
    )
    even = replace(full, variation=replace(full.variation, variation_cv=0.0)).track()
    assert np.array_equal(even.ground, track.ground)
    assert np.all(even.strength == full.soil.strength)


def test_two_gilgai_fields_differ(full):
    twice = replace(
        full, ground=replace(full.ground, features=(Gilgai(height=0.1, wavelength=5.0),) * 2, roughness=None)
    )
    once = replace(twice, ground=replace(twice.ground, features=twice.ground.features[:1]))
    assert not np.allclose(twice.track().ground, 2.0 * once.track().ground)


def test_no_stone_reaches_into_the_lead_in(full):
    for seed in range(20):
        track = full.track(seed=seed)
        assert np.all(track.stone_id[track.x < 0.0] == -1)
        assert np.all(track.stone_top[track.stone_id < 0] <= track.ground[track.stone_id < 0] - 1.0)


def test_length_can_be_changed(full):
    track = full.track(length=20.0)
    assert (track.x_from, track.x_to) == (0.0, 20.0)
    assert track.x[-1] == pytest.approx(26.0, abs=1e-9)
    assert full.track(length=100.0).x_to == 100.0
    with pytest.raises(ScenarioError, match="length: given -1"):
        full.track(length=-1.0)


def test_long_toolbars_get_the_ground_they_need(full):
    """Both axles lie on the grid with the disc at either end of the run."""
    toolbar = replace(full.unit.toolbar, axle_front=9.0, axle_rear=8.0)
    wide = replace(full, unit=replace(full.unit, toolbar=toolbar))
    track = wide.track()
    centre = full.unit.main_links.length - toolbar.upper_pin[0] - full.unit.disc.hub[0]
    assert track.x[-1] > track.x_to + centre + toolbar.axle_front
    assert track.x0 < track.x_from - 26.0 + centre - toolbar.axle_rear


def test_settings_can_be_changed_within_their_range(full):
    other = full.with_settings(oil_pressure=45e5, setting="unchanged")
    assert (other.settings.oil_pressure, other.settings.setting) == (45e5, "unchanged")
    assert other.settings.reference_pressure == 40e5
    assert full.settings.oil_pressure == 40e5
    with pytest.raises(ScenarioError) as caught:
        full.with_settings(oil_pressure=400e5, speed=0.0, setting="again")
    assert len(caught.value.faults) == 3
    assert "settings.oil_pressure_bar: given 400.0; allowed: 1 to 250 bar" in str(caught.value)
    with pytest.raises(TypeError):
        full.with_settings(pressure=1.0)


def test_strength_scales_with_the_soil(full):
    weaker = full.with_soil(strength=0.7 * full.soil.strength)
    np.testing.assert_allclose(weaker.track().strength, 0.7 * full.track().strength, rtol=1e-12)


def test_one_class_rougher_is_twice_as_high(full):
    """Four times the density: twice the height (ISO 8608: the class means rise by 4)."""
    bare = replace(full, ground=replace(full.ground, features=()))
    np.testing.assert_allclose(
        bare.with_roughness_scaled(4.0).track().ground, 2.0 * bare.track().ground, rtol=1e-9, atol=1e-15
    )
    next_class = replace(bare, ground=replace(bare.ground, roughness=Roughness(letter="E")))
    np.testing.assert_allclose(
        bare.with_roughness_scaled(4.0).track().ground, next_class.track().ground, rtol=1e-9, atol=1e-15
    )


def test_labels_of_roughness(full):
    assert full.roughness_label == "class D"
    assert full.with_roughness_scaled(4.0).roughness_label == "Gd(0.1) = 0.0041 m³"
    assert load("smooth").roughness_label == ""
    smooth = load("smooth")
    assert smooth.with_roughness_scaled(4.0) == smooth


def test_seeds_of_a_search_follow_the_seed_of_the_ground(full):
    assert full.search_seeds == (5, 6, 7)


def test_changes_from_outside(tmp_path):
    found = load("rough", changes={"settings.oil_pressure_bar": 45, "ground.seed": 9, "unit.disc.sweep_deg": 6})
    assert (found.settings.oil_pressure, found.seed) == (45e5, 9)
    with pytest.raises(ScenarioError) as caught:
        load("rough", changes={"settings.oil_pressure_bar": 4500, "settings.sped_kmh": 9})
    assert len(caught.value.faults) == 2
    assert all(text.split(" ")[1:4] == ["(in", "place", "of"] for text in caught.value.faults)
    with pytest.raises(ScenarioError, match="title is none"):
        load("rough", changes={"title.x": 1})


def test_hectares_an_hour():
    """2 m × 8 km/h = 1.6 ha/h, at 70 % field efficiency 1.12 ha/h (by hand)."""
    machine = load("rough").machine
    assert machine.width == 2.0
    assert machine.hectares_per_hour(8 / 3.6) == pytest.approx(1.12)
