"""What stands beside a pick: robustness, gain, stones, weight, and the document that holds them."""

import json
from dataclasses import replace

import invented
import numpy as np
import pytest
from every import every
from invented import by_pressure, by_speed, window

from analysis.crossing.loads import stone_peak, worst_pin
from analysis.stones.document import loads_document
from analysis.stones.strike import STIFFNESSES, stone_loads, stone_track
from analysis.stones.words import loads_sentence
from analysis.window.advice import advise
from analysis.window.advice_document import advice_document
from analysis.window.cross_grid import search
from analysis.window.gain import gain, present_use
from analysis.window.help_words import helps
from analysis.window.limits import meets
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.robustness import robustness, spread
from analysis.window.sentences import nearest_sentence, weight_sentence, weight_warning
from analysis.window.sure.document import robustness_document
from analysis.window.sure.words import end_sentence, spread_sentence
from analysis.window.weight import Weight, held_down, weight
from scenarios.spec import Limits
from sim.run import simulate
from sim.unit import GRAVITY

PRESSURES, SPEEDS = [24.0, 30.0, 34.0, 37.0, 40.0], [5.0, 7.0, 9.0, 11.0]
EASY = Limits(depth_tolerance=0.012, wheel_off_share_max=0.03, **invented.ANY_PRECHARGE)


@pytest.fixture(scope="module")
def scenario():
    return replace(invented.short_scenario("rough", 40.0), limits=EASY)


@pytest.fixture(scope="module")
def made(scenario):
    return search(scenario, PRESSURES, SPEEDS, 2, unchanged=False)


@pytest.fixture(scope="module")
def pick(made):
    found = choose(made)
    assert isinstance(found, Pick), nearest_sentence(found)
    return found


@pytest.fixture(scope="module")
def sure(scenario, made, pick):
    return robustness(scenario, made, pick)


# --- robustness (the rest of it in test_how_sure.py) --------------------------------------------------------------


def value_named(sure, name):
    return next(one for one in sure.trials if one.doubtful.name == name)


@pytest.mark.parametrize(
    ("name", "end", "change"),
    [
        ("speed_term", 0, lambda s: s.with_soil(speed_factor=s.soil.speed_factor - 0.02)),
        ("soil_strength", 0, lambda s: s.with_soil(strength=s.soil.strength / 1.5)),
        ("soil_strength", 1, lambda s: s.with_soil(strength=1.5 * s.soil.strength)),
        ("roughness", 1, lambda s: s.with_roughness_scaled(4.0)),
    ],
)
def test_an_end_is_the_pick_of_the_changed_scenario(scenario, pick, sure, name, end, change):
    found = value_named(sure, name).ends[end].found
    whole = search(change(scenario), [p / 1e5 for p in sure.pressures], SPEEDS, 2, unchanged=False)
    expected = choose(whole)
    i, j = (int(np.flatnonzero(np.isclose(a, b))[0])
            for a, b in ((whole.pressures, pick.oil_pressure), (whole.speeds, pick.speed)))  # fmt: skip
    assert found.still_meets == meets(whole, whole.limits)[i, j]
    said = end_sentence(sure, value_named(sure, name), end)
    if isinstance(expected, Nearest):
        assert found.pick is None
        assert "no setting" in said
    else:
        assert found.place == (expected.oil_pressure, expected.speed)
        assert f"{expected.oil_pressure / 1e5:g} bar at {expected.speed * 3.6:g} km/h" in said
    if not found.still_meets:
        assert "against at" in said


def test_ends_differ_and_speeds_are_searched_downward(pick, sure):
    speeds = {
        (one.doubtful.name, k): round(3.6 * tried.found.pick.speed)
        for one in sure.trials
        for k, tried in enumerate(one.ends)
        if tried is not None and tried.found.pick is not None
    }
    assert round(3.6 * pick.speed) == 9
    assert speeds["soil_strength", 1] < 9 < speeds["speed_term", 0]
    assert value_named(sure, "soil_strength").low.found.pick.oil_pressure < pick.oil_pressure
    assert value_named(sure, "roughness").high.found.pick is None


def test_speeds_are_searched_upward_as_far_as_they_go(scenario):
    hard = scenario.with_soil(strength=1.3 * scenario.soil.strength)
    slow = search(hard, PRESSURES, SPEEDS, 2, unchanged=False)
    pick = choose(slow)
    assert round(3.6 * pick.speed) == 5
    sure = robustness(hard, slow, pick)
    softer = hard.with_soil(strength=hard.soil.strength / 1.5)
    whole = choose(search(softer, [p / 1e5 for p in sure.pressures], SPEEDS, 2, unchanged=False))
    assert value_named(sure, "soil_strength").low.found.place == (whole.oil_pressure, whole.speed)
    assert round(3.6 * whole.speed) > 5


def test_spread_tells_the_pick_of_every_seed_and_the_measures_at_the_pick():
    share = np.full((3, 2, 2), 0.95)
    share[:, 1, 0] = 0.80  # seed 1 alone allows 5 km/h only, seed 2 both
    share[0, 0] = (0.91, 0.93)
    share[0, 1, 1] = 0.91
    many = window((3, 2, 2), on_depth_share=share)
    found = spread(many, choose(many))
    assert [round(p.speed * 3.6) for p in found.picks] == [5, 6]
    assert spread_sentence(found) == "each of 2 grounds alone: 40 bar at 5–6 km/h"
    assert found.at_pick["on_depth_share"] == (0.95, 0.95)
    share[:, :, 0] = 0.5
    none = spread(window((3, 2, 2), on_depth_share=share), choose(many))
    assert none.picks[0] is None
    assert "1 without a setting" in spread_sentence(none)


def test_spread_leaves_out_a_count_that_one_seed_alone_cannot_show():
    limits = Limits(breakouts_per_km_max=8.0)  # none on 0.3 km: up to 12.3 per km; on 0.9 km: up to 4.1
    many = window((2, 2, 3), limits)
    assert isinstance(choose(many.only_seed(0)), Nearest)
    assert all(isinstance(pick, Pick) for pick in spread(many, choose(many)).picks)


def test_spread_of_one_ground_says_so():
    one = window((1, 1, 1))
    assert "one ground only" in spread_sentence(spread(one, choose(one)))


# --- gain -------------------------------------------------------------------------------------------------------


def test_gain_sets_the_pick_beside_the_present_settings(scenario, made, pick):
    now = scenario.with_settings(oil_pressure=40e5, speed=7.0 / 3.6)
    found = gain(now, made, pick)
    assert (found.pick.setting, found.present.setting) == ("redone", "redone")
    i, j = 4, 1
    assert found.present.on_depth_share == pytest.approx(made.grids["on_depth_share"][i, j].mean())
    assert found.present.wheel_off_share == pytest.approx(made.grids["wheel_off_share"][i, j].mean())
    assert found.pick.on_depth_share == pytest.approx(made.grids["on_depth_share"][pick.i, pick.j].mean())
    machine = scenario.machine
    # field capacity: width [m] × speed [km/h] × efficiency / 10 [ha/h] (ASABE EP496; value from memory)
    expected = machine.rows * machine.row_spacing * pick.speed * 3.6 * machine.field_efficiency / 10.0
    assert found.pick.hectares_per_hour == pytest.approx(expected)
    assert found.present.hectares_per_hour == pytest.approx(expected * (7.0 / 3.6) / pick.speed)


def test_present_settings_keep_the_files_own_depth_setting(scenario, made):
    left = scenario.with_settings(oil_pressure=80e5, setting="unchanged")
    redone = scenario.with_settings(oil_pressure=80e5)
    assert present_use(left, made.seeds).on_depth_share < present_use(redone, made.seeds).on_depth_share


# --- stones -----------------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def loads(scenario):
    return stone_loads(scenario, 60e5, 10.0 / 3.6)


def test_a_stone_30_mm_proud_gives_the_force_of_the_design(loads):
    # design text, section 4: 0.30 m long, 30 mm proud, 60 bar, 10 km/h, 0.6 MN/m: 13.5 kN (computed apart)
    assert STIFFNESSES[1] == 0.6e6
    assert loads.disc_peaks[1] == pytest.approx(13.5e3, rel=0.02)


def test_the_stone_is_met_with_a_level_toolbar_and_the_depth_set_anew(scenario, loads):
    settings = scenario.with_settings(
        oil_pressure=60e5, speed=10.0 / 3.6, toolbar="level", setting="redone"
    ).settings  # fmt: skip
    alone = simulate(scenario.unit, scenario.soil, stone_track(scenario, STIFFNESSES[1]), settings)
    assert loads.disc_peaks[1] == pytest.approx(stone_peak(alone), rel=1e-9)
    assert (loads.pins[1], loads.pin_peaks[1]) == (worst_pin(alone)[0], pytest.approx(worst_pin(alone)[1], rel=1e-9))


def test_a_stone_loads_more_the_stiffer_the_faster_and_the_higher_the_pressure(scenario, loads):
    assert loads.disc_peaks[0] < loads.disc_peaks[1] < loads.disc_peaks[2]
    assert loads.pin_peaks[0] < loads.pin_peaks[1] < loads.pin_peaks[2]
    assert min(stone_loads(scenario, 60e5, 12.0 / 3.6).disc_peaks[:2]) > loads.disc_peaks[0]
    assert stone_loads(scenario, 80e5, 10.0 / 3.6).disc_peaks[1] > loads.disc_peaks[1]


def test_the_stone_sentence_follows_its_numbers(loads):
    assert f"disc {loads.disc_peaks[0] / 1e3:.1f}–{loads.disc_peaks[2] / 1e3:.1f} kN" in loads_sentence(loads)
    other = replace(loads, disc_peaks=(1.0e3, 2.0e3, 3.0e3), gives_way=(True, True, True), give_way=3e3)
    assert "disc 1.0–3.0 kN" in loads_sentence(other)
    assert loads_sentence(other).endswith("; it gives way at 3 kN upwards")
    stiff = replace(other, gives_way=(False, False, True))
    assert loads_sentence(stiff).endswith("; it gives way at 3 kN upwards for 1.2 MN/m")


@every(("kmh", "expected"), [(11, (False, False, False)), (14, (False, False, True)), (20, (False, True, True))])
def test_giving_way_is_said_where_it_happens_and_only_there(scenario, kmh, expected):
    """Of the stiffest contact the whole force passes 20 kN well before the upward force comes to what a stone bears."""
    told = stone_loads(scenario, 40e5, kmh / 3.6)
    assert told.gives_way == expected
    assert ("gives way" in loads_sentence(told)) == any(expected)
    document = loads_document(told)
    assert (document["gives_way"], tuple(document["gives_way_by_stiffness"])) == (any(expected), expected)
    settings = scenario.with_settings(
        oil_pressure=40e5, speed=kmh / 3.6, toolbar="level", setting="redone"
    ).settings  # fmt: skip
    for stiffness, gives_way in zip(STIFFNESSES, expected, strict=True):
        track = stone_track(scenario, stiffness)
        firm = replace(track, rock=replace(track.rock, give_way=1e7))
        run, held = (simulate(scenario.unit, scenario.soil, t, settings) for t in (firm, track))
        assert (stone_peak(run) > stone_peak(held)) == gives_way


# --- weight -----------------------------------------------------------------------------------------------------


def test_weight_left_on_the_wheels():
    found = Weight(rows=10, downforce=2000.0, weight=40e3)
    assert found.lift == 20e3
    assert found.remaining_share == 0.5
    assert weight_warning(found) == ""


def test_little_weight_left_warns_and_none_left_warns_harder():
    assert weight_warning(Weight(10, 2000.0, 25e3)) == ""  # 20 % exactly
    assert "only 19.9 % of the weight" in weight_warning(Weight(10, 2000.0, 20e3 / 0.8004))
    assert "would be lifted" in weight_warning(Weight(10, 2000.0, 20e3))
    assert "10 rows lift 2039 kgf" in weight_warning(Weight(10, 2000.0, 15e3))


def test_weight_of_a_scenario_comes_from_its_rows_and_its_toolbar(scenario):
    found = weight(scenario, 200.0 * GRAVITY)
    mass, rows = scenario.unit.toolbar.mass, scenario.machine.rows
    assert found.remaining_share == pytest.approx(1.0 - rows * 200.0 / mass)
    assert weight_sentence(found).startswith(f"{rows} rows × 200 kgf = {rows * 200} kgf against {mass:.0f} kg")


# --- the whole document -----------------------------------------------------------------------------------------


def test_the_document_of_a_pick(scenario, made, pick):
    document = advice_document(advise(scenario, made, sure=False))
    json.dumps(document, allow_nan=False)
    assert document["nearest"] is None
    keys = {"oil_pressure_bar", "speed_kmh", "downforce_kgf", "depth_setting_change_mm", "why", "robustness"}
    assert keys <= set(document["pick"])
    assert document["pick"]["oil_pressure_bar"] == pick.oil_pressure / 1e5
    assert document["pick"]["robustness"] is None
    assert document["stones"]["oil_pressure_bar"] == document["pick"]["oil_pressure_bar"]
    assert document["weight"]["downforce_kgf"] == pytest.approx(document["pick"]["downforce_kgf"])


def test_the_document_of_robustness(sure):
    document = json.loads(json.dumps(robustness_document(sure), allow_nan=False))
    assert {"seeds", "room", "assumed", "pressures_tried_bar", "speeds_tried_kmh", "unchanged", "values", "not_tried",
            "says"} == set(document)  # fmt: skip
    low, high = document["seeds"]["at_pick"]["error_sd_mm"]
    assert 1.0 < low < high < 20.0
    strength = next(one for one in document["values"] if one["name"] == "soil_strength")
    assert strength["key"] == "soil.strength_MPa"
    assert (strength["low"]["value"], strength["value"], strength["high"]["value"]) == pytest.approx((0.8, 1.2, 1.8))
    assert strength["moves"]
    assert strength["high"]["pick"]["speed_kmh"] < 9.0


def test_the_document_without_a_pick(scenario, made):
    hard = replace(made, limits=replace(made.limits, on_depth_share_min=0.9999))
    document = advice_document(advise(scenario, hard))
    json.dumps(document, allow_nan=False)
    assert document["pick"] is None
    assert document["nearest"]["helps"]
    assert document["nearest"]["fails"][0] == "on_depth_share_min"


def test_invented_windows_are_broadcast_as_named():
    made = window((2, 3, 1), wheel_off_share=by_pressure(0.0, 0.01) + by_speed(0.0, 0.001, 0.002))
    assert made.grids["wheel_off_share"][1, 2, 0] == pytest.approx(0.012)


def test_a_pressure_that_lifts_the_toolbar_is_never_picked(scenario):
    """A row holds mass × g / rows against its downforce, and 1e-9 of it decides."""
    room = {"on_depth_share": by_pressure(0.91, 0.92, 0.93)}
    open_ = window((3, 2, 1), **room)  # 30, 40 and 50 bar: 1020, 1360 and 1700 N a row
    assert choose(open_).oil_pressure == 50e5
    assert choose(replace(open_, held_down=1700.0)).oil_pressure == 50e5
    assert choose(replace(open_, held_down=1699.9)).oil_pressure == 40e5
    lifted = choose(replace(open_, held_down=1000.0))
    assert isinstance(lifted, Nearest)
    assert lifted.oil_pressure == 30e5
    assert (
        "104 kgf on every row would lift the toolbar off its wheels: its mass holds 102 kgf a row" in lifted.hindrance
    )
    (said,) = helps(replace(open_, held_down=1000.0), lifted)
    assert "It takes a toolbar 1.02 times as heavy" in said
    assert held_down(scenario.machine, scenario.unit.toolbar.mass) == pytest.approx(3000.0 * GRAVITY / 8.0)
    assert search(scenario, [40], [8], 1, 1).held_down == held_down(scenario.machine, scenario.unit.toolbar.mass)
