"""A search over designs: the front of two free values is that of a full grid, files say what was judged, rules hold."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from drawn import amiss

from analysis.design import search as searching
from analysis.design.document import design_document
from analysis.design.figure import design_figure
from analysis.design.files import design_text, file_names
from analysis.design.free import Space, read_free
from analysis.design.judged import Judge, Judged, Worth
from analysis.design.search import Stopped, front_of, search
from analysis.design.words import design_text as screen
from analysis.design.words import shown
from scenarios.load import load
from sim.hydraulics.working import keeps

WHEEL, PRECHARGE = "unit.gauge_wheel.arm_pivot_m.x=-0.05:0.12", "settings.precharge_bar=15:34"
SHORT = {"ground.length_m": 20, "search.seeds": 1, "limits.on_depth_share_min": 0.5, "limits.gauge_load_max_N": 5000}


@pytest.fixture(scope="module")
def scenario():
    return load("rough", changes=SHORT)


def space_of(scenario, *texts, speeds=(8.0, 8.0)):
    faults = []
    free = read_free(texts, scenario, faults)
    assert not faults
    return Space(scenario, free, tuple(v / 3.6 for v in speeds))


def own(scenario):
    still = Space(scenario, (), (scenario.settings.speed,) * 2)
    return Judge.on(still, scenario.search_seeds).one(np.zeros(0))


@pytest.fixture(scope="module")
def found(scenario):
    return search(space_of(scenario, WHEEL, PRECHARGE), own(scenario), 120, workers=2)


def test_the_front_of_two_free_values_is_that_of_a_full_grid(scenario):
    """13 × 13 designs judged one by one (wheel place × speed), and as many tries of the search: neither has a design
    that none of the other's comes up to within a step of the grid, in any of the three aims.
    """
    space = space_of(scenario, "unit.gauge_wheel.arm_pivot_m.x=-0.1:0.15", speeds=(6.0, 10.0))
    judge, n = Judge.on(space, scenario.search_seeds), 13
    grid = judge.all([np.array(at) for at in itertools.product(np.linspace(0.0, 1.0, n), repeat=2)], 2)
    best, made = front_of([one for one in grid if one.meets]), search(space, own(scenario), n * n, workers=2)
    searched, known = (np.array([one.aims for one in front]) for front in (made.whole, best))
    size = np.ptp(np.concatenate([searched, known]), axis=0)
    for ours, theirs in ((searched, known), (known, searched)):
        short = ((ours[None] - theirs[:, None]) / size).max(axis=2).min(axis=1)  # of each of theirs the nearest of ours
        assert short.max() < 1.0 / (n - 1)
    assert len(best) > 8
    assert len(made.front) <= searching.MOST
    best_of_each = [min(made.whole, key=lambda one, k=aim: one.aims[k]) for aim in range(known.shape[1])]
    assert {one.worth for one in best_of_each} <= {one.worth for one in made.front}


def test_every_design_keeps_the_precharge_rule_and_every_limit(found):
    for one in found.front:
        made = found.space.at(one.point)
        assert keeps(made.limits.gas_rule, made.unit, made.settings)
        assert one.short == 0.0
    refused = Judge.on(found.space, (1,)).one(np.array([0.5, 1.0]))
    assert not refused.meets
    assert "precharge rule" in refused.why


def test_the_same_for_any_number_of_workers(scenario, found):
    one = search(space_of(scenario, WHEEL, PRECHARGE), found.own, 80, workers=1)
    two = search(space_of(scenario, WHEEL, PRECHARGE), found.own, 80, workers=2)
    assert design_document(one) == design_document(two)


def test_the_front_is_judged_again_on_grounds_that_the_search_has_not_seen(scenario, found):
    assert found.new_seeds == (2, 3, 4)
    assert len(found.unseen) == len(found.front)
    judged = Judge.on(found.space, (2, 3, 4)).one(found.front[0].point)
    assert judged.worth == found.unseen[0].worth
    assert judged.worth != found.front[0].worth


def test_speed_is_searched_between_the_ends_of_the_files_speeds(scenario):
    space = space_of(scenario, WHEEL, speeds=(6.0, 10.0))
    made = search(space, own(scenario), 60, workers=2)
    speeds = [space.speed(one.point) * 3.6 for one in made.front]
    assert speeds == sorted(speeds, reverse=True)
    assert 6.0 <= min(speeds) < max(speeds) <= 10.0
    width = scenario.machine.hectares_per_hour(1.0)
    assert made.front[0].worth.hectares == pytest.approx(width * speeds[0] / 3.6)
    text = screen(made, "Short", "designs")
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "not seen by the search" in " ".join(text.split())
    figure = design_figure(made, "Short")
    assert figure.axes
    assert amiss(figure) == []


@pytest.mark.parametrize("extra", ["", '[settings]\nsetting = "unchanged"\n[unit]\nbase = "demo"\n'])
def test_each_file_says_what_was_judged(extra, tmp_path):
    file = tmp_path / "mine.toml"
    text = f'title = "Mine"  # my own\n{extra}[ground]\nlength_m = 12\nroughness = {{ class = "D" }}\n'
    file.write_text(text, encoding="utf-8")
    scenario = load(file, changes={"limits.on_depth_share_min": 0.5, "limits.gauge_load_max_N": 5000})
    space = space_of(scenario, WHEEL, "together.arm_m=0.5:0.6", speeds=(6.0, 10.0))
    point = np.array([0.31, 0.62, 0.5])
    judged = Judge.on(space, (1,)).one(point)
    made = searching.Search(space, (1,), 1, 1, (judged,), (judged,), judged, None, 1, 0)
    (tmp_path / "designs").mkdir()
    (name,) = file_names(made)
    again = tmp_path / "designs" / name
    again.write_text(design_text(made, judged, again.parent), encoding="utf-8")
    assert "# my own" in again.read_text(encoding="utf-8")
    read, wanted = load(again), space.at(point)
    assert (read.unit, read.settings, read.limits) == (wanted.unit, wanted.settings, wanted.limits)
    assert read.unit.depth_linkage.rod == read.unit.main_links.length
    still = Space(read, (), (read.settings.speed,) * 2)
    assert Judge.on(still, (1,)).one(np.zeros(0)).worth == judged.worth


def test_what_was_in_doubt_about_other_values_is_left_out_and_told(tmp_path):
    file = tmp_path / "mine.toml"
    doubt = 'keys = ["unit.disc.edge_width_mm"]\ncentre = [5]\nspread = [1.2]\ncorrelation = [[1]]\nreadings = 4\n'
    ground = 'title = "Mine"\n[ground]\nlength_m = 12\nroughness = { class = "D" }\n[uncertain]\n'
    file.write_text(f"{ground}{doubt}", encoding="utf-8")
    scenario = load(file)
    space = space_of(scenario, "unit.disc.edge_width_mm=4:6")
    judged = Judge.on(space, (1,)).one(np.array([0.9]))
    text = design_text(searching.Search(space, (1,), 1, 1, (judged,), (judged,), judged, None, 1, 0), judged, tmp_path)
    assert "[uncertain] is left out" in text.splitlines()[0]
    again = tmp_path / "again.toml"
    again.write_text(text, encoding="utf-8")
    assert load(again).uncertain is None
    assert load(again).unit.disc.edge_width == pytest.approx(0.0058)


def test_judged_together_is_judged_alone(scenario):
    """Designs at several speeds, one of them refused by the precharge rule, in any company: bit for bit."""
    judge = Judge.on(space_of(scenario, WHEEL, PRECHARGE, speeds=(6.0, 12.0)), (1, 2))
    places = ((0.1, 0.5, 0.9), (0.9, 0.5, 0.2), (0.5, 0.9, 0.6), (0.2, 0.1, 0.6), (0.5, 1.0, 0.9), (0.3, 0.4, 0.2))
    points = [np.array(at) for at in places]
    made = judge.all(points, 2)
    assert {bool(one.worth) for one in made} == {True, False}
    for one, point in zip(made, points, strict=True):
        alone = judge.one(point)
        assert one.point is point
        assert (one.worth, one.short, one.why) == (alone.worth, alone.short, alone.why)


def test_ctrl_c_keeps_the_front_of_what_was_tried(scenario, monkeypatch):
    class Ends(Judge):
        def together(self, points):
            asked.extend(points)
            if len(asked) > 50:
                raise KeyboardInterrupt
            return super().together(points)

    asked = []
    monkeypatch.setattr(searching, "Judge", Ends)
    with pytest.raises(Stopped, match="48 of 200 designs") as stopped:
        search(space_of(scenario, WHEEL, PRECHARGE), own(scenario), 200, workers=1)
    kept = stopped.value.found
    assert kept.front
    assert not kept.unseen
    assert "Stopped after 48 of 200 designs" in screen(kept, "Short", "designs")


def test_what_was_not_searched_for_and_is_worse_is_told(scenario, found):
    """A softer press wheel, more load at worst, the wheel off: none of them is an aim, all of them are told."""
    own_, one = found.own.worth, found.front[0]
    worse = one.worth._replace(press=0.5 * own_.press, pin_peak=2.0 * own_.pin_peak, wheel_off=own_.wheel_off + 0.02)
    with_it = replace(found, front=(replace(one, worth=worse),), whole=(one,), unseen=())
    text = " ".join(screen(with_it, "Short", "designs").split())
    assert "It costs what was not searched for: the peak pin load rises from" in text
    assert "the wheel is off the ground for" in text
    assert f"the press wheel presses with {0.5 * own_.press:.0f} in place of {own_.press:.0f} N" in text
    alike = replace(with_it, front=(replace(one, worth=own_),))
    assert "It costs" not in screen(alike, "Short", "designs")


def test_where_nothing_meets_every_limit_it_is_told_and_no_file_named(scenario):
    strict = load("rough", changes={**SHORT, "limits.on_depth_share_min": 1.0})
    made = search(space_of(strict, WHEEL), own(strict), 40, workers=1)
    assert not made.front
    text = " ".join(screen(made, "Short", "designs").split())
    assert "None of 40 designs tried meets every limit of the file" in text
    assert "on-depth share" in text
    assert "No file is written" in text
    assert design_figure(made, "Short").axes


def test_a_front_is_what_no_other_one_beats():
    rng = np.random.default_rng(4)
    some = [
        Judged(np.array([0.0]), Worth(*row, 0.0, 0.0, 0.0), 0.0) for row in rng.integers(0, 4, (40, 3)).astype(float)
    ]
    front = front_of(some)
    for one in some:
        beaten = any((other.aims <= one.aims).all() and (other.aims < one.aims).any() for other in some)
        assert (tuple(one.aims) in {tuple(kept.aims) for kept in front}) != beaten
    assert len({tuple(one.aims) for one in front}) == len(front)
    assert [one.worth.hectares for one in front] == sorted((one.worth.hectares for one in front), reverse=True)
    assert front_of([]) == ()


def test_the_table_shows_a_few_that_to_look_at_first_among_them():
    assert list(shown(5, 0)) == [0, 1, 2, 3, 4]
    some = shown(50, 13)
    assert 13 in some
    assert {0, 49} <= set(some)
    assert len(some) == 8


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("settings.precharge_bar", "KEY=LOW:HIGH"),
        ("settings.precharge_bar=20", "KEY=LOW:HIGH"),
        ("settings.precharge_bar=20:28:3", "KEY=LOW:HIGH"),
        ("settings.precharge_bar=28:20", "low below high, both 1 to 200"),
        ("unit.main_links.length_m=0.5:0.6", "--free together.arm_m=0.5:0.6"),
        ("settings.speed_kmh=6:9", "--speeds 6:10:2"),
        ("settings.set_depth_mm=30:50", "the crop's"),
        ("soil.strength_MPa=1:2", "of the soil, which is as it is"),
        ("unit.disc.blades=1:2", "no number that can be searched"),
        ("precharge_bar=20:28", "no number that can be searched"),
    ],
)
def test_what_cannot_be_free_is_told_with_what_to_try(text, told, scenario):
    faults = []
    assert read_free([text], scenario, faults) == ()
    assert len(faults) == 1
    assert told in faults[0]


def test_a_key_twice_and_too_many(scenario):
    faults = []
    read_free([WHEEL, WHEEL], scenario, faults)
    assert "given twice" in faults[0]
    many = [f"unit.{name}=0.1:0.2" for name in (
        "depth_linkage.bell_second_m", "depth_linkage.bell_centre_m", "gauge_wheel.lug_m", "gauge_wheel.radius_m",
        "gauge_wheel.width_m", "gauge_wheel.arm_centre_m", "press_wheel.radius_m", "press_wheel.width_m",
        "press_wheel.arm_centre_m")]  # fmt: skip
    faults.clear()
    read_free(many, scenario, faults)
    assert "9 values free" in faults[0]
