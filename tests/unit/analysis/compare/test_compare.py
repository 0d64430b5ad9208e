"""Designs on the same ground: zero against itself, 20 kg with a known answer, what is said, drawn and written."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from drawn import amiss, texts

from analysis.compare.compare import compare
from analysis.compare.designs import designs_of, differing, same
from analysis.compare.document import compare_document
from analysis.compare.figure_crossings import crossings_figure
from analysis.compare.figure_differences import differences_figure
from analysis.compare.figure_movie import PairFilm, save_pair_movie
from analysis.compare.pair import pair
from analysis.compare.sentences import headline, sorted_out, speed_sentence, verdict
from analysis.compare.words import compare_text
from analysis.window.cross_grid import search
from analysis.window.pick import choose
from scenarios.load import load
from sim.unit import GRAVITY

SMALL = {"ground.length_m": 40, "search.pressures_bar": [35, 45], "search.speeds_kmh": [6, 8], "search.seeds": 2,
         "limits.on_depth_share_min": 0.7}  # fmt: skip
NAMES = ["rough", "again", "heavy"]


@pytest.fixture(scope="module")
def scenarios():
    plain = load("rough", changes=SMALL)
    return [plain, load("rough", changes=SMALL), load("rough", changes={**SMALL, "unit.carrier.mass_kg": 115})]


@pytest.fixture(scope="module")
def found(scenarios):
    return compare(designs_of(scenarios, NAMES), grounds=5)


@pytest.fixture(scope="module")
def both(found):
    return pair(found)


def words_of(figure):
    assert not amiss(figure)
    return " ".join(" ".join(texts(figure)).split())


def folded(text):
    return " ".join(text.split())


def test_a_unit_against_itself_differs_by_exactly_zero(found):
    assert same(found.results[0].design, found.results[1].design)
    for own in (True, False):
        for m in found.measures:
            change = found.difference(1, m.name, own=own)
            assert (change.mean, change.low, change.high) == (0.0, 0.0, 0.0), m.name
    assert found.results[0].rate == found.results[1].rate
    assert "again is the same design as rough: every difference is exactly zero." in folded(compare_text(found))


def test_twenty_kilograms_press_on_the_gauge_wheel_by_their_weight(found):
    # at the same pressure, speed and depth nothing else can carry them
    change = found.difference(2, "gauge_load_mean", own=False)
    assert change.beyond_chance
    assert change.low > 0.0
    assert change.mean == pytest.approx(20.0 * GRAVITY, rel=0.01)
    told = sorted_out(found, 2)
    assert any(text.startswith("mean gauge load +19") and "N (+" in text for text in told.matters)
    assert "higher mean gauge load" in verdict(found, 2)


def test_the_picks_are_those_of_the_window_on_the_grounds_that_the_file_searches(found, scenarios):
    assert (found.seeds, found.searched) == ((1, 2, 3, 4, 5), 2)
    for result, scenario in zip(found.results, scenarios, strict=True):
        pick = choose(search(scenario, unchanged=False))
        assert (result.pick.oil_pressure, result.pick.speed) == (pick.oil_pressure, pick.speed)
        assert result.pick_speeds.size == 5
    common, pick = found.results[2].common, found.results[0].pick
    assert (found.chosen, common.oil_pressure, common.speed) == (0, pick.oil_pressure, pick.speed)


def test_what_is_crossed_is_what_the_window_crossed(found):
    own, window, pick = found.results[0].own, found.results[0].window, found.results[0].pick
    for name in ("on_depth_share", "wheel_off_share", "error_sd", "pin_peak", "gauge_load_mean"):
        assert own.values[name][:2] == pytest.approx(window.grids[name][pick.i, pick.j], rel=1e-5, abs=2e-4), name


def test_only_what_differs_is_named(found):
    (only,) = differing([one.design for one in found.results])
    assert only == ("unit.carrier.mass_kg", ("95", "95", "115"))
    assert "What differs: unit.carrier.mass_kg 95 → 95 → 115" in compare_text(found)


def test_the_screen_fits_and_says_what_chance_is(found):
    for shown in (compare_text(found), compare_text(found, ["heavy: something"], details=True)):
        assert all(len(line) <= 80 for line in shown.splitlines())
        assert "paired t over 5 grounds" in folded(shown)
        assert "seed" not in shown
    assert folded(compare_text(found, details=True)).count("on-depth share, %") == 4
    assert folded(compare_text(found)).count("on-depth share, %") == 2


def test_another_ground_is_not_used_and_that_is_said(scenarios):
    other = load("rough", changes={**SMALL, "ground.length_m": 55, "unit.carrier.mass_kg": 115})
    designs = designs_of([scenarios[0], other], ["rough", "elsewhere"])
    assert [one.own_ground for one in designs] == [False, True]
    assert np.array_equal(designs[0].scenario.track(2).ground, designs[1].scenario.track(2).ground)
    made = compare(designs, grounds=2)
    said = "The ground of elsewhere is another one and was not used: all crossed that of rough."
    assert said in folded(compare_text(made))[:400]
    assert said[4:-1] in compare_document(made)["notes"][0]
    only = compare(
        designs_of([scenarios[0], load("rough", changes={**SMALL, "ground.length_m": 55})], ["a", "b"]), grounds=1
    )
    assert "b differs from a in its ground alone, which was not used: there is nothing to compare." in folded(
        compare_text(only)
    )


def test_depth_and_limits_that_differ_are_said(scenarios):
    deeper = load("rough", changes={**SMALL, "settings.set_depth_mm": 50, "limits.depth_tolerance_mm": 15})
    text = folded(compare_text(compare(designs_of([scenarios[0], deeper], ["rough", "deeper"]), grounds=2)))
    assert "Set depths differ (40 mm of rough and 50 mm of deeper): on depth counts against each one's own" in text
    assert "Depth tolerances differ (±10 mm and ±15 mm): shares on depth are not like for like." in text
    assert "Limits differ: each pick keeps those of its own file." in text


def test_a_design_without_a_pick_has_no_own_column_and_its_reason(scenarios):
    hard = load("rough", changes={**SMALL, "limits.gauge_load_max_N": 300})
    made = compare(designs_of([hard, scenarios[0]], ["hard", "rough"]), grounds=2)
    assert made.results[0].own is None
    assert made.chosen == 1
    assert speed_sentence(made, 1).startswith("Only rough meets all its limits, up to 8 km/h; hard does at no setting")
    assert "(the pick of rough)" in compare_text(made)
    neither = compare(designs_of([hard, hard], ["hard", "too"]), grounds=2)
    assert neither.chosen is None
    assert "(the setting of hard's file: none has a pick)" in compare_text(neither)


def test_a_ground_that_cannot_be_crossed_counts_for_none_and_is_told(scenarios):
    wild = load("rough", changes={**SMALL, "unit.main_links.stop_up_deg": 3, "unit.main_links.stop_down_deg": -3,
                                  "unit.main_links.stop_stiffness_kNm_per_rad": 0.1})  # fmt: skip
    made = compare(designs_of([scenarios[0], wild], ["rough", "wild"]), grounds=2)
    text = folded(compare_text(made))
    if made.results[1].common.problems:
        assert "could not be crossed by wild at" in text
        assert made.difference(1, "error_sd", own=False) is None
    json.dumps(compare_document(made), allow_nan=False)


def test_one_ground_without_chance():
    hump = load("hump", changes={"search.pressures_bar": [40], "search.speeds_kmh": [8]})
    heavy = replace(hump, unit=replace(hump.unit, carrier=replace(hump.unit.carrier, mass=115.0)))
    made = compare(designs_of([hump, heavy], ["hump", "heavy"]))
    text = folded(compare_text(made))
    assert made.seeds == (1,)
    assert "Nothing on this ground is random: it was crossed once" in text
    assert "±" not in text
    assert "beyond chance" not in text
    assert "way off depth at one place" in text


def test_pressure_itself_is_compared_as_set(scenarios):
    other = load("rough", changes={**SMALL, "settings.oil_pressure_bar": 50})
    made = compare(designs_of([scenarios[0], other], ["a = 40", "a = 50"]), grounds=3, as_set=True)
    assert [round(one.common.oil_pressure / 1e5) for one in made.results] == [40, 50]
    assert made.difference(1, "gauge_load_mean", own=False).beyond_chance
    text = folded(compare_text(made))
    assert "Each at its own setting" in text
    assert "no pick was looked for" in text


def test_the_document_holds_each_ground_and_is_plain(found):
    told = json.loads(json.dumps(compare_document(found), allow_nan=False))
    heavy = told["designs"][2]
    load_ = heavy["common"]["values"]["gauge_load_mean_N"]
    assert len(load_["by_seed"]) == len(told["seeds"]) == 5
    assert load_["difference"]["beyond_chance"]
    assert load_["difference"]["low"] <= load_["difference"]["mean"] <= load_["difference"]["high"]
    assert told["designs"][0]["common"]["values"]["gauge_load_mean_N"]["difference"] is None
    assert told["differs"] == {"unit.carrier.mass_kg": ["95", "95", "115"]}
    assert told["headline"] == headline(found)


def test_the_figure_says_the_finding_and_what_the_marks_mean(found):
    text = words_of(differences_figure(found))
    assert "paired t" in text
    assert "Grey band: too little to act on." in text
    for m in found.measures:
        assert m.words in text


def test_two_crossings_of_the_same_place_stand_side_by_side(found, both, tmp_path):
    assert both.names == ("rough", "heavy")
    assert both.stretch[0] <= both.at <= both.stretch[1]
    assert both.stretch[1] - both.stretch[0] == pytest.approx(5.0)
    depth = [float(np.interp(both.at, run.series["distance"], run.series["depth"])) for run in both.runs]
    assert (depth[1] - depth[0]) * both.apart > 0.0
    figure = crossings_figure(both)
    text = words_of(figure)
    assert re.search(r"heavy cuts [\d.]+ mm (deeper|shallower) than rough at [\d.]+ m", text)
    upper = [axes for axes in figure.axes if axes.get_xlabel() == ""][:2]
    spans = [axes.get_xlim()[1] - axes.get_xlim()[0] for axes in upper]
    assert spans[0] == pytest.approx(spans[1])  # both units to the same scale
    short = replace(both, stretch=(both.at - 0.1, both.at + 0.1))
    assert save_pair_movie(short, tmp_path / "a.gif") == 3
    assert (tmp_path / "a.gif").stat().st_size > 5000


def test_both_films_hold_one_scale_of_lengths_and_of_forces(both):
    film = PairFilm(replace(both, stretch=(both.at - 0.2, both.at + 0.2)))
    limits = []
    for n in range(film.count):
        film.draw(n)
        limits.append([(*axes.get_xlim(), *axes.get_ylim()) for axes in film.page.figure.axes])
    limits = np.array(limits)
    assert film.count >= 3
    assert np.ptp(limits[:, 2:], axis=0).max() == 0.0  # depth and pressure
    assert np.ptp(limits[:, :2, 2:], axis=(0, 1)).max() == 0.0  # heights, of both units and in all frames
    assert np.ptp(limits[:, :2, 1] - limits[:, :2, 0]) < 1e-9
    assert film.stages[0].scale == film.stages[1].scale
    assert amiss(film.page.figure) == []
    odd = PairFilm(replace(both, names=("_a", "$b_$ " + 9 * "long "), stretch=(both.at - 0.2, both.at + 0.2)))
    odd.draw(0)
    assert amiss(odd.page.figure) == []
    keys = {text.get_text() for text in odd.page.figure.legends[0].get_texts()}
    assert {" _a", " $b_$ long long long lon…"} <= keys


def test_the_same_design_twice_is_shown_where_its_error_is_largest(found):
    twice = pair(replace(found, results=found.results[:2]))
    assert twice.apart == 0.0
    assert "cuts the same slot" in words_of(crossings_figure(twice))


def test_depths_that_were_set_otherwise_are_not_called_deeper_or_shallower(scenarios):
    deeper = load("rough", changes={**SMALL, "settings.set_depth_mm": 50})
    made = compare(designs_of([scenarios[0], deeper], ["rough", "deeper"]), grounds=1)
    assert "Against its own set depth deeper lies" in words_of(crossings_figure(pair(made)))


def test_a_pressure_that_is_none_for_a_design_is_said_beside_its_verdict_and_in_the_figure(scenarios):
    double = load("rough", changes={**SMALL, "unit.base": "double_disc", "search.pressures_bar": [72, 82]})
    made = compare(designs_of([scenarios[0], double], ["rough", "double"]), grounds=1)
    said = "bar is no pressure for double (72 to 82 bar are tried): go by the picks."
    assert said in folded(compare_text(made))
    assert said in words_of(differences_figure(made))
