"""The split of the depth error as told, worst places, changes tried, sentences from numbers."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
from drawn import amiss
from every import every

from analysis.crossing.breakouts import Breakout
from analysis.crossing.depth import depth_error
from analysis.crossing.episodes import Episode, wheel_off_episodes
from analysis.explain.document import document, says
from analysis.explain.explain import explain, shown_stretch
from analysis.explain.figure_causes import HATCHES, causes_figure, figure_data
from analysis.explain.parts import along, stacked, told_parts, wheel_off
from analysis.explain.places import Place, ground_there, wheel_behind, worst_places
from analysis.explain.sentences import ground_words, place_sentence
from analysis.explain.trials.changes import Event, Outcome, outcomes
from analysis.explain.trials.knobs import DEPTH, PRESSURE, SPEED, changes
from analysis.explain.words import explain_text
from scenarios.format.errors import ScenarioError
from scenarios.load import load
from sim.record import CAUSES
from sim.run import simulate


@pytest.fixture(scope="module")
def hump():
    return explain(load("hump"), workers=1)


@pytest.fixture(scope="module")
def stony():
    return explain(load("stony", changes={"settings.oil_pressure_bar": 60}), 60.0, 90.0, workers=1)


@every("name", ["hump", "stony", "gully"])
def test_the_told_parts_add_up_to_the_error_at_every_sample(name):
    scenario = load(name)
    run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    parts = told_parts(run)
    assert tuple(parts) == CAUSES
    np.testing.assert_allclose(sum(parts.values()), depth_error(run), rtol=0.0, atol=1e-12)
    layers = stacked(parts)
    top = np.max([high for _, high in layers.values()], axis=0)
    bottom = np.min([low for low, _ in layers.values()], axis=0)
    np.testing.assert_allclose(np.maximum(top, 0.0) + np.minimum(bottom, 0.0), depth_error(run), rtol=0.0, atol=1e-12)


def test_layers_lie_on_each_other_without_gap():
    parts = {"a": np.array([2.0, -1.0]), "b": np.array([3.0, -2.0]), "c": np.array([-4.0, 5.0])}
    layers = stacked(parts)
    np.testing.assert_array_equal(np.array(layers["b"]), [[2.0, -3.0], [5.0, -1.0]])
    np.testing.assert_array_equal(np.array(layers["c"]), [[-4.0, 0.0], [0.0, 5.0]])


def test_while_the_wheel_is_off_squash_and_gap_are_one_cause(stony):
    run = stony.run
    off, parts = wheel_off(run), told_parts(run)
    assert 0.0 < off.mean() < 0.5
    assert not parts["tyre_and_sinkage"][off].any()
    expected = run.series["lift_off"][off] + run.series["tyre_and_sinkage"][off]
    np.testing.assert_array_equal(parts["lift_off"][off], expected)
    # off the ground the squash part reads about minus the squash at the setting
    assert np.median(run.series["tyre_and_sinkage"][off]) == pytest.approx(-run.setting.squash, rel=0.15)
    np.testing.assert_array_equal(parts["tyre_and_sinkage"][~off], run.series["tyre_and_sinkage"][~off])


@every("told", ["hump", "stony"])
def test_what_the_figure_draws_adds_up(told, request):
    explanation = request.getfixturevalue(told)
    data = figure_data(explanation)
    np.testing.assert_allclose(sum(data[name] for name in HATCHES), data["error"], rtol=0.0, atol=1e-9)
    first, last = shown_stretch(explanation)
    assert first <= data["x"][0] < data["x"][-1] <= last
    figure = causes_figure(explanation)
    assert amiss(figure) == []
    lines = [line for axes in figure.axes for line in axes.get_lines() if line.get_label() == "depth error (sum)"]
    np.testing.assert_array_equal(lines[0].get_ydata(), data["error"])


def test_worst_places_are_the_largest_errors_in_order(hump):
    error = depth_error(hump.run)
    first = hump.places[0].what
    assert abs(first.error) == np.abs(error).max()
    sizes = [abs(t.what.error) for t in hump.places]
    assert sizes == sorted(sizes, reverse=True)
    assert [t.what.number for t in hump.places] == list(range(1, len(sizes) + 1))
    assert all(size > 0.010 for size in sizes)
    # too deep on the way up, too shallow on the way down
    assert first.error > 0 > hump.places[1].what.error
    assert first.at < 20.0 < hump.places[1].what.at
    assert first.ground.slope > 0.05 > -0.05 > hump.places[1].what.ground.slope


def test_a_place_knows_where_the_tolerance_is_passed(hump):
    run, place = hump.run, hump.places[0].what
    x, error = along(run), depth_error(run)
    first, last = place.beyond
    inside = (x >= first) & (x <= last)
    assert (error[inside] > 0.010).all()
    assert error[np.flatnonzero(inside)[0] - 1] <= 0.010
    assert error[np.flatnonzero(inside)[-1] + 1] <= 0.010


def test_without_a_large_error_one_place_is_told_and_none_on_flat_ground(hump):
    wide = worst_places(hump.run, 0.5, 0.0, 40.0)
    assert len(wide) == 1
    assert wide[0].beyond is None
    assert worst_places(hump.run, 0.010, 0.0, 5.0) == ()


def test_ground_is_read_off_the_track(hump):
    track = hump.run.track
    there = ground_there(track, 20.0, 0.0)  # top of the hump: 150 mm over 3 m, a cosine
    assert there.slope == pytest.approx(0.0, abs=1e-3)
    assert there.bend == pytest.approx(0.150 * (1 - 0.5 * (1 + np.cos(2 * np.pi * 0.5 / 3.0))), rel=0.02)
    assert (there.stone, there.stone_behind) == (0.0, 0.0)
    assert "over a crest (38 mm" in ground_words(there)
    assert wheel_behind(hump.run) == pytest.approx(0.054, abs=0.002)


def test_a_stone_near_by_is_told(stony):
    places = [t.what for t in stony.places if t.what.off]
    assert places
    assert any(place.ground.stone > 0.005 for place in places)
    place = next(place for place in places if place.ground.stone > 0.005)
    text = place_sentence(place, stony.run)
    assert f"a stone {place.ground.stone * 1e3:.0f} mm proud" in text
    assert "the gauge wheel is off" in text.lower()
    assert "carries" not in text


def test_the_sentence_holds_the_numbers_of_the_place(hump):
    place = hump.places[0].what
    text = place_sentence(place, hump.run)
    for figure in (
        f"At {place.at:.2f} m the slot is {place.error * 1e3:.0f} mm too deep",
        f"carries {place.gauge_load / 1e3:.2f} kN, {place.gauge_load / place.set_load:.1f} times the "
        f"{place.set_load / 1e3:.2f} kN when set",
        f"pressed to {place.oil_pressure / 1e5:.0f} bar (set to 40)",
    ):
        assert figure in text
    for name, words in (("tyre_and_sinkage", "tyre and sinkage"), ("ground_shape", "ground shape")):
        told = [int(n) for n in re.findall(rf"([+−]\d+) mm from {words}", text.replace("−", "-"))]
        assert told
        assert abs(told[0] - place.parts[name] * 1e3) < 1.0
    assert "under the gauge wheel, 54 mm behind" in text


@every("knob", [PRESSURE, SPEED, DEPTH])
def test_a_suggestion_was_run_and_helps_by_the_figure_stated(stony, knob):
    found = [(t, s) for t in (*stony.episodes, *stony.breakouts, *stony.places) for s in t.suggestions]
    chosen = [(t, s) for t, s in found if s.change.knob == knob]
    assert chosen
    name = {PRESSURE: "oil_pressure", SPEED: "speed", DEPTH: "set_depth"}[knob]
    for value in {s.change.value for _, s in chosen}:
        changed = stony.scenario.with_settings(**{name: value})
        again = simulate(changed.unit, changed.soil, stony.scenario.track(), changed.settings)
        for t, s in chosen:
            if s.change.value != value:
                continue
            events = [told.event for told in stony.all_told]
            before, after = (outcomes(run, events, 0.010)[events.index(t.event)] for run in (stony.run, again))
            assert (s.before, s.after) == (before.figure, after.figure)
            assert s.after < s.before
            gone = after.figure < 0.10 if t.event.kind == "wheel_off" else True
            assert s.prevents == (before.there and not after.there and gone)


def test_prevented_means_that_no_episode_is_left_there():
    told = explain(load("rough", changes={"settings.oil_pressure_bar": 30}), 0.0, 150.0, workers=1)
    clear = [(t, s) for t in told.episodes for s in t.suggestions if s.prevents and s.change.knob == PRESSURE]
    assert clear
    t, s = clear[0]
    changed = told.scenario.with_settings(oil_pressure=s.change.value)
    run = simulate(changed.unit, changed.soil, told.scenario.track(), changed.settings)
    ends = [(e.start, e.start + e.length) for e in wheel_off_episodes(run, 0.010)]
    assert not any(a <= t.event.last and b >= t.event.first for a, b in ends)
    # the smallest step that prevents it is the one told
    smaller = [x for x in told.tried if x.change.knob == PRESSURE and 0 < x.change.step < s.change.step]
    n = [*told.places, *told.episodes].index(t)
    assert all(x.outcomes[n].there for x in smaller)
    text = " ".join(says(told, t))
    assert f"{s.change.value / 1e5:.0f} bar (+{s.change.step / 1e5:.0f}): no wheel-off episode left (" in text


def test_changes_stay_within_what_may_be_set():
    scenario = load("hump", changes={"limits.max_oil_pressure_bar": 55, "settings.speed_kmh": 2.5})
    found = changes(scenario)
    assert [c.value for c in found if c.knob == PRESSURE] == [30e5, 50e5]  # 20 bar would leave the gas no cushion
    heavy = load("hump", changes={"machine.rows": 20, "settings.speed_kmh": 2.5})  # 43.0 bar lift its 3000 kg
    assert [c.value for c in changes(heavy) if c.knob == PRESSURE] == [30e5]
    assert [round(c.value * 3.6, 9) for c in found if c.knob == SPEED] == [1.5, 2.0, 3.0]
    assert [c.edge()[0] for c in found if c.knob == DEPTH] == [30.0, 35.0, 45.0, 50.0]


def test_outcomes_count_only_what_lies_at_the_event(stony):
    run = stony.run
    episode = max((t for t in stony.episodes), key=lambda t: t.what.length)
    inside = outcomes(run, [episode.event], 0.010)[0]
    assert inside.there
    assert inside.figure >= 0.9 * episode.what.length
    quiet = outcomes(run, [Event("wheel_off", -5.0, -4.0), Event("place", -5.0, -4.0)], 0.010)
    assert quiet == (Outcome(0.0, False, 0.0), Outcome(0.0, False, 0.0))


def test_the_text_tells_places_episodes_breakouts_and_what_was_tried(stony):
    text = explain_text(stony, "Stony field")
    for head in ("Worst places", "Wheel-off episodes:", "Breakouts:", "Tried, whole ground", "In short: worst at"):
        assert head in text
    assert "Part of the breakout at" in text
    assert all(len(line) <= 100 for line in text.splitlines())
    assert "  ·. " not in text


def test_the_document_is_whole(stony):
    d = document(stony)
    assert d["sum_residual_mm"] < 1e-9
    assert {e["cause"] for e in d["wheel_off_episodes"]} == {"rock"}
    assert all(60.0 - 1.0 <= b["position_m"] <= 90.0 for b in d["breakouts"])
    assert len(d["places"]) == len(stony.places) > 0
    assert all(isinstance(p["helps"], list) and p["says"] for p in d["places"])
    for told, kind in ((stony.places, Place), (stony.episodes, Episode), (stony.breakouts, Breakout)):
        assert {type(t.what) for t in told} == {kind}


@every(("first", "last", "words"), [(-1, None, "--from: given -1"), (0, 99, "--to: given 99"),
                                                      (10, 10.5, "a stretch of 1 m or more")])  # fmt: skip
def test_a_stretch_off_the_ground_is_refused(first, last, words):
    with pytest.raises(ScenarioError, match=words):
        explain(load("hump"), first, last)


def test_a_change_that_cannot_be_crossed_says_so():
    scenario = load("no_cushion")
    told = explain(replace(scenario), workers=1)
    text = explain_text(told, scenario.title)
    for t in told.tried:
        assert (t.whole is None) == bool(t.problem)
        assert not t.problem or t.problem in " ".join(text.split())
