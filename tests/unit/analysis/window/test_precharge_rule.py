"""One rule for the precharge: chart and window agree, nothing outside it is picked, and what would suit is told."""

from __future__ import annotations

import re
from dataclasses import replace

import invented
import numpy as np
import pytest
from every import every
from invented import by_pressure, window

from analysis.crossing.heed import warnings_of
from analysis.setting_up.precharge import precharge
from analysis.setting_up.pressure_chart import chart
from analysis.window.cross_grid import search
from analysis.window.gain import present_use
from analysis.window.help_words import helps
from analysis.window.limits import checks, given, margins, meets
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.search import Searched, Tried, best_of, search_settings, wanted_depths
from analysis.window.sentences import caution_notes, limit_words, nearest_sentence, warning_notes
from analysis.window.told.search_words import searched_text
from scenarios.format.library import library
from scenarios.load import load, load_unit
from scenarios.spec import Limits, Search
from sim.hydraulics.working import Span, keeps
from sim.run import simulate

GAS = ("precharge_share_max", "gas_squeeze_max")
EASY = {"on_depth_share_min": 0.0, "wheel_off_share_max": 1.0, "gauge_load_min": 0.0, "gauge_load_max": 2e4}


@pytest.fixture(scope="module")
def flat():
    """A few metres of flat ground on which nothing but the precharge can fail."""
    scenario = invented.short_scenario("smooth", 5.0)
    return replace(scenario, limits=replace(scenario.limits, **EASY))


def one_line(text):
    return " ".join(text.split())


@pytest.mark.parametrize("share", [0.9, 0.75])
@pytest.mark.parametrize("bar", [12.0, 24.0, 33.0, 44.0])
def test_chart_and_window_agree_on_the_oil_pressures_that_suit(flat, bar, share):
    limits = replace(flat.limits, precharge_share_max=share)
    scenario = replace(flat, limits=limits).with_settings(precharge=bar * 1e5)
    advice = precharge(chart(scenario))
    low, high = advice.lowest_oil / 1e5, advice.highest_oil / 1e5
    made = search(scenario, [low - 0.01, low + 0.01, high - 0.01, high + 0.01], [8.0], 1, workers=1, unchanged=False)
    assert meets(made, limits)[:, 0].tolist() == [False, True, True, False]
    for oil, verdict in ((low - 0.01, "high"), (low + 0.01, "within"), (high - 0.01, "within"), (high + 0.01, "low")):
        assert precharge(chart(scenario.with_settings(oil_pressure=oil * 1e5))).verdict == verdict


def test_a_run_warns_exactly_where_a_window_does_not_pick(flat):
    for bar in (30.0, 40.0, 60.0):
        scenario = flat.with_settings(oil_pressure=bar * 1e5)
        run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
        told = [text for text in warnings_of(run, scenario) if "precharge" in text]
        picked = isinstance(choose(search(scenario, [bar], [8.0], 1, workers=1, unchanged=False)), Pick)
        assert picked is not bool(told)
        assert [("too high" in text, "too low" in text) for text in told] in ([], [(bar == 30.0, bar == 60.0)])


def test_the_limits_switch_it_off(flat):
    off = replace(flat, limits=replace(flat.limits, **invented.ANY_PRECHARGE))
    for scenario, picked in ((flat, False), (off, True)):
        made = search(scenario.with_settings(precharge=70e5), [40.0], [8.0], 1, workers=1, unchanged=False)
        assert isinstance(choose(made), Pick) is picked


def test_the_search_over_precharges_keeps_to_it(flat):
    found = search_settings(
        flat, [10.0, 24.0, 70.0], None, pressures_bar=[40.0], speeds_kmh=[8.0], seeds=[1], workers=1, unchanged=False
    )
    assert [isinstance(one.outcome, Pick) for one in found.tried] == [False, True, False]
    assert found.best is found.tried[1]
    said = one_line(searched_text(found))
    assert re.search(r"fails\*? 10 [^a-z]* gas squeeze \(cold\)", said)
    assert re.search(r"fails\*? 70 [^a-z]* precharge \(hot\)", said)
    assert "32.7 to 50.9 on 24" in said
    assert "at most 0.9 of the lowest working pressure" in said


def test_no_cushion_is_not_picked_and_what_would_suit_is_told():
    scenario = invented.short_scenario("no_cushion", 20.0)
    made = search(scenario, speeds_kmh=[6.0], seeds=1, workers=1, unchanged=False)
    found = choose(made)
    assert isinstance(found, Nearest)
    assert any(check.limit.name == "precharge_share_max" for check in found.failing)
    said = helps(made, found)
    where = f"{found.oil_pressure_bar:g} bar of oil"
    assert said[0].startswith("Less precharge (50 bar now): ")
    assert said[0].endswith(f"bar suits {where}; --precharges 14:40:6 searches them too.")
    suiting = scenario.with_settings(oil_pressure=found.oil_pressure, precharge=float(said[0].split()[5]) * 1e5)
    assert keeps(scenario.limits.gas_rule, scenario.unit, suiting.settings)
    assert not any("would do if the limits were" in text for text in said)
    notes = caution_notes(made, found, ())
    assert any("50 bar suits 68 to 100.4 bar of oil" in note and "all 6 pressures tried" in note for note in notes)
    assert not any("precharge" in text for text in warning_notes(found))  # told by the limit


def test_more_precharge_is_told_where_a_hump_presses_the_gas_too_far():
    made = replace(
        window((1, 1, 1), pressures_bar=(75.0,), gas_squeeze=9.0), precharge=24e5, suiting=(Span(36e5, 55e5),)
    )
    found = choose(made)
    assert nearest_sentence(found).endswith("gas squeeze (cold) 9.00 times the precharge against at most 4")
    assert helps(made, found)[0] == (
        "More precharge (24 bar now): 36 to 55 bar suits 75 bar of oil; --precharges 36:55:6 searches them too."
    )
    none = replace(made, suiting=(Span(60e5, 50e5),))
    assert "No precharge suits 75 bar of oil (24 bar now)" in helps(none, choose(none))[0]
    unknown = replace(made, suiting=(), precharge=None)
    assert not any(text.startswith(("More precharge", "No precharge")) for text in helps(unknown, choose(unknown)))


def test_values_read_as_ratios_and_name_no_ground():
    made = window((2, 1, 3), precharge_share=by_pressure(0.9004, 0.6), gas_squeeze=by_pressure(2.0, 3.0))
    first = next(check for check in checks(made, made.limits, 0, 0) if check.limit.name == "precharge_share_max")
    assert first.sentence() == "precharge (hot) 0.9004 of the lowest working pressure against at most 0.9"
    assert first.seed is None
    assert choose(made).oil_pressure_bar == 40
    assert set(limit_words(Limits())) >= {
        "precharge (hot) at most 0.90 of the lowest working pressure",
        "gas squeeze (cold) at most 4.00 times the precharge",
    }


def test_it_counts_in_the_room_of_a_pick():
    made = window((2, 1, 1), precharge_share=by_pressure(0.89, 0.7))
    assert choose(made).oil_pressure_bar == 40
    assert float(margins(made, made.limits)["precharge_share_max"][0, 0]) == pytest.approx(0.01 / 0.9)
    assert {limit.name for limit, _ in given(Limits())} >= set(GAS)


def test_the_present_setting_is_told_where_it_breaks_the_rule(flat):
    assert present_use(flat, (1,)).warnings == ()
    (told,) = present_use(flat.with_settings(precharge=50e5), (1,)).warnings
    assert "a precharge of 50 bar is too high for 40 bar of oil" in told
    assert told.endswith("18.6 to 29.4 bar suits")


def test_of_equal_pairs_one_outside_the_rule_is_never_the_best(flat):
    bad = window((1, 2, 1), gas_squeeze=5.0)
    good = window((1, 1, 1))
    tried = [Tried(flat, made, choose(made)) for made in (bad, good)]
    best = best_of(tried, 0.040)
    assert best is tried[1]
    assert Searched(flat, tuple(tried), best, wanted_depths(flat)).best.outcome.speed_kmh == 5.0


# --- what is shipped --------------------------------------------------------------------------------------------

BROKEN = {"no_cushion", "hard_ground"}  # shown for oil pressures that do not suit


@every("name", [entry.name for entry in (*library(), *library("unit"))])
def test_what_is_shipped_keeps_the_rule_or_says_what_for(name):
    scenario = load_unit(name)
    rule = scenario.limits.gas_rule
    assert keeps(rule, scenario.unit, scenario.settings) is (name not in BROKEN)
    suit = [keeps(rule, scenario.unit, replace(scenario.settings, oil_pressure=p)) for p in scenario.search.pressures]
    assert any(suit) is (name != "no_cushion")


def test_the_default_search_reaches_just_over_both_ends_of_what_the_default_precharge_suits():
    scenario = load("rough")
    rule, pressures = scenario.limits.gas_rule, Search().pressures
    suit = [keeps(rule, scenario.unit, replace(scenario.settings, oil_pressure=p)) for p in pressures]
    assert suit == [False, *np.full(len(pressures) - 2, True), False]
