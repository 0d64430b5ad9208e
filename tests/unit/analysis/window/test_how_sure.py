"""How sure a pick is: the values in doubt and their ranges, the search for each, and what is told of them."""

from __future__ import annotations

import json
from dataclasses import replace

import invented
import numpy as np
import pytest
from doubted import known_but, uncertain

from analysis.rows.cells import Crossing, lay
from analysis.window import robustness as searched
from analysis.window.cross_grid import search
from analysis.window.pick import choose
from analysis.window.robustness import KNOWN, Robustness, Trial, Tried, changes_to_try, robustness, spread
from analysis.window.sure import column
from analysis.window.sure.assumed import assumed
from analysis.window.sure.column import Column, Standing
from analysis.window.sure.document import robustness_document
from analysis.window.sure.ends import ends
from analysis.window.sure.outward import Found, axis
from analysis.window.sure.words import (
    all_lines,
    assumed_sentence,
    beyond_notes,
    first_lines,
    room_sentence,
    short_sentence,
)
from analysis.window.words import window_text
from scenarios.doubt.belief import RANGE, belief, draws
from scenarios.doubt.doubtful import BY_NAME, DOUBTFUL, PLUS
from scenarios.doubt.keys import allowed, edge_of, key_of, value_at
from scenarios.doubt.varied import lie_alike, without_effect
from scenarios.format.edge_units import to_edge
from scenarios.format.starters import starter_text
from scenarios.load import load
from scenarios.spec import Limits

EVERYWHERE = load("stony")  # stones, roughness, strength that varies: every value may matter
BELIEF = belief(EVERYWHERE)
MORE_THAN_A_NUMBER = ("roughness", "sinkage_exponent", "wheel_place")  # what their key alone would not do
ONE_NUMBER = [one for one in DOUBTFUL if len(one.paths) == 1 and one.name not in MORE_THAN_A_NUMBER]
WIDE = Limits(depth_tolerance=0.02, wheel_off_share_max=0.2, gauge_load_min=0.0, gauge_load_max=3000.0)


# --- the table --------------------------------------------------------------------------------------------------


def test_every_value_is_described_once():
    assert len(BY_NAME) == len(DOUBTFUL)
    assert len({one.words for one in DOUBTFUL}) == len(DOUBTFUL)
    assert all("assumed" in one.source or "memory" in one.source or "seen" in one.source for one in DOUBTFUL)


@pytest.mark.parametrize("one", DOUBTFUL, ids=lambda one: one.name)
def test_ranges_lie_about_the_default_and_within_what_the_key_may_hold(one):
    assert not without_effect(EVERYWHERE, one)
    now = value_at(EVERYWHERE, one.paths[0])
    low, high = ends(EVERYWHERE, BELIEF, one.name)
    assert low.value < now < high.value
    assert (low.cut, high.cut) == (False, False)
    for end in (low, high):
        for path in one.paths:
            least, most = allowed(path)
            assert least <= value_at(end.scenario, path) <= most
    by = EVERYWHERE.prior.of(one)
    by = by if one.way == PLUS else by ** (1.0 / one.power)
    assert [low.value, high.value] == pytest.approx([now - by, now + by] if one.way == PLUS else [now / by, now * by])


def test_what_goes_together_goes_along_by_its_mean():
    """Mean of many sets whose strength lies at its end, against the value that is taken along."""
    told = uncertain(
        ("soil.strength_MPa", 1.2, 1.5), ("unit.disc.edge_width_mm", 5.0, 1.3), ("soil.variation_cv", 0.25, 1.2),
        correlation=[[1, -0.6, 0], [-0.6, 1, 0.3], [0, 0.3, 1]],
    )  # fmt: skip
    scenario = replace(EVERYWHERE, uncertain=told)
    held = belief(scenario)
    z = held.to_z(draws(held, 40_000, 1))
    k, edge = held.names.index("soil_strength"), held.names.index("edge_width")
    near = np.abs(z[:, k] - RANGE) < 0.15
    high = ends(scenario, held, "soil_strength")[1]
    assert high.value == pytest.approx(1.5 * 1.2e6)
    assert high.scenario.soil.strength == high.value
    along = np.log(high.scenario.unit.disc.edge_width / 0.005) / held.sd[edge]
    assert along == pytest.approx(-0.6 * RANGE)
    assert along == pytest.approx(z[near, edge].mean(), abs=0.06)
    assert high.scenario.variation == scenario.variation


@pytest.mark.parametrize("one", ONE_NUMBER, ids=lambda one: one.name)
def test_the_key_named_is_the_key_that_does_it(one):
    end = ends(EVERYWHERE, BELIEF, one.name)[1]
    same = load("stony", changes={key_of(one): to_edge(end.value, edge_of(one))})
    for part in ("unit", "soil", "variation", "settings", "stones"):
        _alike(getattr(same, part), getattr(end.scenario, part))


def _alike(a, b):
    assert type(a) is type(b)
    if hasattr(a, "__dataclass_fields__"):
        for name in a.__dataclass_fields__:
            _alike(getattr(a, name), getattr(b, name))
    elif isinstance(a, float):
        assert a == pytest.approx(b, rel=1e-12)
    else:
        assert a == b


def test_a_range_is_cut_where_the_keys_own_ends():
    varied = replace(EVERYWHERE, variation=replace(EVERYWHERE.variation, variation_cv=0.5))
    low, high = ends(varied, belief(varied), "strength_scatter")
    assert (high.value, high.cut, low.cut) == (0.6, True, False)
    at_most = replace(EVERYWHERE, variation=replace(EVERYWHERE.variation, variation_cv=0.6))
    assert ends(at_most, belief(at_most), "strength_scatter")[1] is None


@pytest.mark.parametrize(
    ("name", "value", "change"),
    [
        ("rough", "stone_contact", {}),
        ("hump", "roughness", {}),
        ("coarse_log", "roughness", {}),
        ("rough", "strength_length", {"soil.variation_cv": 0.0}),
        ("rough", "toolbar_tyres", {"settings.toolbar": "level"}),
        ("rough", "disc_friction", {"unit.disc.face_friction": 0.0}),
    ],
)
def test_a_value_that_cannot_matter_is_not_tried(name, value, change):
    assert without_effect(load(name, changes=change), BY_NAME[value])


def test_another_exponent_leaves_the_pressure_at_ten_millimetres():
    for end in ends(EVERYWHERE, BELIEF, "sinkage_exponent"):
        a, b = EVERYWHERE.soil, end.scenario.soil
        pressures = [s.frictional_modulus * 0.010**s.sinkage_exponent for s in (a, b)]
        assert pressures[0] == pytest.approx(pressures[1])


def test_grounds_that_are_shared_are_the_same():
    scenario = invented.short_scenario("stony")
    (ground,) = lay(scenario, (1,))
    shared = 0
    held = belief(scenario)
    for one in DOUBTFUL:
        for end in ends(scenario, held, one.name):
            if lie_alike(scenario, end.scenario):
                shared += 1
                (other,) = lay(end.scenario, (1,))
                assert np.array_equal(ground.tables.table, other.tables.table), one.name
                assert np.array_equal(ground.track.strength, other.track.strength), one.name
                assert ground.track.rock == other.track.rock, one.name
    assert shared > 20


# --- pressures ---------------------------------------------------------------------------------------------------


def bars(window, **limits):
    return (axis(window, Limits(**limits)) / 1e5).tolist()


def test_pressures_go_two_steps_beyond_the_windows_and_wide_steps_are_divided():
    assert bars(invented.window((3, 1, 1), pressures_bar=(35, 40, 45))) == [25, 30, 35, 40, 45, 50, 55]
    assert bars(invented.window((2, 1, 1), pressures_bar=(40, 50))) == list(range(20, 75, 5))
    assert bars(invented.window((2, 1, 1), pressures_bar=(2, 4))) == [2, 4, 6, 8]
    assert bars(invented.window((1, 1, 1), pressures_bar=(40,))) == [40]


def test_no_pressure_is_tried_that_may_not_be_set():
    assert bars(invented.window((2, 1, 1), pressures_bar=(35, 40)), max_oil_pressure=45e5) == [25, 30, 35, 40, 45]
    assert bars(invented.window((2, 1, 1), pressures_bar=(245, 250)))[-1] == 250


# --- one speed ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("case", range(12))
def test_a_column_finds_what_crossing_everything_finds(monkeypatch, case):
    """Room with one top over 20 pressures on 3 grounds: few crossings, the same answer as all of them."""
    rng = np.random.default_rng(case)
    pressures = np.arange(20.0, 120.0, 5.0) * 1e5
    top, wide = rng.uniform(2.0, 17.0), rng.uniform(2.0, 9.0)
    shares = np.array(
        [0.93 - ((np.arange(20) - top - rng.uniform(-0.6, 0.6)) / wide) ** 2 * 0.02 for _ in range(3)]
    ) - rng.uniform(0.0, 0.02)
    crossed = []

    def cross(scenario, laid, cells, unchanged, workers):
        found = []
        for cell in cells:
            i, k = int(np.searchsorted(pressures, cell.settings.oil_pressure)), laid[cell.ground].seed - 1
            crossed.append((i, k))
            found.append(Crossing({**GOOD, "on_depth_share": shares[k, i]}))
        return found

    monkeypatch.setattr(column, "cross_or_find", cross)
    made = Column(load("rough"), pressures, 2.0, tuple(map(Ground, (1, 2, 3))))
    made.look(int(rng.integers(0, 20)))
    best = made.best()
    worst = shares.min(axis=0)
    if worst.max() < 0.9:
        assert best is None
    else:
        assert best.oil_pressure == pressures[worst.argmax()]
        assert best.room == pytest.approx((worst.max() - 0.9) / 0.9)
    assert len(crossed) == len(set(crossed)) < 60


GOOD = {
    "on_depth_share": 0.95, "wheel_off_share": 0.0, "gauge_load_mean": 700.0, "reached": 1.0, "distance": 300.0,
    "precharge_share": 0.05, "gas_squeeze": 0.2,
}  # fmt: skip


class Ground:
    """A ground of which only the number is known."""

    def __init__(self, seed):
        self.seed = seed


def test_where_no_setting_can_be_chosen_all_pressures_are_tried(monkeypatch):
    monkeypatch.setattr(
        column, "cross_or_find", lambda scenario, laid, cells, *_: [Crossing({**GOOD, "reached": 0.0}) for _ in cells]
    )
    made = Column(load("rough"), np.arange(20.0, 120.0, 5.0) * 1e5, 2.0, (Ground(1),))
    made.look(3)
    assert len(made.made) == 20
    assert made.best() is None
    assert made.nearest().hindrance.startswith("the depth cannot be set")


# --- on real ground ----------------------------------------------------------------------------------------------


def how_sure(scenario, pressures=(30.0, 40.0), speeds=(6.0, 8.0), seeds=2, workers=None, names=()):
    """Robustness of a short crossing, of some values only."""
    made = search(scenario, pressures, speeds, seeds, unchanged=False)
    if names:
        scenario = replace(scenario, prior=known_but(*names))
    return robustness(scenario, made, choose(made), workers)


NAMES = ("soil_strength", "toolbar_tyres", "edge_width")


@pytest.fixture(scope="module")
def rough():
    return replace(invented.short_scenario("rough", 30.0), limits=WIDE)


def test_numbers_are_the_same_for_any_number_of_workers(rough):
    one, two = (robustness_document(how_sure(rough, workers=n, names=NAMES)) for n in (1, 2))
    assert json.dumps(one) == json.dumps(two)


def test_progress_counts_every_change(rough):
    told = []
    made = search(rough, (30.0, 40.0), (6.0,), 1, unchanged=False)
    robustness(rough, made, choose(made), 2, lambda done, of: told.append((done, of)))
    count = changes_to_try(rough)
    held = belief(rough)
    assert count == 1 + sum(end is not None for name in held.names for end in ends(rough, held, name))
    assert told == [(k, count) for k in range(1, count + 1)]


def test_what_has_no_effect_is_not_told():
    """On flat ground the toolbar does not move: its tyres cannot matter."""
    flat = replace(invented.short_scenario("rough", 10.0), limits=replace(WIDE, gauge_load_max=1300.0))
    flat = replace(flat, ground=replace(flat.ground, roughness=None))
    sure = how_sure(flat, pressures=(35.0, 40.0, 45.0), names=NAMES)
    tyres = next(one for one in sure.trials if one.doubtful.name == "toolbar_tyres")
    assert tyres.moves == (False, False)
    said = " ".join([*first_lines(sure)[0], *first_lines(sure)[1]])
    assert BY_NAME["toolbar_tyres"].words not in said
    assert any("move" in line and "nothing" in line and BY_NAME["toolbar_tyres"].words in line
               for line in all_lines(sure))  # fmt: skip
    assert "soil strength" in said


@pytest.mark.parametrize("name", ["hump", "coarse_log"])
def test_a_feature_and_a_measured_profile_are_looked_at_too(name):
    scenario = load(name)
    scenario = replace(scenario, x_to=scenario.x_from + min(scenario.length, 60.0), limits=WIDE)
    sure = how_sure(scenario, seeds=1, names=("soil_strength", "roughness"))
    assert ("roughness", KNOWN) not in [(one.name, why) for one, why in sure.left_out]
    assert "roughness" in [one.name for one, _ in sure.left_out]
    assert len(sure.trials) == 1
    assert all(lines for lines in first_lines(sure)[0])
    json.dumps(robustness_document(sure), allow_nan=False)


# --- what is told ------------------------------------------------------------------------------------------------

WINDOW = invented.window((3, 3, 3), on_depth_share=0.909)
PICK = choose(WINDOW)
HERE = PICK.oil_pressure, PICK.speed


def standing(bar, kmh, room=0.02):
    return Standing(bar * 1e5, kmh / 3.6, room, PICK.checks[0])


def found(place=None, *, room=0.02, edges=(), kept=0.02):
    at = standing(*(place or (40.0, 5.0)), room if place else -0.1)
    return Found(at if place else None, None if place else at, standing(40.0, 7.0, kept), edges=edges)


def trial(name, low, high, moves=(True, True)):
    one = BY_NAME[name]
    tries = [None if f is None else Tried(1.0, False, f) for f in (low, high)]
    k = BELIEF.names.index(name)
    return Trial(one, key_of(one), edge_of(one), 1.0, BELIEF.sd[k] * RANGE, *tries, moves, (0.0, 0.0, 0.0))


def sure_of(*values, unchanged=None, pressures=(30e5, 40e5, 50e5)):
    searched = tuple(WINDOW.pressures.tolist())
    return Robustness(
        spread(WINDOW, PICK), PICK.checks[0], assumed(load("rough")), HERE, pressures, searched,
        tuple(WINDOW.speeds.tolist()), unchanged or found((HERE[0] / 1e5, HERE[1] * 3.6)), values, (),
    )  # fmt: skip


def test_the_room_line_holds_value_limit_and_what_is_in_hand():
    room = PICK.checks[0]
    assert room_sentence(room) == f"room at the pick: {room.sentence()}: 1 % in hand"
    assert "against at least 90 %" in room.sentence()
    assert room_sentence(room._replace(margin=0.0)).endswith(": nothing in hand")
    assert room_sentence(room._replace(margin=float("inf"))).endswith(": met whatever the value")


def test_a_value_is_told_with_both_ends_or_with_the_one_that_moves():
    none = found()
    both = trial("soil_strength", found((50.0, 8.0)), none)
    assert short_sentence(sure_of(both), both) == (
        "soil strength two thirds to one and a half times the file's: 50 bar at 8 km/h to no setting"
    )
    one = trial("boot_force", found((40.0, 7.0)), found((50.0, 6.0)), (False, True))
    assert short_sentence(sure_of(one), one) == "force of the soil on the boot twice the file's: 50 bar at 6 km/h"
    half = trial("boot_force", found((30.0, 7.0)), found((50.0, 6.0)))
    assert "on the boot half to twice the file's:" in short_sentence(sure_of(half), half)
    only = trial("speed_term", found((30.0, 7.0)), None, (True, False))
    assert short_sentence(sure_of(only), only) == "speed term of the disc force 0.02 per km/h lower: 30 bar at 7 km/h"


def test_the_end_of_the_search_is_not_taken_for_the_grounds():
    def said(edges, place=None):
        one = trial("soil_strength", found(place, edges=edges), None, (True, False))
        return short_sentence(sure_of(one), one).partition(": ")[2]

    assert said(("fastest",), (40.0, 7.0)) == "40 bar at 7 km/h (fastest tried)"
    assert said(("slowest", "lowest")) == "no setting tried from 5 km/h up"
    assert said(("slowest",)) == "no setting from 5 km/h up"


def test_pressures_beyond_the_search_are_told_where_they_do_better():
    assert beyond_notes(sure_of()) == []
    lower = found((20.0, 7.0), room=0.05)
    assert beyond_notes(sure_of(unchanged=lower)) == [
        "20 bar at 7 km/h, below the pressures searched, has more room (5 %)"
    ]
    assert "60 bar at 9 km/h, above the pressures searched, meets every limit too, and is faster" in beyond_notes(
        sure_of(unchanged=found((60.0, 9.0)))
    )[0]  # fmt: skip
    assert beyond_notes(sure_of(unchanged=found((35.0, 7.0))))[0].startswith("35 bar at 7 km/h, between the pressures")
    tried = [line for line in all_lines(sure_of(pressures=(10e5, 30e5, 40e5, 50e5))) if "(at 10 to 50 bar)" in line]
    assert len(tried) == 1


def test_few_values_are_named_and_the_others_are_counted():
    names = ("soil_strength", "edge_width", "tyre_stiffness", "unit_mass", "boot_force")
    sure = sure_of(*(trial(name, found((50.0, 6.0), kept=-0.1), None, (True, False)) for name in names))
    said, moving = first_lines(sure)
    assert said[-1] == ("5 of 5 values move the pick (measure first: soil strength):")
    assert len(moving) == 2
    assert moving[0].startswith("Soil strength")
    everything = " ".join(all_lines(sure))
    assert all(BY_NAME[name].words.lower() in everything.lower() for name in names)
    still = sure_of(trial("unit_mass", found(HERE), found(HERE), (False, False)))
    assert first_lines(still)[0][-1] == "No value of 1, each tried low and high, moves the pick."
    assert first_lines(still)[1] == []


def test_values_are_sorted_by_how_far_they_move_the_pick(monkeypatch):
    """No setting first, then the larger change of speed, then of pressure."""
    places = {
        "soil_strength": (40.0, 6.5), "edge_width": None, "tyre_stiffness": (50.0, 7.0), "unit_mass": (45.0, 5.5),
        "boot_force": (HERE[0] / 1e5, HERE[1] * 3.6),
    }  # fmt: skip
    scenario = load("rough")
    real = searched.ends

    def ends_of(scenario, held, name):
        low, _ = real(scenario, held, name)
        now[id(low.scenario)] = places[name]
        return low, None

    scenario = replace(scenario, prior=known_but(*places))
    now = {id(scenario): (HERE[0] / 1e5, HERE[1] * 3.6)}
    monkeypatch.setattr(searched, "ends", ends_of)
    monkeypatch.setattr(searched, "lay_from", lambda scenario, seeds, first: tuple(map(Ground, seeds)))
    monkeypatch.setattr(searched, "outward", lambda changed, *_: found(now[id(changed)]))
    sure = robustness(scenario, WINDOW, PICK, 1)
    assert [one.doubtful.name for one in sure.trials] == [
        "edge_width", "unit_mass", "soil_strength", "tyre_stiffness", "boot_force"
    ]  # fmt: skip
    assert [one.doubtful.name for one in sure.moving] == [one.doubtful.name for one in sure.trials[:4]]


# --- what is assumed ---------------------------------------------------------------------------------------------


def test_the_library_is_made_up_and_says_so():
    made_up = assumed(load("rough"))
    assert made_up.made_up
    assert not made_up.stated
    assert assumed_sentence(made_up).startswith("soil and unit are the library's, made up")
    own = assumed(load("rough", changes={"soil.strength_MPa": 1.5}))
    assert [one.name for one in own.stated] == ["soil_strength"]


def test_what_a_starter_states_with_its_default_is_not_the_users_own(tmp_path):
    file = tmp_path / "mine.toml"
    file.write_text(starter_text("Mine"), encoding="utf-8")
    made = assumed(load(file))
    assert not made.made_up
    assert not made.stated
    assert "none are your own" in assumed_sentence(made)
    assert assumed_sentence(made, short=True).startswith("19 of 19 values of soil and unit are assumed; rowbench fit")
    file.write_text(starter_text("Mine").replace("strength_MPa = 1.2 ", "strength_MPa = 1.4 ", 1), encoding="utf-8")
    made = assumed(load(file))
    assert [one.name for one in made.stated] == ["soil_strength"]
    said = assumed_sentence(made)
    assert " 1 is your own; made up, as the program has them: soil stiffness under the wheels, " in said
    assert "soil.frictional_modulus_kN_per_m_n2" in said
    assert assumed_sentence(made, short=True).startswith("18 of 19 values of soil and unit are assumed")


def test_values_of_a_users_own_base_are_his_and_those_of_the_library_are_not(tmp_path):
    (tmp_path / "unit.toml").write_text("[unit.disc]\nedge_width_mm = 6\n", encoding="utf-8")
    file = tmp_path / "field.toml"
    text = 'title = "F"\n[unit]\nbase = "unit.toml"\n[soil]\nbase = "hard"\n[ground]\nlength_m = 20\n'
    file.write_text(text, encoding="utf-8")
    assert [one.name for one in assumed(load(file)).stated] == ["edge_width"]


def test_a_copy_of_a_library_scenario_is_still_made_up(tmp_path):
    copy = tmp_path / "rough.toml"
    copy.write_bytes(load("rough").path.read_bytes())
    assert load(copy).made_up
    copy.write_text(copy.read_text(encoding="utf-8") + "\n[soil]\nstrength_MPa = 1.5\n", encoding="utf-8")
    assert not load(copy).made_up


def test_measured_strength_counts_as_stated(tmp_path):
    (tmp_path / "p.csv").write_text(
        "distance_m,height_m,strength_MPa\n" + "".join(f"{x / 10},0,1.1\n" for x in range(200)), encoding="utf-8"
    )
    file = tmp_path / "m.toml"
    file.write_text('title = "M"\n[ground.profile]\nfile = "p.csv"\n', encoding="utf-8")
    names = {one.name for one in assumed(load(file)).stated}
    assert names == {"soil_strength", "strength_scatter", "strength_length"}


def test_the_screen_holds_room_assumptions_and_values(rough):
    from analysis.window.advice import advise  # noqa: PLC0415

    made = search(rough, (30.0, 40.0), (6.0, 8.0), 1)
    text = " ".join(window_text(advise(rough, made), rough).split())
    assert "Least room:" in text
    assert "Soil and unit are the library's, made up" in text
    assert " the pick (measure first: " in text or "tried low and high, move" in text
    assert "made up (your own: rowbench fit): a chance" in text
