"""A ranking of a whole unit on a short ground: what cannot matter has no share, workers do not matter, Ctrl-C keeps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from drawn import amiss

from analysis.rank import rank as ranking
from analysis.rank.crossed import RANKED, Evaluation, Tally, measured
from analysis.rank.document import rank_document
from analysis.rank.figure import rank_figure
from analysis.rank.knobs import Knob, Within, every_key
from analysis.rank.pick import fastest, rank_pick
from analysis.rank.pick_words import pick_text
from analysis.rank.rank import Stopped, rank, what_varies
from analysis.rank.words import rank_text
from analysis.rows.cells import lay
from analysis.rows.crossings import cross_rows
from analysis.rows.together import Row
from analysis.window.cross_grid import search
from analysis.window.limits import allowed_cells
from scenarios.load import load
from sim.march.rows import Case

SHORT = {"ground.length_m": 12, "search.seeds": 1, "search.draws": 8}
MOVES = ("soil.strength_MPa", "unit.disc.edge_width_mm", "settings.oil_pressure_bar")
STILL = (  # that do nothing here: no valve holds the pressure, the depth is set again, nothing turns that wears
    "unit.accumulator.hold_time_s", "settings.reference_pressure_bar", "unit.pins.main.diameter_mm",
)  # fmt: skip
STONE = Knob("stones.contact.stiffness_MN_per_m", "stiffness of a stone", "soil and ground", "MN/m", 0.6, 0.3, 1.2,
             (("stones", "contact", "stiffness"),))  # fmt: skip


@pytest.fixture(scope="module")
def scenario():
    return load("rough", changes=SHORT)


def some(scenario, *names, share=0.1):
    within, _ = every_key(scenario, share)
    return within.only([i for i, knob in enumerate(within.knobs) if knob.name in names])


@pytest.fixture(scope="module")
def found(scenario):
    within = some(scenario, *MOVES, *STILL)
    return rank(scenario, Within(scenario, (*within.knobs, STONE)), share=0.1, workers=1)


def number(found, name):
    return next(i for i, knob in enumerate(found.varied.knobs) if knob.name == name)


def test_what_cannot_matter_has_a_share_of_exactly_zero_within_its_interval(found):
    for name in (*STILL, STONE.name):
        i = number(found, name)
        for part in (found.shares.total, found.shares.first):
            assert not part.value[i].any()
            assert not part.low[i].any()
            assert not part.high[i].any()
    assert {found.varied.knobs[i].name for i in found.order} <= set(MOVES)
    load_ = [by.name for by in RANKED].index("pin_rms")
    assert all(found.shares.total.low[number(found, name), load_] > 0.0 for name in MOVES)


def test_a_value_matters_where_its_mode_is_on(scenario):
    held = replace(scenario, settings=replace(scenario.settings, oil="held"))
    name = "unit.accumulator.hold_time_s"
    for one, moves in ((scenario, False), (held, True)):
        knob = some(one, name, share=0.5)
        f = Evaluation(knob, (1,), Tally())(np.array([[0.0], [1.0]]))
        assert (f[0] != f[1]).any() == moves


def test_shares_of_all_values_and_groups_are_told(found):
    assert found.groups == ("unit", "soil and ground", "settings")
    assert found.asked == 8 * (2 + 7 + 3)
    text = rank_text(found, "Short")
    assert text.startswith("What moves the on-depth share: Short, 40 bar, 8 km/h; each value ±10 %")
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "seed" not in text.replace("--seed", "")
    document = rank_document(found)
    assert document["order"] == [found.varied.knobs[i].name for i in found.order]
    assert {one["key"] for one in document["values"]} == {knob.name for knob in found.varied.knobs}


def test_on_a_narrow_screen_nothing_is_cut(found, monkeypatch):
    monkeypatch.setenv("COLUMNS", "44")
    text = rank_text(found, "Short")
    assert all(len(line) <= 44 for line in text.splitlines())
    assert "share of its variance, % (95 %); low → high end" in " ".join(text.split())
    figure = rank_figure(found, "Short")
    assert figure.axes
    assert amiss(figure) == []


def test_workers_change_no_bit(scenario, found):
    within = some(scenario, *MOVES, *STILL)
    two = rank(scenario, Within(scenario, (*within.knobs, STONE)), share=0.1, workers=2)
    assert rank_document(two) == rank_document(found)


def test_one_evaluation_is_what_a_window_says_of_the_same_setting(scenario):
    laid = lay(scenario, (1,))
    window = search(scenario, [40], [8], 1, 1)
    settings = replace(scenario.settings, setting="redone")
    got = measured(scenario, cross_rows(scenario, laid, [Row(0, Case(0, settings))], 1).values())
    assert got[0] == window.grids["on_depth_share"][0, 0, 0]
    assert got[1] == window.grids["wheel_off_share"][0, 0, 0]
    assert got[3] == window.grids["pin_peak"][0, 0, 0]
    assert got[2] == pytest.approx(window.grids["error_sd"][0, 0, 0])


def test_many_values_are_screened_and_those_that_move_nothing_named(scenario, monkeypatch):
    for name, value in (("MOST", 8), ("STRONGEST", 5), ("SCREENS", 2)):
        monkeypatch.setattr(ranking, name, value)
    within, left = every_key(scenario, 0.03)
    many = within.only(range(0, len(within.knobs), 7))
    assert len(many.knobs) > 16
    found = rank(scenario, many, left, share=0.03, by=4, workers=2)
    assert len(found.varied.knobs) == 5
    assert len(found.varied.knobs) + len(found.small) + len(found.still) == len(many.knobs)
    assert any(knob.name.startswith("unit.pins.") for knob in found.still)
    sizes = [size[4] for _, size in found.small]
    assert sizes == sorted(sizes, reverse=True)
    text = rank_text(found, "Short", details=True)
    assert "screened out" in text
    assert "zero in the file" in text


def test_a_value_that_alone_cannot_be_set_is_left_out_and_told(scenario):
    varied, left = what_varies(scenario, 0.1)
    why = {one.name: one.why for one in left}
    assert why["unit.depth_linkage.turnbuckle_m"] == "at 0.5775: the depth cannot be set"
    assert "unit.depth_linkage.turnbuckle_m" not in {knob.name for knob in varied.knobs}


def test_sets_that_cannot_be_crossed_are_counted_and_told(scenario):
    steep = some(scenario, "unit.depth_linkage.turnbuckle_m", "soil.strength_MPa", share=0.3)
    found = rank(scenario, steep, share=0.3, workers=1)
    assert found.tally.reasons["the depth cannot be set"] == found.tally.total > 0
    assert f"{found.tally.total} of the sets could not be crossed" in " ".join(rank_text(found, "Short").split())


def test_ctrl_c_keeps_what_is_done(scenario, monkeypatch):
    class Ends(Evaluation):
        def __call__(self, points):
            asked.append(points)
            if len(asked) > 5:
                raise KeyboardInterrupt
            return super().__call__(points)

    asked = []
    monkeypatch.setattr(ranking, "Evaluation", Ends)
    with pytest.raises(Stopped, match="5 of 8 first points were done: what they say stands above") as stopped:
        rank(scenario, some(scenario, *MOVES), share=0.1, workers=1)
    assert stopped.value.ranking.shares.blocks == 5
    assert "Stopped after 5 of 8 first points" in rank_text(stopped.value.ranking, "Short")


def test_flat_ground_is_told_to_move_nothing(scenario):
    flat = load("rough", changes={**SHORT, "ground.roughness": {"class": "none"}, "soil.variation_cv": 0.0})
    found = rank(flat, some(flat, *STILL), share=0.1, workers=1)
    assert "Nothing that was varied moves the on-depth share: it is 100 % with every set." in rank_text(found, "Flat")
    assert rank_figure(found, "Flat").axes


def test_the_pick_is_read_off_between_the_speeds(scenario):
    window = search(scenario, [40, 45], [7, 8, 9], 1, 1, unchanged=False)
    allowed = allowed_cells(window, window.limits)
    share = window.grids["on_depth_share"]
    other = replace(window, limits=replace(window.limits, on_depth_share_min=0.9))
    for values, speed, end in (
        ([0.96, 0.93, 0.87], 8.5, 0),  # the room comes to nothing half-way between 8 and 9
        ([0.96, 0.95, 0.94], 9.0, 1),
        ([0.8, 0.7, 0.6], 7.0, -1),
    ):
        share[:] = np.array(values)[None, :, None]
        window.grids["wheel_off_share"][:] = 0.0
        assert fastest(other, allowed) == (pytest.approx(speed / 3.6), end)


def test_the_pick_is_ranked_by_screening(scenario):
    small = replace(scenario, search=replace(scenario.search, pressures=(40e5,), speeds=(2.0, 2.5)))
    found = rank_pick(small, some(small, *MOVES), share=0.1, workers=1)
    assert [knob.name for knob in found.knobs if knob.name.startswith("settings.oil")] == []
    assert found.windows == 4 * 3
    assert "screened, not shared out: 12 windows" in pick_text(found, "Short").replace("Screened", "screened")
