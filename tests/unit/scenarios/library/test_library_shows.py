"""Every scenario of the library loads, is short, and shows what its sentence says."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from every import every

from scenarios.format.library import KINDS, find, library
from scenarios.load import load
from sim.record import Run
from sim.run import simulate

NAMES = [entry.name for entry in library()]


@cache
def crossed(name: str) -> Run:
    found = load(name)
    return simulate(found.unit, found.soil, found.track(), found.settings)


def test_the_library_is_there():
    assert set(NAMES) == {
        "smooth", "hump", "hollow", "rough", "gilgai", "stony", "hard_ground", "gully", "no_cushion",
        "bank", "ridges", "patches", "stone_field", "coarse_log",
    }  # fmt: skip


@every("name", NAMES)
def test_entries_are_short_and_say_what_they_show(name):
    found = load(name)
    assert found.name == name
    assert found.title
    assert found.shows.endswith(".")
    assert found.shows.count(". ") == 0
    assert found.warnings == () or name == "coarse_log"
    lines = [line for line in found.path.read_text(encoding="utf-8").splitlines() if line.strip()]
    assert len(lines) <= 20


@every("kind", ["unit", "soil"])
def test_units_and_soils_load_as_a_base(kind, tmp_path):
    entries = library(kind)
    assert len(entries) >= 2
    for entry in entries:
        path = tmp_path / "a.toml"
        path.write_text(f'title = "t"\n[ground]\nlength_m = 20\n[{kind}]\nbase = "{entry.name}"\n', encoding="utf-8")
        assert load(path).length == 20.0
        assert entry.title
        assert entry.shows


def test_names_and_paths(tmp_path, monkeypatch):
    assert find("rough", "scenario", where="x") == KINDS["scenario"] / "rough.toml"
    assert load(KINDS["scenario"] / "rough.toml") == load("rough")
    (tmp_path / "field").write_text('title = "own"\n[ground]\nlength_m = 20\n', encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert load("field").title == "own"
    assert load("./field").title == "own"


def test_smooth_has_no_error():
    run = crossed("smooth")
    assert np.max(np.abs(run.series["depth"] - 0.040)) < 1e-4


def test_hump_is_too_deep_going_up_and_too_shallow_going_down():
    run = crossed("hump")
    x, error = run.series["distance"], run.series["depth"] - 0.040
    up, down = (x > 18.5) & (x < 20.0), (x > 20.0) & (x < 21.5)
    assert np.max(error[up]) > 0.010
    assert np.min(error[down]) < -0.010


def test_hollow_is_too_shallow_going_in_where_pressure_falls_and_too_deep_coming_out():
    run = crossed("hollow")
    x, error, oil = run.series["distance"], run.series["depth"] - 0.040, run.series["oil_pressure"]
    into, out = (x > 18.5) & (x < 20.0), (x > 20.0) & (x < 21.5)
    assert np.min(error[into]) < -0.010
    assert np.max(error[out]) > 0.008
    assert np.min(oil[(x > 19.0) & (x < 21.0)]) < oil[0] - 5e5


def test_rough_costs_depth_with_speed():
    found = load("rough").with_settings(speed=13 / 3.6)
    fast = simulate(found.unit, found.soil, found.track(), found.settings)
    assert np.std(fast.series["depth"]) > 1.1 * np.std(crossed("rough").series["depth"])


def test_gilgai_swings_arms_and_pressure():
    run = crossed("gilgai")
    assert np.degrees(np.ptp(run.series["arm_angle"])) > 15.0
    assert np.ptp(run.series["oil_pressure"]) > 10e5


def test_stony_has_rocks_that_the_disc_strikes():
    run = crossed("stony")
    assert np.max(run.series["rock_force"]) > 5e3
    strikes = np.diff((run.series["rock_force"] > 0.0).astype(int)) == 1
    assert np.sum(strikes) >= 10


def test_hard_ground_is_too_hard_for_its_pressure():
    run = crossed("hard_ground")
    assert not run.setting.reached
    assert np.mean(run.series["gauge_load"] <= 0.0) > 0.8
    assert np.mean(run.series["spare_load"]) < 0.0


def test_gully_reaches_the_stop():
    run = crossed("gully")
    assert np.max(np.abs(run.series["stop_force"])) > 1e3


def test_no_cushion_runs_out_of_oil():
    run = crossed("no_cushion")
    assert np.mean(run.series["gas_volume"] > run.unit.accumulator.volume) > 0.5


def test_bank_is_too_deep_on_the_way_up_and_too_shallow_before_and_behind():
    run = crossed("bank")
    x, error = run.series["distance"], run.series["depth"] - 0.040
    before, up, behind = (x > 18.0) & (x < 21.5), (x > 22.0) & (x < 25.0), (x > 26.0) & (x < 28.5)
    assert np.max(error[up]) > 0.020
    assert np.min(error[before]) < -0.005
    assert np.min(error[behind]) < -0.010
    assert np.abs(error[x > 40.0]).max() < 0.002


def test_ridges_are_met_as_waves_of_spacing_over_sine():
    """0.9 m at 30°: 1.8 m, so that depth and ground swing 100/1.8 times on 100 m."""
    run = crossed("ridges")
    error = run.series["depth"] - np.mean(run.series["depth"])
    x = np.arange(0.0, 100.0, 0.01)
    spectrum = np.abs(np.fft.rfft(np.interp(x, run.series["distance"], error)))
    assert np.fft.rfftfreq(x.size, 0.01)[1 + np.argmax(spectrum[1:])] == pytest.approx(1.0 / 1.8, abs=0.006)


def test_patches_overload_the_gauge_wheel_or_leave_it_in_the_air():
    run = crossed("patches")
    load = run.series["gauge_load"]
    hard = np.interp(run.series["distance"], run.track.x, run.track.strength) > 2.0e6
    assert np.mean(load[hard] <= 0.0) > 0.3
    assert np.mean(load[~hard] <= 0.0) < 0.02
    assert np.percentile(load, 95) > 1.5 * run.setting.gauge_load


def test_stones_of_a_field_are_struck_from_60_m_on_mostly_off_their_middle():
    found, run = load("stone_field"), crossed("stone_field")
    rock = run.series["rock_force"] > 0.0
    assert np.min(run.series["distance"][rock]) > 59.0
    assert np.sum(np.diff(rock.astype(int)) == 1) >= 8
    stones = [stone for seed in range(40) for stone in found.stones_on_track(seed)]
    assert len(stones) / 40 / 146.0 == pytest.approx(0.2, rel=0.1)  # one in five metres, to the end of the ground


def test_the_coarse_log_holds_the_land_and_what_shakes_is_made_up():
    """On even soil the made-up waves make the load on the gauge wheel swing over three times as much."""
    found = load("coarse_log")
    assert len(found.warnings) == 2
    assert "stands for waves of 8 m down to 0.1 m" in found.warnings[0]
    assert "length_m = 300 measures 0 to 300 m of the file; the 1699.28 m behind that" in found.warnings[1]
    assert found.profile is not None
    assert np.diff(found.profile.distance).min() >= 2.0
    assert np.diff(found.profile.distance).max() <= 4.0
    assert found.profile.path.stat().st_size < 40_000
    bare = replace(found, profile=replace(found.profile, fine=None), variation=replace(found.variation, variation_cv=0))
    rough = replace(bare, profile=found.profile)
    spread = []
    for scenario in (bare, rough):
        run = simulate(scenario.unit, scenario.soil, scenario.track(length=100.0), scenario.settings)
        spread.append(np.std(run.series["gauge_load"]))
    assert spread[1] > 3.0 * spread[0]
