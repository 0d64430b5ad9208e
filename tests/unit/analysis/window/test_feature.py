"""Windows over one feature: what binds there, that flat ground beside it changes nothing, and how it is told."""

import json
from dataclasses import replace

import invented
import matplotlib.pyplot as plt
import pytest
from every import every

from analysis.crossing.measures import MEASURES
from analysis.crossing.place_words import metres
from analysis.window.advice import advise
from analysis.window.advice_document import advice_document
from analysis.window.cross_grid import search
from analysis.window.document import window_document
from analysis.window.feature.at_feature import AtFeature, at_cell, largest_error
from analysis.window.feature.feature_words import changed_words, compared, judged, slot, slot_span
from analysis.window.figure import window_figure
from analysis.window.gain import Gain, Use, gain
from analysis.window.limits import checks, given, meets
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.told.detail_words import detailed_text
from analysis.window.words import window_text
from scenarios.load import load
from scenarios.spec import Limits

SHARES = {"on_depth_share_min", "wheel_off_share_max"}


def on_length(name, length):
    scenario = load(name)
    return replace(scenario, x_to=scenario.x_from + length)


def tried(scenario, bars, speeds):
    return search(scenario, bars, speeds, workers=1, unchanged=False)


@pytest.fixture(scope="module")
def bank():
    scenario = load("bank")
    return scenario, tried(scenario, [35.0, 40.0, 45.0], [8.0, 9.0, 10.0, 12.0])


def test_the_bank_is_crossed_as_fast_as_its_slot_allows(bank):
    """By shares of the way every one of these settings was on depth for more than nine tenths of it."""
    _, window = bank
    assert window.over_seeds("on_depth_share").min() > Limits().on_depth_share_min
    found = choose(window)
    assert isinstance(found, Pick)
    assert found.speed_kmh == pytest.approx(9.0)
    faster = [checks(window, window.limits, i, found.j + 1)[0] for i in range(3)]
    assert {check.limit.name for check in faster} == {"feature_too_deep_max"}
    assert not any(check.met for check in faster)


@every(("name", "binds"), [
    ("hump", "feature_too_deep_max"), ("hollow", "feature_too_shallow_max"),
])  # fmt: skip
def test_a_hump_and_a_hollow_are_stopped_by_their_own_worst_however_long_the_flat(name, binds):
    """At 12 km/h the slot is all but what it is at 5; what stops 20 km/h is no share of 40 m or of 400 m."""
    picks = {}
    for length in (40.0, 400.0):
        window = tried(on_length(name, length), [35.0, 40.0], [12.0, 20.0])
        picks[length] = choose(window)
        for i in (0, 1):
            failing = [check.limit.name for check in checks(window, window.limits, i, 1) if not check.met]
            assert binds in failing
            assert not SHARES & set(failing)
        if length == 400.0:  # this is how it was diluted
            assert window.grids["on_depth_share"].min() > Limits().on_depth_share_min
            assert window.grids["wheel_off_share"].max() < Limits().wheel_off_share_max
    short, long = picks.values()
    assert isinstance(short, Pick)
    assert (short.oil_pressure, short.speed) == (long.oil_pressure, long.speed)
    assert short.speed_kmh == pytest.approx(12.0)


def test_flat_ground_beside_a_feature_changes_none_of_its_measures():
    own = [m.name for m in MEASURES.values() if m.at_most.startswith("feature_")] + ["error_max", "error_min"]
    short, long = (tried(on_length("hump", length), [40.0], [10.0]) for length in (40.0, 400.0))
    for name in own:
        assert short.grids[name] == pytest.approx(long.grids[name], rel=1e-9), name
    assert long.grids["on_depth_share"] > short.grids["on_depth_share"]


def test_where_the_unit_leaves_the_ground_no_setting_is_to_be_used():
    window = tried(load("gully"), [35.0, 55.0], [5.0, 10.0])
    found = choose(window)
    assert isinstance(found, Nearest)
    assert found.failing[0].limit.name == "feature_too_shallow_max"
    assert "error too shallow" in found.failing[0].sentence()
    assert "of the set depth (ground 1) against at most 50 %" in found.failing[0].sentence()
    assert not meets(window, window.limits).any()


def test_limits_of_a_feature_can_be_changed(bank):
    scenario, window = bank
    loose = choose(window, replace(scenario.limits, feature_too_deep_max=1.0))
    assert isinstance(loose, Pick)
    assert loose.speed_kmh == pytest.approx(12.0)
    assert isinstance(choose(window, replace(scenario.limits, feature_off_depth_max=1.0)), Nearest)
    heavy = choose(window, replace(scenario.limits, feature_gauge_peak_max=2600.0))
    assert isinstance(heavy, Pick)
    assert heavy.speed_kmh == pytest.approx(8.0)


def test_limits_of_a_feature_hold_only_on_a_feature_whoever_gives_them():
    rough = invented.window((2, 2, 1), error_max=0.2, error_min=-0.2, too_deep=5.0, too_shallow=5.0)
    assert isinstance(choose(rough), Pick)
    strict = Limits(on_feature=True, feature_too_deep_max=0.0)
    assert isinstance(choose(rough, strict), Pick)
    assert not [limit for limit, _ in given(rough.limits) if limit.name.startswith("feature_")]
    feature = replace(rough, limits=Limits(on_feature=True))
    assert isinstance(choose(feature, Limits()), Nearest)
    assert not SHARES & {check.limit.name for check in checks(feature, feature.limits, 0, 0)}


def test_what_the_pick_buys_is_told_by_the_slot_and_in_metres(bank):
    scenario, window = bank
    found = choose(window)
    made = gain(scenario, window, found, workers=1)
    at = at_cell(window, found.set_depth, found.i, found.j)
    assert made.pick.at == at
    assert at.deepest == pytest.approx(0.040 + window.grids["error_max"][found.i, found.j].max())
    assert at.shallowest == pytest.approx(0.040 + window.grids["error_min"][found.i, found.j].min())
    present = replace(scenario.settings, oil_pressure=40e5, speed=8.0 / 3.6)
    same = gain(replace(scenario, settings=present), window, found, workers=1).present.at
    assert same == pytest.approx(at_cell(window, 0.040, 1, 0), rel=1e-9)
    rows = compared(made.pick, made.present, 0.010)
    assert [row[0] for row in rows] == [
        "shallowest slot", "deepest slot", "off depth at one place (±10 mm)", "gauge wheel off at one place",
    ]  # fmt: skip
    assert rows[1][1] == "64 mm"
    assert largest_error(window)[found.i, found.j] == pytest.approx(window.grids["error_max"][found.i, found.j, 0])


def test_better_and_worse_go_by_the_feature():
    use = Use(40e5, 2.0, 0.04, 24e5, "redone", 0.92, 0.01, 1.0, at=AtFeature(0.060, 0.030, 1.0, 0.0))
    deeper = replace(use, on_depth_share=0.99, at=AtFeature(0.070, 0.030, 1.0, 0.0))
    assert (Gain(deeper, use).better, Gain(deeper, use).worse) == (False, True)
    closer = replace(use, on_depth_share=0.5, at=AtFeature(0.060, 0.035, 0.5, 0.0))
    assert (Gain(closer, use).better, Gain(closer, use).worse) == (True, False)


def test_words_of_slots_and_lengths():
    there = AtFeature(0.0638, 0.0232, 3.48, 0.0)
    assert slot_span(there) == "23 to 64 mm"
    assert slot_span(AtFeature(0.05, -0.01, 0.0, 0.0)) == "out of the ground to 50 mm"
    assert (slot(0.0), metres(0.0), metres(3.48)) == ("out of the ground", "0 m", "3.5 m")
    assert changed_words(there, AtFeature(0.06, 0.0232, 3.4, 0.0)) == (
        "slot 23 to 60 mm → 23 to 64 mm, off depth 3.4 m → 3.5 m"
    )


def test_which_measures_were_used_and_why_is_said():
    hump = {"kind": "hump", "at_m": 120, "height_mm": 100, "length_m": 4}
    assert "flat ground but for a bank at 25 m" in judged(load("bank")).lower()
    assert "not by shares of the 50 m" in judged(load("bank"))
    other = judged(load("rough", changes={"ground.features": [hump]}))
    assert other.startswith("A hump at 120 m on ground with random roughness: judged by shares of the 300 m")
    assert judged(load("rough")) == judged(load("smooth")) == judged(load("gilgai")) == ""


def told(text):
    return " ".join(text.split())


def test_screens_document_and_map_tell_the_feature(bank):
    scenario, window = bank
    advice = advise(scenario, window, workers=1, sure=False)
    short, full = told(window_text(advice, scenario)), told(detailed_text(advice, scenario))
    assert "Judged by the worst at a bank at 25 m, not by shares of the 50 m." in short
    assert "slot 24 to 63 mm → 23 to 64 mm, off depth 3.4 m → 3.5 m" in short
    assert "on depth (±10 mm)" not in full
    assert "deepest slot 64 mm 63 mm off depth at one place (±10 mm) 3.5 m 3.4 m" in full
    document = advice_document(advice)
    json.dumps(document, allow_nan=False)
    assert document["limits"]["on_feature"]
    assert document["limits"]["feature_off_depth_max_m"] == 4.0
    assert not SHARES & set(document["limits"])
    assert document["pick"]["margins"]["feature_too_deep_max"] == pytest.approx((0.6 - 0.598) / 0.6, abs=0.002)
    assert document["pick"]["buys"]["pick"]["slot_deepest_mm"] == pytest.approx(63.9, abs=0.2)
    assert document["error_max_mm"][1][1] == pytest.approx(23.9, abs=0.2)
    figure = window_figure(window, advice.outcome, scenario)
    numbers = [text.get_text() for text in figure.axes[0].texts]
    assert numbers == [f"{v:.0f}" for v in largest_error(window).ravel() * 1e3]
    (legend,) = figure.legends
    keys = [" ".join(text.get_text().split()) for text in legend.get_texts()]
    assert "error too deep at most 60 % of the set depth" in keys
    said = " ".join(" ".join(text.get_text() for text in figure.texts).split())
    assert "Met everywhere: " in said
    assert "way off depth at one place at most 4.0 m" in said.partition("Met everywhere: ")[2]
    plt.close(figure)


def test_rough_ground_is_told_by_shares_as_ever():
    document = window_document(invented.window((1, 1, 1)))
    assert not document["limits"]["on_feature"]
    assert set(document["limits"]) >= SHARES
    assert not [key for key in document["limits"] if key.startswith("feature_")]
    assert not [words for words in document["limits"]["not_checked"] if "gauge load" in words]
