"""Checks of the numbers: verdicts, stretches, cut tracks, differences; and that a wrong number is noticed."""

from __future__ import annotations

import json
from dataclasses import replace

import numpy as np
import pytest
from drawn import amiss
from every import every
from invented import made_run, short_scenario
from synthetic_ground import GEOMETRIC_MEAN, stony

from analysis.verify.checks import (
    Check,
    VerifyResult,
    balance_checks,
    common,
    difference,
    engine_checks,
    step_checks,
    verify,
    verify_scenario,
)
from analysis.verify.engines import compare_engines, course
from analysis.verify.figure_engines import VIEWS, engines_figure
from analysis.verify.stretches import Window, cut, pin_loads, windows
from sim.record import Energy
from sim.run import simulate
from sim.track import flat_track
from sim.unit import Settings, Soil, Unit

HERE = Window("worst", 0.0, 3.0)


def failed(checks) -> list[str]:
    return [check.key for check in checks if not check.passed]


def with_load(run, factor):
    return replace(run, pins=run.pins * factor)


# --- verdicts ---------------------------------------------------------------------------------------------------


@every(
    ("value", "least", "passed"),
    [(0.5, False, True), (1.0, False, True), (1.5, False, False), (1.5, True, True), (0.5, True, False),
     (None, True, True)],
)  # fmt: skip
def test_a_value_passes_on_its_side_of_the_bound(value, least, passed):
    assert Check("a", "what", value, "mm", 1.0, least=least).passed is passed
    if value is not None:  # a number of numpy's gives a plain verdict too
        assert Check("a", "what", np.float64(value), "mm", 1.0, least=least).passed is passed


def test_a_value_that_is_no_number_fails():
    assert not Check("a", "what", float("nan"), "mm", 1.0).passed
    assert not Check("a", "what", float("nan"), "", 1.0, least=True).passed


def test_one_failed_check_fails_the_whole():
    good, bad = Check("a", "good", 0.1, "mm", 1.0), Check("b", "bad", 2.0, "%", 1.0, note="this pin")
    assert VerifyResult("x", "X", 0.004, (good,), 1.0).passed
    result = VerifyResult("x", "X", 0.004, (good, bad), 1.0)
    assert not result.passed
    text = "\n".join(result.lines())
    assert "ok    good: 0.1 mm, at most 1 mm" in text
    assert "FAIL  bad: 2 %, at most 1 %  (this pin)" in text
    document = json.loads(json.dumps(result.document()))
    assert document["passed"] is False
    assert [c["passed"] for c in document["checks"]] == [True, False]


# --- stretches --------------------------------------------------------------------------------------------------


def knocked(length: float, at: float, calm: float):
    """A run over `length` [m] with a knock at one place and a calm 20 m from another."""
    steps = round(length / 0.005)
    run = made_run(1)
    x = 0.0025 + 0.005 * np.arange(steps)
    load = np.where((x > calm) & (x < calm + 20.0), 100.0, 1000.0)
    load[np.argmin(np.abs(x - at))] = 9000.0
    pins = np.zeros((steps, 14, 2))
    pins[:, 3, 1] = load
    return replace(run, series={"distance": x}, pins=pins, track=flat_track(length, 1.2e6))


def test_worst_and_calmest_stretch():
    worst, calm = windows(knocked(100.0, 70.0, 20.0), 20.0)
    assert worst == Window("worst", pytest.approx(60.0, abs=0.01), pytest.approx(80.0, abs=0.01))
    assert calm.name == "calmest"
    assert calm.start == pytest.approx(20.0, abs=1.01)


def test_stretches_stay_on_the_track_and_apart():
    worst, calm = windows(knocked(50.0, 1.0, 2.0), 20.0)
    assert (worst.start, worst.end) == (0.0, 20.0)
    assert calm.start >= 20.0
    assert calm.end <= 50.0
    assert windows(knocked(25.0, 12.0, 0.0), 20.0) == [Window("whole track", 0.0, 25.0)]
    assert [w.name for w in windows(knocked(31.0, 15.5, 0.0), 20.0)] == ["worst"]


def test_a_cut_track_is_the_track_within_its_stretch():
    track = stony(60.0, GEOMETRIC_MEAN["C"], 3, per_100_m=60.0)
    piece = cut(track, Window("worst", 30.0, 45.0), 1.2e6)
    assert (piece.x_from, piece.x_to) == (30.0, 45.0)
    inside = (track.x >= 26.0) & (track.x <= 50.0)
    lower = (track.ground - piece.ground)[inside]
    assert np.ptp(lower) < 1e-12
    np.testing.assert_allclose(piece.strength[inside], track.strength[inside], rtol=1e-14)
    before = track.x < 18.0
    assert (piece.ground[before] == 0.0).all()
    assert (piece.strength[before] == 1.2e6).all()
    assert (piece.stone_id[before] == -1).all()
    # stones within stand as proud as they did; one that reaches back into the blend is gone as a whole
    kept = np.unique(piece.stone_id[piece.stone_id >= 0])
    assert kept.size > 3
    for number in kept:
        there = track.stone_id == number
        np.testing.assert_array_equal(piece.stone_id == number, there)
        assert (piece.stone_top - piece.ground)[there] == pytest.approx(
            (track.stone_top - track.ground)[there], abs=1e-12
        )
        assert track.x[there].min() >= 26.0
    # no step is put into the ground
    assert np.abs(np.diff(piece.ground)).max() < 2.0 * np.abs(np.diff(track.ground)).max()


def test_the_head_of_a_track_is_left_as_it_is():
    track = stony(60.0, GEOMETRIC_MEAN["C"], 3)
    piece = cut(track, Window("worst", 0.0, 20.0), 1.2e6)
    assert piece.x_to == 20.0
    np.testing.assert_array_equal(piece.ground, track.ground)


def test_a_crossing_of_a_cut_track_is_that_of_the_whole_track_there():
    """Past the first metres what came before is forgotten: loads and depth are those of the whole track."""
    unit, soil, settings = Unit(), Soil(), Settings(speed=8 / 3.6)
    track = stony(60.0, GEOMETRIC_MEAN["C"], 3)
    whole = simulate(unit, soil, track, settings)
    part = simulate(unit, soil, cut(track, Window("worst", 30.0, 45.0), soil.strength), settings)
    x = np.arange(33.0, 44.0, 0.05)
    for channel in ("depth", "gauge_load", "disc_vertical"):
        a, b = (np.interp(x, run.series["distance"], run.series[channel]) for run in (whole, part))
        assert np.sqrt(np.mean((a - b) ** 2)) < 0.05 * a.std(), channel


# --- differences ------------------------------------------------------------------------------------------------


def test_common_instants_of_two_steps():
    coarse = made_run()
    fine = replace(coarse, step=coarse.step / 2, series={"time": coarse.series["time"][0] + 1e-3 * np.arange(1500)})
    rows, others = common(coarse, fine)
    assert rows.size == 600
    np.testing.assert_allclose(coarse.series["time"][rows], fine.series["time"][others], atol=1e-12)


def test_a_run_does_not_differ_from_itself():
    d = difference(made_run(), made_run())
    assert (d.depth, d.depth_worst, d.angle) == (0.0, 0.0, 0.0)
    assert max(values.max() for values in (d.series, d.high, d.peak, d.rms)) == 0.0


def test_differences_are_relative_to_the_reference():
    run = made_run()
    deeper = made_run(depth=run.series["depth"] + 2e-4)
    assert difference(deeper, run).depth == pytest.approx(2e-4)
    d = difference(with_load(run, 1.02), run)
    for values in (d.series, d.high, d.peak, d.rms):
        np.testing.assert_allclose(values, 0.02, rtol=1e-9)


def test_order_of_convergence_from_three_steps():
    """Errors of a fourth-order method, put in by hand: 16 e, e, e/16."""
    run, wave = made_run(), np.sin(np.arange(600))
    runs = [made_run(depth=run.series["depth"] + e * wave) for e in (1.6e-4, 1e-5, 6.25e-7)]
    checks = {check.key: check for check in step_checks(runs)}
    assert checks["step_depth_order"].value == pytest.approx(4.0, abs=0.01)
    assert checks["step_depth"].value == pytest.approx(1e3 * 1.594e-4 / np.sqrt(2), rel=0.01)
    assert checks["step_pins_order"].value is None  # the loads do not change: nothing to tell
    assert failed(checks.values()) == ["step_depth"]
    stuck = [made_run(depth=run.series["depth"] + e * wave) for e in (3e-5, 1e-5, -1e-5)]
    assert "step_depth_order" in failed(step_checks(stuck))


# --- wrong numbers are noticed ----------------------------------------------------------------------------------


def test_sound_runs_pass():
    assert failed(balance_checks(made_run())) == []
    assert failed(engine_checks(made_run(), made_run(), HERE)) == []


@every(
    ("factor", "noticed"),
    [(1.009, []), (1.015, ["series", "p999", "rms"]), (1.03, ["series", "p999", "peak", "rms"])],
)
def test_wrong_pin_loads_are_noticed(factor, noticed):
    checks = engine_checks(made_run(), with_load(made_run(), factor), HERE)
    assert failed(checks) == [f"rigid_worst_{name}" for name in noticed]


def test_the_worst_pin_is_named():
    run = made_run()
    pins = run.pins.copy()
    pins[:, 7] *= 1.05
    checks = {check.key: check for check in engine_checks(run, replace(run, pins=pins), HERE)}
    assert "rod front" in checks["rigid_worst_series"].note
    assert checks["rigid_worst_series"].value == pytest.approx(5.0)


def test_a_wrong_depth_or_arm_is_noticed():
    run = made_run()
    deeper = made_run(depth=run.series["depth"] + 0.2e-3)
    assert failed(engine_checks(run, deeper, HERE)) == ["rigid_worst_depth"]
    turned = made_run(arm_angle=run.series["arm_angle"] + 1e-3)
    assert failed(engine_checks(run, turned, HERE)) == ["rigid_worst_angle"]


def test_an_open_balance_is_noticed():
    run = made_run()
    assert failed(balance_checks(made_run(linkage=1e-6))) == ["causes"]
    leak = Energy(1000.0, 1000.0, 0.0, {}, 2.0)
    assert failed(balance_checks(replace(run, energy=leak))) == ["energy"]
    assert failed(engine_checks(run, replace(run, energy=leak), HERE)) == ["rigid_worst_energy"]
    spare = {**run.pin_residuals, "press_arm_moment_N_m": 0.1}
    assert failed(balance_checks(replace(run, pin_residuals=spare))) == ["pin_equations"]


# --- the whole --------------------------------------------------------------------------------------------------


def test_a_scenario_is_verified():
    told = []
    result = verify_scenario(short_scenario("stony", 5.0), progress=told.append)
    assert result.passed, result.lines()
    assert len(told) == 2
    document = json.loads(json.dumps(result.document()))
    assert document["scenario"] == "stony"
    assert document["stretches"][0]["from_m"] == pytest.approx(short_scenario("stony").x_from)
    assert document["stretches"][0]["highest_pin_load_N"] > 1e3
    keys = {check["check"] for check in document["checks"]}
    assert {"step_depth", "step_pins", "energy", "causes", "pin_equations", "rigid_whole_track_series"} <= keys


def test_full_crosses_all_of_it():
    track = flat_track(2.0, 1.2e6)
    result = verify(Unit(), Soil(), track, Settings(speed=15 / 3.6), full=True)
    assert result.passed, result.lines()
    assert [c.window for c in result.crossed] == [Window("whole track", 0.0, 2.0)]


def test_both_engines_are_drawn_over_each_other():
    figure = engines_figure(compare_engines(short_scenario("hump", 5.0)))
    assert amiss(figure) == []
    texts = " ".join(text.get_text() for text in figure.texts).replace("\n", " ")
    assert "Two engines" in texts
    panels = figure.axes
    assert len(panels) == 6
    for axes in panels[2:]:
        assert len(axes.lines) == 2
        compiled, rigid = axes.lines
        x, y = compiled.get_data()
        other = np.interp(x, *rigid.get_data())
        assert np.abs(other - y).max() < 0.02 * np.ptp(y)
        assert compiled.get_color() != rigid.get_color()
        assert compiled.get_linestyle() != rigid.get_linestyle()
    labels = [axes.get_ylabel() for axes in panels]
    assert any("[mm]" in label for label in labels)
    assert any("[kN]" in label for label in labels)
    assert all("[m]" in axes.get_xlabel() for axes in panels[4:])


def test_the_drawn_course_has_its_hump_and_its_stone_in_view():
    track = course(1.2e6, flat_track(1.0, 1.2e6).rock)
    (_, start, end), (_, first, last) = VIEWS
    assert track.x[np.argmax(track.ground)] == pytest.approx(0.5 * (start + end), abs=1.0)
    stones = track.x[track.stone_id >= 0]
    assert first < stones.min() < stones.max() < last
    assert (track.stone_top - track.ground).max() == pytest.approx(0.03)
    assert pin_loads(made_run()).shape == (600, 14)
