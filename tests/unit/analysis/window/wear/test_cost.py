"""What play in the pins costs: beside pins that fit, whose pins' play it is, and in which words."""

from __future__ import annotations

from dataclasses import replace

import invented
import numpy as np
import pytest
from called import answer, refused, text
from invented import by_speed, window

from analysis.window.cross_grid import search
from analysis.window.feature.at_feature import AtFeature
from analysis.window.pick import choose
from analysis.window.wear.cost import ALL, DEPTH, FITTING, MAIN, At, WearCost, wear_cost, with_clearance
from analysis.window.wear.words import wear_document, wear_words
from scenarios.load import load
from sim.run import simulate
from sim.unit import Clearance

PLAY = Clearance(0.002, 0.002, 0.002)
SLOT = AtFeature(0.052, 0.027, 1.0, 0.0)
TO_6, TO_7 = ({"wheel_off_share": by_speed(*off)} for off in ((0.01, 0.01, 0.03), (0.01, 0.01, 0.01)))
NONE = {"wheel_off_share": by_speed(0.05, 0.05, 0.05)}


@pytest.fixture(scope="module")
def scenario():
    return invented.short_scenario("rough")


def found(grids):
    return choose(window((2, 3, 1), **grids))


def cost(worn, fitting, shares, play=PLAY):
    """Invented shares on depth: fitting, all, main pins alone, depth linkage alone."""
    at = {name: At(s, 0.0, SLOT) for name, s in zip((FITTING, ALL, MAIN, DEPTH), shares, strict=True)}
    return WearCost(play, found(worn), found(fitting), 40e5, 7 / 3.6, at)


def said(made, scenario):
    return ". ".join(t for t in wear_words(made, scenario) if t)


def test_slower_with_play_and_the_main_pins_first(scenario):
    words = said(cost(TO_6, TO_7, (0.912, 0.795, 0.797, 0.91)), scenario)
    assert "with 2 mm of play in main pins, depth linkage and gauge arm the pick is" in words
    assert "at 6 km/h in place of" in words
    assert "at 7 km/h with pins that fit" in words
    assert "on depth for 79.5 % of the way in place of 91.2 %" in words
    assert "renew the bushes of the main pins first: their play alone 79.7 %" in words
    assert "oil pressure relieved before a pin is pulled" in words


def test_the_depth_linkage_first_and_both(scenario):
    assert "bushes of the depth linkage and gauge arm first" in said(cost(TO_6, TO_7, (0.91, 0.8, 0.9, 0.81)), scenario)
    assert "both have a share: the main pins alone 84.0 %" in said(cost(TO_6, TO_7, (0.91, 0.8, 0.84, 0.85)), scenario)
    one = Clearance(main_pins=0.0015)
    words = said(cost(TO_6, TO_7, (0.91, 0.8, 0.8, 0.91), one), scenario)
    assert "1.5 mm of play in main pins the pick" in words
    assert "first" not in words  # there is nothing to choose from


def test_what_costs_nothing_is_no_reason_to_renew(scenario):
    words = said(cost(TO_6, TO_6, (0.91, 0.908, 0.909, 0.91)), scenario)
    assert "the pick stays" in words
    assert "on depth for 90.8 % of the way in place of 91.0 %" in words
    assert "100 % of the way with and without it" in said(cost(TO_6, TO_6, (1.0, 1.0, 1.0, 1.0)), scenario)
    assert "hardly a change" in words


def test_no_setting_on_either_side(scenario):
    assert "no setting meets every limit; with pins that fit" in said(cost(NONE, TO_6, (0.9, 0.8, 0.8, 0.9)), scenario)
    assert "and none does with pins that fit" in said(cost(NONE, NONE, (0.9, 0.8, 0.8, 0.9)), scenario)
    # a loose wheel trails on the ground: fewer metres off are no gain
    assert "no reason to keep the wear" in said(cost(TO_6, NONE, (0.9, 0.91, 0.91, 0.9)), scenario)


def test_where_it_could_not_be_crossed_only_the_picks_are_told(scenario):
    assert "slot" not in said(cost(TO_6, TO_7, (np.nan, 0.8, 0.8, 0.9)), scenario)


def test_a_feature_is_told_by_the_slot():
    hump = load("hump")
    made = cost(TO_6, TO_7, (0.9, 0.8, 0.8, 0.9))
    made = replace(made, at={**made.at, ALL: made.at[ALL]._replace(slot=SLOT._replace(deepest=0.061))})
    words = said(made, hump)
    assert "27 to 61 mm deep at its worst in place of 27 to 52 mm" in words


def test_rows_with_play_are_the_run_with_play(scenario):
    """Eight at once and one alone, bit by bit; warnings too."""
    worn = with_clearance(scenario, PLAY)
    made = search(worn, [35.0], [9.0], 2, 1)
    for k, seed in enumerate(made.seeds):
        settings = replace(worn.settings, oil_pressure=35e5, speed=2.5)
        run = simulate(worn.unit, worn.soil, worn.track(seed), settings)
        on = np.mean(np.abs(run.series["depth"] - settings.set_depth) <= worn.limits.depth_tolerance)
        assert made.grids["on_depth_share"][0, 0, k] == on
        assert made.grids["pin_peak"][0, 0, k] >= np.linalg.norm(run.pins, axis=2).max() * (1 - 1e-12)
        told = [heed.text for heed in made.heeds[0, 0, k]]
        assert [t for t in told if t.startswith("worn pins")] == [t for t in run.warnings if t.startswith("worn pins")]


def test_the_same_search_with_pins_that_fit_stands_beside(scenario):
    short = replace(scenario, search=replace(scenario.search, pressures=(35e5, 40e5), speeds=(7 / 3.6,), seeds=1))
    worn = with_clearance(short, PLAY)
    made = wear_cost(worn, choose(search(worn, workers=1)), 1)
    assert made.fitting == choose(search(short, workers=1))
    one = search(short, [made.oil_pressure / 1e5], [made.speed * 3.6], workers=1)
    assert made.at[FITTING].on_depth_share == one.grids["on_depth_share"].min()
    assert made.at[MAIN].on_depth_share < made.at[DEPTH].on_depth_share
    document = wear_document(made, worn)
    assert document["clearance_mm"] == {"main_pins": 2.0, "depth_linkage": 2.0, "gauge_arm": 2.0}
    assert set(document["at"]) == {"oil_pressure_bar", "speed_kmh", FITTING, ALL, MAIN, DEPTH}


@pytest.fixture
def short_file(tmp_path):
    path = tmp_path / "short.toml"
    path.write_text(
        'title = "Short"\n[ground]\nlength_m = 20\nroughness = { class = "D" }\n'
        "[search]\npressures_bar = [35, 40]\nspeeds_kmh = [7]\nseeds = 1\ndraws = 2\n"
    )
    return path


def test_the_option_puts_the_play_into_every_pin(capsys, short_file):
    made = answer(capsys, "window", short_file, "--worn", "1.5")
    assert set(made["worn"]["clearance_mm"].values()) == {1.5}
    assert made["worn"]["says"][0].startswith("with 1.5 mm of play in main pins, depth linkage and gauge arm")
    screen = text(capsys, "run", short_file, "--worn", "1.5")
    assert "Worn pins: the play of" in screen


def test_all_faults_of_the_option_at_once(capsys):
    message = refused(capsys, "window", "rough", "--worn", "0", "--depths", "30:50:3", "--precharges", "20:30:3")
    assert "3 faults" in message
    assert '--worn: given "0"; allowed: 0.01 to 10 mm' in message
    assert "--depths: given with --worn" in message
    assert "--worn" in refused(capsys, "run", "rough", "--worn", "nan")
    assert "--worn" in refused(capsys, "explain", "rough", "--worn", "11")
