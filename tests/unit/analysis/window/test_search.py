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
    advise_searched,
    best_of,
    search_settings,
    settings_to_try,
)
from analysis.window.search_words import searched_text
from analysis.window.sentences import nearest_sentence
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
    assert best_of([slow, fast, roomy]) is roomy
    assert best_of([slow, fast]) is fast
    assert best_of([slow, tried(30, 40, on_depth_share=0.5)]) is slow
    one, two, three = tried(30, 40), tried(24, 40), tried(24, 30)
    assert best_of([one, two]) is two
    assert best_of([one, two, three]) is three
    lower = tried(40, 40, gauge_load_mean=invented.by_pressure(700.0, 1300.0))
    upper = tried(20, 40, gauge_load_mean=invented.by_pressure(1300.0, 700.0))
    assert best_of([upper, lower]) is lower


def test_where_none_meets_the_limits_the_nearest_over_all_is_told():
    far, near = tried(20, 40, on_depth_share=0.5), tried(24, 40, on_depth_share=0.8)
    hindered = tried(30, 40, reached=0.0)
    assert isinstance(hindered.outcome, Nearest)
    assert best_of([far, near]) is near
    assert best_of([hindered, far]) is far


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
    each = d["searched"][0]
    assert (each["precharge_bar"], each["set_depth_mm"]) == (20.0, 30.0)
    assert (each["pick"] is None) != (each["nearest"] is None)
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
    screen = window_text(advice, made.best.scenario)
    assert "precharge 40 bar at 20 °C" in screen
    assert "left alone" in screen


def test_sentences_follow_the_numbers():
    file = invented.short_scenario("rough")
    one, two = tried(24, 40, wheel_off_share=invented.by_speed(0.01, 0.03)), tried(30, 40)
    text = " ".join(searched_text(Searched(file, (one, two), two)).split())
    assert "pick over all: precharge 30 bar, set depth 40 mm, 30 bar oil at 6 km/h" in text
    assert "Against the file's own precharge 24 bar and 40 mm: 1.0 km/h faster, least room +5.6 %" in text
    text = " ".join(searched_text(Searched(file, (one,), one)).split())
    assert "pick over all: precharge 24 bar, set depth 40 mm, 30 bar oil at 5 km/h" in text
    assert "is the best of them" in text
    bad = tried(30, 35, on_depth_share=0.45)
    text = " ".join(searched_text(Searched(file, (bad,), bad)).split())
    assert "no pick in any; nearest over all: precharge 30 bar, set depth 35 mm" in text
    assert "−50.0 % on-depth share nearest over all" in text
    assert "was not among them" in text


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
