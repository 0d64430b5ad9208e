"""Measured ground on the grid: resampling, layout, strength and what is told about it."""

from __future__ import annotations

import numpy as np
import pytest
from every import every
from scipy.interpolate import Akima1DInterpolator

from scenarios.format.errors import ScenarioError
from scenarios.ground.measured.local_plane import LocalPlane
from scenarios.ground.profile_read import read_profile
from scenarios.ground.resample import akima_slopes, resample
from scenarios.load import load

STARTER = 'title = "t"\n[ground]\n'


def write_csv(folder, distance, height, strength=None, name="p.csv", extra=""):
    head = "distance_m,height_m" + (",strength_MPa" if strength is not None else "") + extra
    columns = [distance, height] + ([strength] if strength is not None else [])
    rows = [",".join(f"{v:.6f}" for v in row) + (",x" if extra else "") for row in zip(*columns, strict=True)]
    path = folder / name
    path.write_text("\n".join([head, *rows]) + "\n", encoding="utf-8")
    return path


def wavy(spacing=0.25, length=60.0, first=0.0):
    x = first + spacing * np.arange(round(length / spacing) + 1)
    return x, 105.0 + 0.05 * np.sin(2 * np.pi * (x - first) / 6.0)


def test_resampling_is_the_modified_akima_cubic():
    """Against scipy's own (its method "makima"), on uneven points with flat stretches and a step."""
    rng = np.random.default_rng(5)
    x = np.cumsum(rng.uniform(0.05, 0.4, 80))
    y = np.where(x < x[30], 0.0, np.where(x < x[50], 0.1, rng.normal(0.0, 0.05, 80)))
    at = np.linspace(x[0], x[-1], 5001)
    np.testing.assert_allclose(resample(x, y, at), Akima1DInterpolator(x, y, method="makima")(at), atol=1e-12)


def test_resampling_passes_through_the_points_and_does_not_swing_beyond_a_step():
    x = 0.25 * np.arange(41)
    y = np.where(x > 5.0, 0.2, 0.0)
    np.testing.assert_allclose(resample(x, y, x), y, atol=1e-15)
    fine = resample(x, y, np.linspace(0.0, 10.0, 4001))
    assert fine.min() == 0.0
    assert fine.max() == pytest.approx(0.2, abs=1e-15)


@every(("points", "error"), [(6, 0.03), (8, 0.012), (12, 0.006)])
def test_error_on_a_wave_with_some_points(points, error):
    """RMS error over the wave's RMS; the docstring's 2 % at six points."""
    x = np.arange(0.0, 200.1, 0.25)
    k = 2 * np.pi / (0.25 * points)
    at = np.arange(20.0, 180.0, 0.005)
    wave = np.sin(k * at + 0.7)
    got = resample(x, np.sin(k * x + 0.7), at)
    assert np.sqrt(np.mean((got - wave) ** 2)) < error * np.sqrt(0.5)


def test_a_straight_line_stays_straight():
    x = np.array([0.0, 0.3, 1.0, 1.1, 2.5, 4.0])
    np.testing.assert_allclose(akima_slopes(x, 0.03 * x + 2.0), 0.03, rtol=1e-12)


def test_layout_on_the_profiles_own_distances(tmp_path):
    """Measured from the first point to the last; 26 m and the margin stand ahead, 6 m behind."""
    x, h = wavy(first=100.0)
    found = load(write_toml(tmp_path, write_csv(tmp_path, x, h)))
    assert (found.x_from, found.x_to) == (100.0, 160.0)
    track = found.track()
    assert (track.x_from, track.x_to) == (100.0, 160.0)
    assert track.x0 == pytest.approx(70.0)
    assert track.x[-1] == pytest.approx(166.0)
    assert np.all(track.ground[track.x <= 88.0] == 0.0)
    full = (track.x >= 100.0) & (track.x <= 160.0)
    expected = 0.05 * np.sin(2 * np.pi * (track.x[full] - 100.0) / 6.0)
    ground = track.ground[full]
    np.testing.assert_allclose(ground - ground[0], expected, atol=3e-4)
    assert found.roughness_label == "measured"
    (told,) = found.warnings
    assert "the record is smooth below waves of" in told


def write_toml(folder, csv, text=""):
    path = folder / "p.toml"
    path.write_text(f'{STARTER}{text}[ground.profile]\nfile = "{csv.name}"\n', encoding="utf-8")
    return path


def test_profile_and_made_up_ground_add_up(tmp_path):
    x, h = wavy()
    csv = write_csv(tmp_path, x, h)
    plain = load(write_toml(tmp_path, csv)).track()
    more = '[[ground.features]]\nkind = "hump"\nat_m = 30\nheight_mm = 100\nlength_m = 4\n'
    both = load(write_toml(tmp_path, csv, more)).track()
    expected = 0.1 * 0.5 * (1 + np.cos(2 * np.pi * np.clip((plain.x - 30.0) / 4.0, -0.5, 0.5)))
    np.testing.assert_allclose(both.ground - plain.ground, expected, atol=1e-12)
    rough = load(write_toml(tmp_path, csv, '[ground.roughness]\nclass = "C"\nband_c_per_m = [2, 10]\n'))
    assert rough.roughness_label == "measured + class C"
    added = (rough.track().ground - plain.ground)[plain.x > 0.0]
    assert np.std(added) == pytest.approx(np.sqrt(256e-6 * 0.01 * (1 / 2 - 1 / 10)), rel=0.1)


def test_length_can_be_less_than_the_profile_but_not_more(tmp_path):
    x, h = wavy()
    csv = write_csv(tmp_path, x, h)
    assert load(write_toml(tmp_path, csv, "length_m = 20\n")).x_to == 20.0
    with pytest.raises(ScenarioError, match=r"ground.length_m: given 100; allowed: up to 60 m"):
        load(write_toml(tmp_path, csv, "length_m = 100\n"))
    found = load(write_toml(tmp_path, csv))
    assert found.track(length=10.0).x_to == 10.0
    with pytest.raises(ScenarioError, match="up to 60 m of the profile"):
        found.track(length=61.0)


def test_a_profile_takes_the_place_of_a_scenarios_ground(tmp_path):
    x, h = wavy()
    csv = write_csv(tmp_path, x, h)
    over = load("gilgai", profile=csv)
    alone = load(write_toml(tmp_path, csv))
    assert over.settings == load("gilgai").settings
    assert (over.ground.features, over.ground.roughness) == ((), None)
    np.testing.assert_array_equal(over.track().ground, alone.track().ground)
    stony = load("stony", profile=csv)
    assert np.any(stony.track().stone_id >= 0)


def test_placed_stones_off_the_profile_are_told(tmp_path):
    path = tmp_path / "s.toml"
    text = 'title = "t"\n[ground]\nlength_m = 200\n'
    for at in (30, 150):
        text += f"[[stones.placed]]\nat_m = {at}\nlength_m = 0.3\ntop_mm = 20\n"
    path.write_text(text, encoding="utf-8")
    found = load(path, profile=write_csv(tmp_path, *wavy()))
    assert [stone.at for stone in found.stones.placed] == [30.0]
    assert found.warnings[1:] == ("placed stones that do not lie on the profile and are left out: 1",)
    assert "the record is smooth below waves of" in found.warnings[0]


def test_strength_column(tmp_path):
    """Straight between points; the soil's strength becomes its mean over distance, and scales it."""
    x, h = wavy()
    q = 1.5 + 0.5 * (x > 40.0)
    found = load("rough", profile=write_csv(tmp_path, x, h, q))
    mean = 1.5e6 + 0.5e6 * (60.0 - 40.125) / 60.0
    assert found.soil.strength == pytest.approx(mean, rel=1e-9)
    track = found.track()
    assert np.interp(30.0, track.x, track.strength) == pytest.approx(1.5e6, rel=1e-9)
    assert np.interp(40.125, track.x, track.strength) == pytest.approx(1.75e6, rel=1e-6)
    assert np.interp(50.0, track.x, track.strength) == pytest.approx(2.0e6, rel=1e-9)
    assert np.all(track.strength[track.x < -12.0] == found.soil.strength)
    half = found.with_soil(strength=0.5 * mean).track()
    np.testing.assert_allclose(half.strength, 0.5 * track.strength, rtol=1e-9)


def test_without_a_strength_column_the_soil_is_the_scenarios(tmp_path):
    found = load("rough", profile=write_csv(tmp_path, *wavy()))
    track = found.track()
    share = np.std(track.strength) / np.mean(track.strength)
    assert 0.1 < share < 0.35
    assert found.soil == load("rough").soil


def test_columns_in_any_order_and_others_ignored_by_name(tmp_path):
    path = tmp_path / "odd.csv"
    rows = [f"{5 + 0.01 * i:.3f}, a ,{i * 0.5}" for i in range(80)]
    path.write_text("\ufeffheight_m, note ,distance_m\r\n" + "\r\n".join(rows) + "\r\n\r\n", encoding="utf-8")
    profile = read_profile(path)
    assert profile.ignored == ("note",)
    assert profile.distance[-1] == 39.5
    assert profile.height[1] == 5.01
    assert load("rough", profile=path).warnings[0] == "odd.csv: columns not used: note"


def test_a_strength_under_another_name_is_pointed_out(tmp_path):
    x, h = wavy()
    path = write_csv(tmp_path, x, h, extra=",probe_MPa")
    assert "strength_MPa" in load("rough", profile=path).warnings[0]


def test_coarse_profiles_say_what_they_hold(tmp_path):
    x, h = wavy(spacing=3.0, length=90.0)
    found = load("rough", profile=write_csv(tmp_path, x, h))
    assert found.profile is not None
    assert found.profile.shortest_wavelength == pytest.approx(6.0)
    assert "no wave shorter than 6 m" in found.warnings[0]
    assert 'roughness_class = "C" (or another) in [ground.profile]' in found.warnings[0]
    assert "waves of 6 m down to 0.1 m" in found.warnings[0]


def test_one_large_gap_sets_the_shortest_wavelength(tmp_path):
    x, h = wavy(spacing=0.1)
    keep = (x < 30.0) | (x > 31.0)
    found = load("rough", profile=write_csv(tmp_path, x[keep], h[keep]))
    assert found.profile is not None
    assert found.profile.spacing == pytest.approx(0.1)
    assert found.profile.shortest_wavelength == pytest.approx(2 * 1.2, abs=0.21)
    assert len(found.warnings) == 1


def test_heights_in_another_unit_are_noticed(tmp_path):
    x, h = wavy()
    found = load("rough", profile=write_csv(tmp_path, x, 1000 * (h - 105.0)))
    assert any("are heights in metres?" in text for text in found.warnings)


def test_rougher_measured_ground_is_rougher_in_short_waves_only(tmp_path):
    """Waves of 3 m grow to twice the height, a rise over 200 m stays."""
    x = 0.25 * np.arange(801)
    csv = write_csv(tmp_path, x, 0.03 * x + 0.02 * np.sin(2 * np.pi * x / 3.0))
    found = load("rough", profile=csv)
    plain, rough = found.track(), found.with_roughness_scaled(4.0).track()
    middle = (plain.x > 40.0) & (plain.x < 160.0)
    x, one, two = plain.x[middle], plain.ground[middle], rough.ground[middle]
    waves = [z - np.polyval(np.polyfit(x, z, 1), x) for z in (one, two)]
    assert np.std(waves[1]) / np.std(waves[0]) == pytest.approx(2.0, rel=0.02)
    assert np.polyfit(x, two, 1)[0] == pytest.approx(0.03, abs=2e-4)


def test_deep_ground_keeps_its_surface(tmp_path):
    """A field that falls 30 m: the surface is the ground, not the mark for "no stone" at −9 m."""
    x = 0.5 * np.arange(801)
    track = load("smooth", profile=write_csv(tmp_path, x, -0.08 * x)).track()
    assert track.ground.min() < -25.0
    np.testing.assert_array_equal(track.surface, track.ground)


def test_the_lead_in_is_flat_then_takes_on_the_slope_of_the_first_metres(tmp_path):
    """A slope with ruts: straight on at the mean slope of 12 m on either end, blended in from level ground."""
    x = 0.1 * np.arange(601)
    csv = write_csv(tmp_path, x, 7.0 + 0.05 * x + 0.03 * np.sin(2 * np.pi * x / 2.0))
    track = load(write_toml(tmp_path, csv)).track()
    slope = np.gradient(track.ground, track.x)
    assert np.all(track.ground[track.x <= -12.0] == 0.0)
    np.testing.assert_allclose(slope[(track.x > -3.95) & (track.x < -0.4)], 0.05, atol=0.003)
    np.testing.assert_allclose(slope[(track.x > 60.4) & (track.x < 65.9)], 0.05, atol=0.003)
    blend = (track.x > -12.0) & (track.x < -4.0)
    assert slope[blend].min() >= 0.0
    assert slope[blend].max() == pytest.approx(1.6875 * 0.05, abs=0.003)  # of u·(3u² − 2u³)
    steps = np.abs(np.diff(track.ground))
    assert steps.max() < 1.2 * 0.005 * (0.05 + 0.03 * np.pi)


def test_a_hump_is_met_at_the_files_own_distance(tmp_path):
    """A hump at 120 m of a file that begins at 100 m: its top is there on the track, and its feet are level."""
    x = 100.0 + 0.1 * np.arange(401)
    h = 0.05 * (1 + np.cos(2 * np.pi * np.clip((x - 120.0) / 4.0, -0.5, 0.5)))
    track = load(write_toml(tmp_path, write_csv(tmp_path, x, h))).track()
    assert track.x[np.argmax(track.ground)] == pytest.approx(120.0, abs=0.006)
    assert np.abs(track.ground[np.abs(track.x - 120.0) > 2.1]).max() < 1e-9


@every("length", [6.0, 10.0, 13.0])
def test_a_short_profile_is_measured_whole(length, tmp_path):
    found = load("smooth", profile=write_csv(tmp_path, *wavy(spacing=0.1, length=length)))
    assert found.length == pytest.approx(length)
    assert np.all(np.isfinite(found.track().ground))


def test_what_a_length_leaves_out_is_told(tmp_path):
    csv = write_csv(tmp_path, *wavy(first=100.0))
    told, smooth = sorted(load(write_toml(tmp_path, csv, "length_m = 20\n")).warnings)
    assert "the record is smooth below waves of" in smooth
    assert told == (
        "p.csv: length_m = 20 measures 100 to 120 m of the file; the 40 m behind that, to 160 m, are left out"
    )


# --- a receiver's log -------------------------------------------------------------------------------------------


def write_log(folder, east, north, height, places=9):
    """Places about 33° south, 148° east, as a receiver logs them."""
    latitude, longitude = LocalPlane(-33.0, 148.0).to_degrees(np.asarray(east), np.asarray(north))
    rows = [f"{a:.{places}f},{b:.{places}f},{h:.4f}" for a, b, h in zip(latitude, longitude, height, strict=True)]
    path = folder / "log.csv"
    path.write_text("\n".join(["latitude_deg,longitude_deg,elevation_m", *rows]) + "\n", encoding="utf-8")
    return path


def test_a_log_of_places_is_the_same_ground_as_its_distances(tmp_path):
    """Along a bent line north-east; nine decimals of a degree are 0.1 mm."""
    x, height = wavy(spacing=0.5)
    heading = 0.6 + 0.004 * x
    steps = np.diff(x)
    east = np.concatenate([[0.0], np.cumsum(steps * np.sin(heading[1:]))])
    north = np.concatenate([[0.0], np.cumsum(steps * np.cos(heading[1:]))])
    logged = read_profile(write_log(tmp_path, east, north, height))
    given = read_profile(write_csv(tmp_path, x, height))
    np.testing.assert_allclose(logged.distance, given.distance, atol=0.01)
    np.testing.assert_allclose(logged.height, given.height, atol=1e-4)
    a, b = (load("rough", profile=tmp_path / name) for name in ("log.csv", "p.csv"))
    assert (a.x_from, a.x_to) == pytest.approx((b.x_from, b.x_to), abs=0.01)


def test_a_log_that_stands_still_or_loses_its_place_is_told_by_line(tmp_path):
    x, height = wavy(spacing=0.5)
    path = write_log(tmp_path, np.where(np.arange(x.size) == 5, x[4], x), np.zeros_like(x), height)
    with pytest.raises(ScenarioError) as caught:
        load("rough", profile=path)
    assert "line 7: the place of line 6 again" in caught.value.faults[0]
    lines = path.read_text().splitlines()
    lines[20] = "0,0,105"
    path.write_text("\n".join(lines) + "\n")
    with pytest.raises(ScenarioError) as caught:
        load("rough", profile=path)
    assert "line 21: latitude 0, longitude 0" in caught.value.faults[0]


def test_a_log_with_a_column_by_another_name_is_told_which(tmp_path):
    path = tmp_path / "log.csv"
    path.write_text("latitude_deg,longitude_deg,elevation\n-33,148,105\n" * 5, encoding="utf-8")
    with pytest.raises(ScenarioError) as caught:
        read_profile(path)
    assert 'rename "elevation" to elevation_m' in caught.value.faults[0]
