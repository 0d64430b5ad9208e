"""Values in place of a file's: any key at any depth, a coordinate of a point, parts that move together."""

from __future__ import annotations

import pytest

from scenarios.changed.names import find_name, name_fault, names_in
from scenarios.depth_linkage import drift_range
from scenarios.format.errors import ScenarioError
from scenarios.format.tables import ROOT
from scenarios.load import load
from scenarios.paddock.load import load_paddock
from scenarios.together import MOVES

TOML = 'title = "Mine"\n[ground]\nlength_m = 20\nroughness = { class = "D" }\n[unit.disc]\nedge_width_mm = 3\n'


@pytest.fixture
def mine(tmp_path):
    (tmp_path / "mine.toml").write_text(TOML, encoding="utf-8")
    return tmp_path / "mine.toml"


def faults(source, changes):
    with pytest.raises(ScenarioError) as caught:
        load(source, changes=changes)
    return caught.value.faults


def test_a_change_is_what_the_file_would_hold(mine, tmp_path):
    (tmp_path / "other.toml").write_text(TOML.replace("edge_width_mm = 3", "edge_width_mm = 4"), encoding="utf-8")
    changed, other = load(mine, changes={"unit.disc.edge_width_mm": 4}), load(tmp_path / "other.toml")
    assert changed.unit == other.unit
    assert changed.stated == other.stated
    assert changed.title == "Mine, with unit.disc.edge_width_mm = 4 in place of 3"
    assert other.title == "Mine"


def test_what_was_there_is_told_wherever_it_came_from(mine):
    changed = load(mine, changes={"unit.disc.radius_m": 0.3, "soil.base": "soft", "limits.max_oil_pressure_bar": 80})
    assert changed.title == (
        'Mine, with unit.disc.radius_m = 0.3 in place of 0.28; soil.base = "soft" in place of "firm"; '
        "limits.max_oil_pressure_bar = 80 where the file has none"
    )
    assert changed.soil == load(mine, changes={"soil": {"base": "soft"}}).soil != load(mine).soil


def test_what_the_screens_say_anyway_and_what_changes_nothing_is_not_in_the_title(mine):
    said = {"settings.oil_pressure_bar": 45, "ground.seed": 2, "search.seeds": 1, "unit.disc.edge_width_mm": 3.0}
    assert load(mine, changes=said).title == "Mine"
    assert len(load(mine, changes=said).replaced) == 4


def test_one_coordinate_leaves_the_other(mine):
    hub = load(mine).unit.disc.hub
    changed = load(mine, changes={"unit.disc.hub_m.x": -0.25})
    assert changed.unit.disc.hub == (-0.25, hub[1])
    assert load(mine, changes={"unit.disc.hub_m.x": -0.25, "unit.disc.hub_m.z": -0.5}).unit.disc.hub == (-0.25, -0.5)
    assert "unit.disc.hub_m.x = -0.25 in place of -0.2" in changed.title


def test_parts_that_belong_together_move_by_as_much_and_are_named(mine):
    plain, moved = load(mine), load(mine, changes={"together.arm_m": 0.6})
    alone = load(mine, changes={"unit.main_links.length_m": 0.6})
    assert (moved.unit.main_links.length, moved.unit.depth_linkage.rod) == (0.6, 0.6)
    assert max(map(abs, drift_range(moved.unit, plain.settings.set_depth))) < 1e-12
    assert (moved.warnings, len(alone.warnings)) == ((), 1)
    assert "--set together.arm_m=… moves both" in alone.warnings[0]
    assert (
        "together.arm_m = 0.6 in place of 0.55 (with it unit.depth_linkage.rod_m = 0.6 in place of 0.55)" in moved.title
    )


def test_what_differed_on_purpose_goes_on_differing(tmp_path):
    (tmp_path / "own.toml").write_text(TOML + "[unit.depth_linkage]\nrod_m = 0.551\n", encoding="utf-8")
    assert load(tmp_path / "own.toml", changes={"together.arm_m": 0.5}).unit.depth_linkage.rod == 0.501


@pytest.mark.parametrize("name", MOVES)
def test_every_move_keeps_the_parallelogram(name, mine):
    was = find_name(name)
    value = {"arm_m": 0.5, "crank_m": 0.13}.get(name.split(".")[1], 0.03)
    unit = load(mine, changes={name: value}).unit
    assert was is not None
    assert max(map(abs, drift_range(unit, 0.04))) < 1e-12


def test_all_faults_at_once_without_blaming_the_file(mine):
    told = faults(mine, {"unit.disc.edge_width_mm": 400, "unit.disc.hub_m.x": "a", "soil.base": "sofd",
                         "unit.dics.radius_m": 0.3, "together.arm_m": 3})  # fmt: skip
    assert len(told) == 6
    assert not any("mine.toml" in text for text in told)
    whole = "\n".join(told)
    assert "unit.disc.edge_width_mm (in place of the file's): given 400; allowed: 1 to 50 mm" in whole
    assert "unit.depth_linkage.rod_m (in place of the file's, by together.arm_m): given 3" in whole
    assert "unit.dics.radius_m: unit.dics (in place of the file's): unknown key" in whole


@pytest.mark.parametrize(
    ("one", "other"),
    [("together.arm_m", "unit.depth_linkage.rod_m"), ("unit.disc.hub_m.x", "unit.disc.hub_m"),
     ("unit.main_links.length_m", "together.arm_m")],
)  # fmt: skip
def test_one_value_by_two_names(one, other, mine):
    value = {"unit.disc.hub_m": [0, -0.5]}
    told = faults(mine, {one: value.get(one, 0.5), other: value.get(other, 0.5)})
    assert any("given beside" in text and "twice" in text for text in told)


@pytest.mark.parametrize(
    ("name", "tried"),
    [
        ("unit.disc.edge_widht_mm", "unit.disc.edge_width_mm"), ("unit.disc.edge_width", "unit.disc.edge_width_mm"),
        ("edge_width_mm", "unit.disc.edge_width_mm"), ("disc.radius_m", "unit.disc.radius_m"),
        ("unit.dics.radius_m", "unit.disc.radius_m"), ("settings.depth_mm", "settings.set_depth_mm"),
        ("together.arms_m", "together.arm_m"), ("unit.disc.hub_m.y", "unit.disc.hub_m"),
        ("xyzzy", "rowbench new my_field"),
    ],
)  # fmt: skip
def test_a_misspelt_name_gets_the_one_it_may_mean(name, tried):
    assert find_name(name) is None
    assert tried in name_fault("here", name).partition("; try: ")[2]


def test_every_name_is_found_again():
    every = list(names_in(ROOT))
    assert len({one.name for one in every}) == len(every) > 250
    assert all(find_name(one.name) == one for one in every)


def test_a_paddock_has_keys_of_its_own():
    changed = load_paddock("two_soils", {"machine.rows": 6, "unit.carrier.mass_kg": 100})
    assert (changed.machine.rows, changed.unit.carrier.mass) == (6, 100.0)
    assert "with machine.rows = 6 in place of " in changed.title
    with pytest.raises(ScenarioError, match=r"ground.length_m \(in place of the file's\): unknown key"):
        load_paddock("two_soils", {"ground.length_m": 50})
