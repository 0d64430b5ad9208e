"""The screens of a window: short by default, whole with details; what they say where the pick ends the search, where it
buys nothing, and where there is none.
"""

import math
from dataclasses import replace

import invented
import pytest
from every import every
from invented import by_pressure, by_speed, window

from analysis.present.cautions import PRESSURE_NOTE, PRESSURE_SHORT
from analysis.stones.strike import StoneLoads
from analysis.window.advice import Advice, advise
from analysis.window.advice_document import choice_document
from analysis.window.cross_grid import search
from analysis.window.figure import window_figure
from analysis.window.gain import Gain, Use
from analysis.window.help_words import helps
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.sentences import edge_notes, headline, nearest_sentence
from analysis.window.told.detail_words import detailed_text
from analysis.window.weight import Weight
from analysis.window.words import gain_heading, pins_text, window_text
from scenarios.spec import Limits

USE = Use(40e5, 8 / 3.6, 0.04, 24e5, "redone", 0.92, 0.01, 1.0)
STONES = StoneLoads(40e5, 2.0, (), (), (), (), (), 6e3, "not crossed here")
HEAVY, LIGHT = Weight(8, 1000.0, 30000.0), Weight(8, 1000.0, 9000.0)


def advice_on(made, present=USE, weight=HEAVY):
    """Advice with invented numbers around a window."""
    found = choose(made)
    if isinstance(found, Nearest):
        return Advice(made, found, STONES, weight)
    pick = replace(USE, oil_pressure=found.oil_pressure, speed=found.speed)
    return Advice(made, found, STONES, weight, Gain(pick, present))


def told(text):
    return " ".join(text.split())


def rows_of_80(text):
    """Lines that a terminal of 80 columns shows."""
    return sum(max(1, math.ceil(len(line) / 80)) for line in text.splitlines())


@pytest.fixture(scope="module")
def scenario():
    return invented.short_scenario("rough")


# --- the end of the search ---


TO_6 = {"wheel_off_share": by_speed(0.01, 0.01, 0.03)}  # all limits are met up to 6 km/h


@every(
    ("shape", "grids", "ends"),
    [
        ((3, 3, 1), {}, ("lowest_pressure", "highest_speed")),
        ((3, 3, 1), {"gauge_load_mean": by_pressure(1190, 1180, 700)}, ("highest_pressure", "highest_speed")),
        ((3, 3, 1), {"gauge_load_mean": by_pressure(1190, 700, 1180), **TO_6}, ()),
        ((3, 2, 1), {"wheel_off_share": by_speed(0.01, 0.03)}, ("lowest_pressure", "lowest_speed")),
        ((1, 3, 1), {}, ("highest_speed",)),
        ((3, 1, 1), {}, ("lowest_pressure",)),
        ((1, 1, 1), {}, ()),
    ],
)  # fmt: skip
def test_a_choice_knows_at_which_ends_of_the_search_it_lies(shape, grids, ends):
    made = window(shape, **grids)
    found = choose(made)
    assert isinstance(found, Pick)
    assert found.at_edge == ends
    assert choice_document(made, found)["at_edge"] == list(ends)


def test_what_to_set_says_where_the_search_ended(scenario):
    text = window_text(advice_on(window((2, 3, 1))), scenario)
    assert "oil pressure    30 bar = 104 kgf a row (the lowest tried)" in text
    assert "\n  speed           7 km/h (the fastest tried; faster was not looked at)" in text
    assert "not faster" not in text
    high = choose(window((2, 3, 1), gauge_load_mean=by_pressure(1190, 700)))
    assert edge_notes(high) == [
        "40 bar is the highest tried; higher was not looked at",
        "7 km/h is the fastest tried; faster was not looked at",
    ]


def test_of_a_single_value_nothing_is_said(scenario):
    text = window_text(advice_on(window((1, 1, 1))), scenario)
    assert "tried" not in text.split("\n", 1)[1]
    assert "1 pressure × 1 speed" in text


def test_the_figure_says_it_too(scenario):
    made = window((2, 3, 1))
    texts = [text.get_text() for text in window_figure(made, choose(made), scenario).texts]
    said = told(" ".join(texts))
    assert "set depth 40 mm" in said
    assert "7 km/h is the fastest tried; faster was not looked at." in said


# --- the set depth ---


def test_what_to_set_always_names_the_set_depth(scenario):
    for write in (window_text, detailed_text):
        text = write(advice_on(window((2, 2, 1))), scenario)
        assert "\n  set depth       40 mm\n" in text
    made = replace(window((2, 2, 1)), set_depth=0.0375)
    assert choose(made).set_depth_mm == 37.5
    assert "set depth 37.5 mm" in repr(choose(made))
    assert headline(choose(made)).endswith(", set depth 37.5 mm")
    assert choice_document(made, choose(made))["set_depth_mm"] == 37.5


# --- no pick ---

BAD = {"gauge_load_mean": by_pressure(2600.0, 2188.0), "on_depth_share": 0.85}


@every("write", [window_text, detailed_text])
def test_without_a_pick_nothing_reads_as_to_be_set(write, scenario):
    text = write(advice_on(window((2, 2, 1), **BAD)), scenario)
    places = [text.index(head) for head in ("No setting to use", "What would help", "Fails least (not to be set)")]
    assert places == sorted(places)
    first = told(text[places[0] : places[1]])
    assert "None of those tried meets every limit, so none is to be set" in first
    assert "the one that fails least has mean gauge load 2188 N (ground 1) against at most 1200 N" in first
    assert "What to set" not in text
    assert "oil pressure  " not in text
    assert "40 bar" not in text[: places[1]]
    assert "40 bar = 139 kgf a row, 6 km/h, set depth 40 mm" in text[places[2] :]


@every("write", [window_text, detailed_text])
def test_where_new_bushes_help_no_setting_is_told_to(write, scenario):
    """Worn pins are why nothing is to be set: that stands in the place of other settings."""
    advice, cost = advice_on(window((2, 2, 1), **BAD)), ["with pins that fit 35 bar at 7 km/h does"]
    text = write(advice, scenario, cost, True)
    places = [text.index(head) for head in ("No setting to use", "What the wear costs", "Fails least (not to be set)")]
    assert places == sorted(places)
    assert "What would help" not in text
    assert "What would help" in write(advice, scenario, cost, False)


def test_without_a_pick_no_short_form_names_a_setting_as_one_to_set(scenario):
    made = window((2, 2, 1), **BAD)
    found = choose(made)
    assert headline(found) == "No setting to use: none of those tried meets every limit"
    assert repr(found).startswith("No pick. Fails least, not to be set: 40 bar, 6 km/h")
    assert nearest_sentence(found).startswith("no setting tried meets every limit, so none is to be set; 40 bar")
    assert "40 bar, 6 km/h, fails least (not to be set)" in pins_text(made, found, {})
    figure = window_figure(made, found, scenario)
    assert "No setting to use: none of those tried meets every limit" in told(
        " ".join(t.get_text() for t in figure.texts)
    )
    assert "fails least (not to be set)" in [text.get_text() for text in figure.legends[0].get_texts()]
    hindered = choose(window((2, 2, 1), reached=0.0))
    assert headline(hindered) == "No setting to use: none of those tried can be chosen"
    assert "none is to be set" in nearest_sentence(hindered)


def test_the_details_say_that_stones_and_weight_are_of_a_setting_not_to_be_set(scenario):
    text = detailed_text(advice_on(window((2, 2, 1), **BAD)), scenario)
    assert "Stones at the setting that fails least (not to be set)" in text
    assert "Weight at the setting that fails least (not to be set)" in text


def test_a_change_that_helps_little_is_told_with_numbers_that_differ():
    made = window((2, 1, 1), wheel_off_share=by_pressure(0.02534, 0.02510), gauge_load_mean=by_pressure(700, 2000))
    assert "wheel-off share from 2.53 % to 2.51 %" in " ".join(helps(made, choose(made)))


# --- beside the present setting ---


@every(
    ("present", "heading"),
    [
        (USE, "Beside the present setting"),
        (replace(USE, hectares_per_hour=0.9), "What it buys"),
        (replace(USE, on_depth_share=0.90, hectares_per_hour=1.1), "What it buys and costs"),
        (replace(USE, on_depth_share=0.9199, hectares_per_hour=1.1), "Beside the present setting"),
        (replace(USE, wheel_off_share=0.0), "Beside the present setting"),
        (replace(USE, wheel_off_share=0.03), "What it buys"),
        (replace(USE, on_depth_share=None, wheel_off_share=None), "Beside the present setting"),
    ],
)
def test_the_heading_follows_what_the_pick_has_more_and_less(present, heading):
    assert gain_heading(Gain(USE, present)) == heading


def test_the_short_screen_sets_the_pick_beside_the_present_setting(scenario):
    made = window((2, 3, 1))
    present = replace(USE, on_depth_share=0.898, hectares_per_hour=1.12)
    text = told(window_text(advice_on(made, present), scenario))
    assert "in place of 40 bar, 8 km/h: on depth 89.8 % → 92.0 %, 1.12 → 1.00 ha/h" in text
    same = replace(USE, oil_pressure=30e5, speed=7 / 3.6)
    assert "in place of the same pressure and speed now" in told(window_text(advice_on(made, same), scenario))
    lost = replace(USE, on_depth_share=None, reason="the arm broke")
    assert "40 bar, 8 km/h (not crossed: the arm broke)" in told(window_text(advice_on(made, lost), scenario))


# --- short and whole ---


@every("grids", [{}, BAD, {"wheel_off_share": by_speed(0.01, 0.03, 0.04)}])
def test_the_short_screen_fits_a_small_terminal(grids, scenario):
    text = window_text(advice_on(window((2, 3 if "on_depth_share" not in grids else 2, 3), **grids)), scenario)
    assert rows_of_80(text) <= 22


def test_a_real_one_fits_too_with_all_that_is_told_of_how_sure(scenario):
    easy = replace(scenario, limits=Limits(depth_tolerance=0.02, wheel_off_share_max=0.3, gauge_load_max=2000.0))
    made = search(easy, [40.0, 50.0], [7.0, 8.0, 12.0], 3, unchanged=False)
    advice = advise(easy, made)
    assert isinstance(advice.outcome, Pick)
    assert rows_of_80(window_text(advice, easy)) <= 22


def test_what_changes_what_one_would_do_is_on_the_short_screen(scenario):
    flat = replace(scenario, warnings=("without [ground.roughness] the ground is perfectly flat",))
    text = told(window_text(advice_on(window((2, 2, 1)), weight=LIGHT), flat))
    assert "Warning: only 11.1 % of the weight stays" in text
    assert "Without [ground.roughness] the ground is perfectly flat." in text
    assert "Not checked (no limit given): peak pin load" in text
    assert PRESSURE_SHORT in text
    assert "--details" in text
    assert PRESSURE_NOTE not in text
    assert PRESSURE_NOTE in told(detailed_text(advice_on(window((2, 2, 1))), flat))
