import json
from dataclasses import replace

import invented
import numpy as np
import pytest

from analysis.crossing import summary as measures
from analysis.crossing.measures import setting_change
from analysis.crossing.one_run import measure
from analysis.crossing.poisson import interval
from analysis.crossing.summary import episode_rows, run_summary, unchanged_share
from scenarios.spec import Machine
from sim.errors import RunError
from sim.record import CAUSES, PINS
from sim.run import simulate
from sim.unit import GRAVITY

SHAPE = {
    "scenario": None,
    "settings": {"oil_pressure_bar", "precharge_bar", "speed_kmh", "set_depth_mm", "downforce_kgf"},
    "distance_m": None,
    "depth": {
        "mean_mm", "error_mean_mm", "error_sd_mm", "error_p05_mm", "error_p95_mm", "on_depth_share",
        "on_depth_share_unchanged_setting",
    },
    "causes": {*CAUSES, "sum_residual_mm"},
    "gauge_load": {"mean_N", "sd_N", "p05_N", "p95_N", "wheel_off_share"},
    "press_load": {"mean_N", "sd_N"},
    "disc": {"rock_peak_N"},
    "wheel_off": {"episodes", "per_km", "length_share", "by_cause"},
    "breakouts": {"count", "per_km", "per_ha", "list"},
    "pins": set(PINS),
    "pins_check": {"upper_link_moment_N_m", "press_arm_moment_N_m", "toolbar_power_W"},
    "gas": {"pressure_min_bar", "pressure_max_bar", "ran_out_of_oil"},
    "energy": {"work_J", "residual_J", "residual_share"},
    "warnings": None,
    "run": {"steps", "step_s", "wall_s", "compile_s", "seed", "version"},
}  # fmt: skip


@pytest.fixture(scope="module")
def scenario():
    return invented.short_scenario("stony", 30.0).with_settings(oil_pressure=50e5)


@pytest.fixture(scope="module")
def run(scenario):
    return simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)


@pytest.fixture(scope="module")
def document(run, scenario):
    return run_summary(run, scenario)


def test_the_document_has_every_key(document):
    for key, inner in SHAPE.items():
        assert key in document
        if inner is not None:
            assert inner <= set(document[key]), key
    for cause in CAUSES:
        assert set(document["causes"][cause]) == {"mean_mm", "sd_mm", "share_of_variance"}
    for pin in PINS:
        assert set(document["pins"][pin]) == {"peak_N", "rms_N", "mean_N"}


def test_the_document_is_json_without_nan(document):
    assert json.loads(json.dumps(document, allow_nan=False)) == document


def test_figures_come_from_the_run(document, run, scenario):
    assert document["settings"]["oil_pressure_bar"] == 50.0
    assert document["settings"]["downforce_kgf"] == pytest.approx(run.downforce / GRAVITY)
    assert document["distance_m"] == pytest.approx(30.0, abs=0.02)
    assert document["depth"]["mean_mm"] == pytest.approx(1e3 * run.series["depth"].mean())
    assert document["gauge_load"]["wheel_off_share"] == np.mean(run.series["gauge_load"] == 0.0)
    struck, at_steps = document["disc"]["rock_peak_N"], run.series["rock_force"].max()
    assert 0.0 < at_steps <= struck == pytest.approx(at_steps, rel=0.05)  # with what lies between two steps
    peak, sampled = document["pins"]["gauge_arm"]["peak_N"], run.pin_load("gauge_arm").max()
    assert sampled <= peak == pytest.approx(sampled, rel=0.01)  # with what lies between two steps
    assert sum(document["causes"][c]["share_of_variance"] for c in CAUSES) == pytest.approx(1.0)
    assert document["gas"]["pressure_min_bar"] < 50.0 < document["gas"]["pressure_max_bar"]
    assert document["run"]["seed"] == scenario.seed
    assert document["run"]["steps"] == run.steps


def test_wheel_off_and_breakouts_are_counted_per_km_and_per_hectare(document, scenario):
    off, broken, km = document["wheel_off"], document["breakouts"], document["distance_m"] / 1e3
    assert broken["count"] == len(broken["list"]) > 0
    assert broken["per_km"] == pytest.approx(broken["count"] / km)
    # a hectare holds 10 000 m² / row spacing of row
    assert broken["per_ha"] == pytest.approx(broken["per_km"] * 10.0 / scenario.machine.row_spacing)
    assert broken["per_km_interval"] == pytest.approx([end / km for end in interval(broken["count"])])
    assert off["episodes"] == sum(off["by_cause"].values()) > 0
    assert off["length_share"] == pytest.approx(sum(off["length_m_by_cause"].values()) / document["distance_m"])
    first = broken["list"][0]
    assert set(first) == {
        "position_m", "rise_mm", "regain_m", "disc_peak_N", "pin", "pin_peak_N", "pressure_max_bar",
    }  # fmt: skip
    assert first["pin"] in PINS


def test_row_spacing_changes_only_the_count_per_hectare(run, scenario, document):
    wide = replace(scenario, machine=Machine(row_spacing=2 * scenario.machine.row_spacing))
    found = run_summary(run, wide, run)
    assert found["breakouts"]["per_ha"] == pytest.approx(document["breakouts"]["per_ha"] / 2)
    assert found["breakouts"]["per_km"] == document["breakouts"]["per_km"]


def test_the_share_with_the_setting_left_alone_is_that_of_its_own_crossing(run, scenario, document):
    left = simulate(scenario.unit, scenario.soil, run.track, replace(scenario.settings, setting="unchanged"))
    share = np.mean(np.abs(left.series["depth"] - scenario.settings.set_depth) <= 0.010)
    assert document["depth"]["on_depth_share_unchanged_setting"] == share != document["depth"]["on_depth_share"]
    assert run_summary(run, scenario, left)["depth"] == document["depth"]


def test_no_second_crossing_where_the_setting_is_the_references(monkeypatch):
    monkeypatch.setattr(measures, "simulate", lambda *_: pytest.fail("crossed again"))
    run = invented.made_run(depth=0.040)
    assert unchanged_share(run, 0.010) == (1.0, "")


def test_a_second_crossing_that_fails_leaves_none_with_its_reason(run, scenario, monkeypatch):
    def failing(*_):
        raise RunError("pressed into its stop")

    monkeypatch.setattr(measures, "simulate", failing)
    found = run_summary(run, scenario)
    assert found["depth"]["on_depth_share_unchanged_setting"] is None
    assert "pressed into its stop" in found["reasons"]["depth.on_depth_share_unchanged_setting"]


def test_a_flat_crossing_has_no_shares_of_variance_and_says_why():
    scenario = invented.short_scenario("smooth", 6.0)
    run = invented.made_run(depth=0.040, **dict.fromkeys(CAUSES, 0.0))
    found = run_summary(run, scenario)
    assert found["causes"]["linkage"]["share_of_variance"] is None
    assert "does not vary" in found["reasons"]["causes.*.share_of_variance"]
    json.dumps(found, allow_nan=False)


def test_more_pressure_than_at_the_reference_needs_a_shallower_setting():
    scenario = invented.short_scenario("smooth", 6.0)

    def change(bar):
        settings = scenario.with_settings(oil_pressure=bar * 1e5, reference_pressure=60e5).settings
        return setting_change(simulate(scenario.unit, scenario.soil, scenario.track(), settings))

    assert change(80) < 0.0 < change(45)
    # the wheel's squash grows by 10.5 mm a kN and it carries what the cylinder adds at the disc's distance
    assert change(80) == pytest.approx(-7.2e-3, abs=1.5e-3)


def test_measures_and_rows_agree(run, document):
    m = measure(run, 0.010)
    rows = episode_rows(run, 0.010)
    assert len(rows) == len(m.episodes) == document["wheel_off"]["episodes"]
    assert rows[0]["rise_mm"] == pytest.approx(1e3 * m.episodes[0].rise)
    assert {row["cause"] for row in rows} <= set(document["wheel_off"]["by_cause"])
