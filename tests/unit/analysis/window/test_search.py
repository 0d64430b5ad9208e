"""Precharges and depths searched too: one window each, the pick over all by the rule of a single window."""

import json
from dataclasses import replace
from types import SimpleNamespace

import invented
import pytest

from analysis.window.advice_document import searched_document
from analysis.window.cross_grid import search
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.search import (
    Searched,
    Tried,
    Wanted,
    advise_searched,
    best_of,
    depths_to_try,
    search_settings,
    settings_to_try,
    wanted_depths,
)
from analysis.window.sentences import nearest_sentence
from analysis.window.told.detail_words import detailed_text
from analysis.window.told.search_words import searched_text
from analysis.window.words import window_text
from scenarios.format.errors import ScenarioError
from scenarios.spec import Limits

AXES = {"pressures_bar": [50.0, 60.0], "speeds_kmh": [7.0, 8.0], "seeds": [1]}


@pytest.fixture(scope="module")
def scenario():
    return invented.short_scenario("rough", 20.0)


@pytest.fixture(scope="module")
def told():
    return []


@pytest.fixture(scope="module")
def found(scenario, told):
    return search_settings(
        scenario, [30.0, 20.0], [30.0, 40.0], **AXES, workers=1, progress=lambda *n: told.append(n), unchanged=False
    )


def test_every_pair_has_the_window_that_it_has_alone(scenario, found):
    pairs = [(one.scenario.settings.precharge, one.scenario.settings.set_depth) for one in found.tried]
    assert pairs == [(20e5, 0.03), (20e5, 0.04), (30e5, 0.03), (30e5, 0.04)]
    one = found.tried[2]
    alone = search(scenario.with_settings(precharge=30e5, set_depth=0.03), **AXES, workers=1, unchanged=False)
    assert one.window.grids["on_depth_share"].tobytes() == alone.grids["on_depth_share"].tobytes()
    assert one.window.grids["gauge_load_mean"].tobytes() == alone.grids["gauge_load_mean"].tobytes()
    other = found.tried[0].window.grids["gauge_load_mean"]
    assert (other != alone.grids["gauge_load_mean"]).all()


def test_progress_counts_over_all_windows(found, told):
    del found
    assert [done for done, _ in told] == list(range(1, 17))
    assert {total for _, total in told} == {16}


def tried(precharge_bar, depth_mm, **grids):
    """One invented window under a precharge and a set depth."""
    scenario = invented.short_scenario("rough").with_settings(precharge=precharge_bar * 1e5, set_depth=depth_mm / 1e3)
    window = invented.window((2, 2, 1), **grids)
    return Tried(scenario, window, choose(window))


def test_the_fastest_wins_then_the_room_then_the_lower_pressure_and_precharge():
    slow = tried(20, 40, wheel_off_share=invented.by_speed(0.01, 0.03))
    fast, roomy = tried(24, 40, gauge_load_mean=1190.0), tried(30, 40, gauge_load_mean=1100.0)
    assert best_of([slow, fast, roomy], 0.040) is roomy
    assert best_of([slow, fast], 0.040) is fast
    assert best_of([slow, tried(30, 40, on_depth_share=0.5)], 0.040) is slow
    one, two, three = tried(30, 40), tried(24, 40), tried(24, 30)
    assert best_of([one, two], 0.040) is two
    assert best_of([two, three], 0.030) is three
    lower = tried(40, 40, gauge_load_mean=invented.by_pressure(700.0, 1300.0))
    upper = tried(20, 40, gauge_load_mean=invented.by_pressure(1300.0, 700.0))
    assert best_of([upper, lower], 0.040) is lower


def test_where_none_meets_the_limits_the_nearest_over_all_is_told():
    far, near = tried(20, 40, on_depth_share=0.5), tried(24, 40, on_depth_share=0.8)
    hindered = tried(30, 40, reached=0.0)
    assert isinstance(hindered.outcome, Nearest)
    assert best_of([far, near], 0.040) is near
    assert best_of([hindered, far], 0.040) is far


def test_no_pick_goes_over_the_files_highest_oil_pressure():
    """Every limit is met everywhere; the highest allowed pressure alone decides which cells may be chosen."""
    open_ = invented.window((4, 2, 1), gauge_load_mean=invented.by_pressure(1190.0, 1180.0, 1170.0, 1150.0))
    assert choose(open_).oil_pressure == 60e5
    held = replace(open_, limits=Limits(max_oil_pressure=50e5))
    pick = choose(held)
    assert isinstance(pick, Pick)
    assert pick.oil_pressure == 50e5
    assert choose(replace(open_, limits=Limits(max_oil_pressure=49e5))).oil_pressure == 40e5
    nothing = choose(replace(open_, limits=Limits(max_oil_pressure=20e5)))
    assert isinstance(nothing, Nearest)
    assert "above the highest oil pressure that may be set, 20 bar" in nearest_sentence(nothing)


def test_a_searched_window_keeps_to_the_highest_oil_pressure_too(scenario):
    limited = replace(scenario, limits=Limits(max_oil_pressure=55e5, wheel_off_share_max=1.0, on_depth_share_min=0.0,
                                              gauge_load_min=0.0, gauge_load_max=2e4))  # fmt: skip
    made = search_settings(limited, [20.0, 30.0], None, **AXES, workers=1, unchanged=False)
    assert all(one.outcome.oil_pressure == 50e5 for one in made.tried)
    assert made.best.outcome.oil_pressure == 50e5


def test_json_names_precharge_and_depth(found):
    advice = advise_searched(found, 1, sure=False)
    d = searched_document(found, advice)
    json.dumps(d, allow_nan=False)
    assert (d["precharges_bar"], d["depths_mm"]) == ([20.0, 30.0], [30.0, 40.0])
    outcome = d["pick"] or d["nearest"]
    best = found.best.scenario.settings
    assert outcome["precharge_bar"] == best.precharge / 1e5
    assert outcome["set_depth_mm"] == pytest.approx(best.set_depth * 1e3)
    assert len(d["searched"]) == 4
    other, each = d["searched"][:2]
    assert (other["precharge_bar"], other["set_depth_mm"]) == (20.0, 30.0)
    assert (other["wanted"], other["pick"], other["nearest"]) == (False, None, None)
    assert (each["precharge_bar"], each["set_depth_mm"], each["wanted"]) == (20.0, 40.0, True)
    assert (each["pick"] is None) != (each["nearest"] is None)
    assert "would_allow" not in each
    assert d["depths_wanted"] == {"from_mm": 40.0, "to_mm": 40.0, "source": "file"}
    assert d["headline"].startswith("Set " if d["pick"] else "No setting to use")
    assert d["on_depth_share"] == next(
        one["on_depth_share"] for one in d["searched"]
        if (one["precharge_bar"], one["set_depth_mm"]) == (outcome["precharge_bar"], outcome["set_depth_mm"])
    )  # fmt: skip


def test_what_the_pick_buys_is_held_against_the_files_own_setting(scenario):
    easy = replace(scenario, limits=Limits(depth_tolerance=0.02, wheel_off_share_max=0.3, gauge_load_max=2000.0))
    made = search_settings(easy, [40.0], [30.0], **AXES, workers=1, unchanged=False)
    advice = advise_searched(made, 1, sure=False)
    own = search_settings(easy, None, None, [40.0], [8.0], [1], workers=1, unchanged=False)
    assert advice.gain.present.on_depth_share == pytest.approx(own.best.window.grids["on_depth_share"][0, 0, 0])
    assert "in place of     40 bar, 8 km/h, precharge 24 bar: on depth" in window_text(advice, made.best.scenario)
    screen = detailed_text(advice, made.best.scenario)
    assert "precharge 40 bar at 20 °C" in screen
    assert "present: 40 bar, 8 km/h, precharge 24 bar" in screen
    assert "left alone" in screen


FILE = Wanted(0.040, 0.040, "file")


def said(file, *found, best=None, wanted=FILE, added=False):
    return " ".join(searched_text(Searched(file, found, best or found[-1], wanted, added)).split())


def test_sentences_follow_the_numbers():
    file = invented.short_scenario("rough")
    one, two = tried(24, 40, wheel_off_share=invented.by_speed(0.01, 0.03)), tried(30, 40)
    text = said(file, one, two)
    assert text.startswith("Searched 2 precharges. gas bar oil bar km/h")
    assert "Pick over all: precharge 30 bar, set depth 40 mm, 30 bar oil at 6 km/h" in text
    assert "Against the file's own precharge 24 bar and set depth 40 mm: 1.0 km/h faster, least room +5.6 %" in text
    assert "is the best of them" in said(file, two, one)
    bad = tried(30, 40, on_depth_share=0.45)
    text = said(file, bad)
    assert "No pick: nothing tried at a depth that is wanted meets every limit. Over all: precharge 30 bar" in text
    assert "30 bar oil at 6 km/h fails least (not to be set)" in text
    assert "−50.0 % on-depth share" in text
    assert "was not among them" in said(file, bad, two)
    assert "With the file's own precharge 24 bar and set depth 40 mm nothing tried meets every limit." in said(
        file, tried(24, 40, on_depth_share=0.45), two
    )


# --- the depth that the crop wants --------------------------------------------------------------------------------


def other_depth(one):
    return replace(one, wanted=False)


def test_a_depth_that_is_not_wanted_is_never_picked_however_fast():
    slow, fast = tried(24, 40, wheel_off_share=invented.by_speed(0.01, 0.03)), other_depth(tried(24, 20))
    assert fast.outcome.speed > slow.outcome.speed
    assert best_of([fast, slow], 0.040) is slow
    failing = tried(24, 40, on_depth_share=0.5)
    assert best_of([fast, failing], 0.040) is failing


def test_of_equal_depths_the_one_nearest_to_the_files_is_picked():
    depths = [tried(24, depth) for depth in (30, 38, 45)]
    assert best_of(depths, 0.040) is depths[1]
    assert best_of(depths, 0.032) is depths[0]
    cheap = tried(24, 30, gauge_load_mean=invented.by_pressure(700.0, 1300.0))
    dear = tried(24, 40, gauge_load_mean=invented.by_pressure(1300.0, 700.0))
    assert best_of([cheap, dear], 0.040) is dear


def test_which_depths_are_wanted(scenario):
    assert wanted_depths(scenario) == FILE
    limited = replace(scenario, limits=Limits(set_depth_min=0.035, set_depth_max=0.045))
    assert wanted_depths(limited) == Wanted(0.035, 0.045, "limits")
    assert wanted_depths(limited, (20.0, 30.0)) == Wanted(0.020, 0.030, "option")
    open_ = wanted_depths(replace(scenario, limits=Limits(set_depth_min=0.035)))
    assert open_.has(0.1)
    assert not open_.has(0.0349)
    assert (open_.low_mm, open_.high_mm) == (35.0, None)


def test_which_depths_are_tried(scenario):
    assert depths_to_try(scenario, None, FILE) == (None, False)
    assert depths_to_try(scenario, [30.0, 40.0], FILE) == ((30.0, 40.0), False)
    assert depths_to_try(scenario, [30.0, 50.0], FILE) == ((30.0, 50.0, 40.0), True)
    asked = Wanted(0.020, 0.030, "option")
    assert depths_to_try(scenario, None, asked) == ((20.0, 30.0, 40.0), False)
    assert depths_to_try(scenario, [25.0, 50.0], asked) == ((25.0, 50.0), False)
    with pytest.raises(ScenarioError, match=r"35, 50 mm, none of which may be picked; allowed: one or more that are at "
                       r"least 20 mm and at most 30 mm; try: 20"):  # fmt: skip
        depths_to_try(scenario, [35.0, 50.0], asked)


EASY = Limits(depth_tolerance=0.05, wheel_off_share_max=1.0, on_depth_share_min=0.0, gauge_load_min=0.0,
              gauge_load_max=2e4)  # fmt: skip


def test_a_search_over_depths_picks_the_files_own_and_tells_what_others_allow(scenario):
    """A grower whose file asks for 40 mm is not sent to 30 mm because shallower is faster."""
    hard = replace(scenario, limits=replace(EASY, gauge_load_max=1000.0))
    made = search_settings(hard, None, [30.0, 50.0], **AXES, workers=1, unchanged=False)
    assert [one.pair()["set_depth_mm"] for one in made.tried] == [30.0, 40.0, 50.0]
    assert [one.wanted for one in made.tried] == [False, True, False]
    assert made.added
    assert made.best is made.tried[1]
    advice = advise_searched(made, 1, sure=False)
    d = searched_document(made, advice)
    assert (d["pick"] or d["nearest"])["set_depth_mm"] == 40.0
    assert [one["pick"] for one in d["searched"] if not one["wanted"]] == [None, None]
    told = " ".join(searched_text(made).split())
    assert "Depth: 40 mm is wanted (the file's set depth, added to those asked for); to let the search choose" in told
    assert "say --depth-range 35:45. Other depths are for information, never the pick." in told


def test_a_range_lets_the_search_choose_and_is_held_to(scenario):
    """20 mm is the file's neighbour in no range: it stands in the table and is not picked."""
    made = search_settings(replace(scenario, limits=EASY), None, [20.0, 30.0, 45.0], **AXES, workers=1,
                           depth_range_mm=(25.0, 50.0), unchanged=False)  # fmt: skip
    assert [one.wanted for one in made.tried] == [False, True, True]
    assert made.best.wanted
    assert isinstance(made.best.outcome, Pick)
    assert isinstance(choose(made.tried[0].window), Nearest)  # that window alone would not be picked from either
    advice = advise_searched(made, 1, sure=False)
    assert isinstance(advice.outcome, Pick)
    depth = advice.outcome.set_depth_mm
    screen = window_text(advice, made.best.scenario)
    assert f"set depth       {depth:g} mm (25 to 50 mm may be sown)" in screen
    assert f"the setting made for {depth:g} mm at" in " ".join(screen.split())
    assert "40 bar, 8 km/h, set depth 40 mm: on depth" in " ".join(screen.split())
    told = " ".join(searched_text(made).split())
    assert "Depth: 25 to 50 mm are wanted (--depth-range)." in told
    assert "not wanted" in told
    assert searched_document(made, advice)["searched"][0]["would_allow"]["set_depth_mm"] == 20.0


def test_where_only_another_depth_would_do_it_is_told_and_not_set():
    file = invented.short_scenario("rough")
    fails, other = tried(24, 40, on_depth_share=0.45), other_depth(tried(24, 30))
    text = said(file, other, fails)
    assert "No pick: nothing tried at a depth that is wanted meets every limit." in text
    assert "At a depth that is not wanted some setting would: precharge 24 bar, set depth 30 mm, 30 bar oil" in text


def test_a_window_at_a_depth_that_the_crop_does_not_take_has_no_pick():
    made = invented.window((2, 2, 1), Limits(set_depth_max=0.035))
    found = choose(made)
    assert isinstance(found, Nearest)
    assert "set depth 40 mm is not one at which the crop may be sown (up to 35 mm)" in nearest_sentence(found)
    assert isinstance(choose(made, Limits(set_depth_max=0.040)), Pick)


def test_a_precharge_at_the_end_of_those_tried_says_so(scenario):
    made = search_settings(replace(scenario, limits=EASY), [20.0, 30.0], None, **AXES, workers=1, unchanged=False)
    advice = advise_searched(made, 1, sure=False)
    end = {20e5: "lowest", 30e5: "highest"}[made.best.scenario.settings.precharge]
    assert f"{end}_precharge" in searched_document(made, advice)["pick"]["at_edge"]
    assert f"bar at 20 °C (the {end} tried)" in window_text(advice, made.best.scenario)


def test_all_pairs_out_of_range_are_told_at_once(scenario):
    with pytest.raises(ScenarioError) as error:
        settings_to_try(scenario, [0.2, 24.0, 999.0], [30.0, 400.0])
    assert len(error.value.faults) == 3
    small = replace(scenario, unit=replace(scenario.unit, disc=replace(scenario.unit.disc, radius=0.12)))
    with pytest.raises(ScenarioError, match=r"0\.8 of the disc's radius"):
        settings_to_try(small, None, [40.0, 120.0])
    assert [one.settings for one in settings_to_try(scenario, None, None)] == [scenario.settings]


def test_the_margin_of_what_cannot_be_chosen_is_below_all():
    assert Tried(None, None, SimpleNamespace(checks=[SimpleNamespace(margin=0.2)])).margin == 0.2
    assert tried(30, 40, reached=0.0).margin == float("-inf")
