"""Which ground is one feature on flat ground, and which limits hold on it."""

from dataclasses import fields, replace

import pytest
from every import every

from analysis.window.limits import given, not_checked
from scenarios.format.starters import starter_text
from scenarios.load import load
from scenarios.single import all_along, is_feature, placed_shapes
from scenarios.spec import NOT_ON_FEATURE, Limits, Roughness

FLAT = {"ground.roughness": {"class": "none"}}
HUMP = {"kind": "hump", "at_m": 20, "height_mm": 150, "length_m": 3}
RUT = {"kind": "rut", "at_m": 8, "depth_mm": 80, "width_m": 0.6}
STONE = {"placed": [{"at_m": 9.0, "length_m": 0.3, "top_mm": 30}]}
BESIDE = {
    "random roughness": {"ground.roughness": {"class": "A"}},
    "waves": {"ground.features": [HUMP, {"kind": "sine", "amplitude_mm": 20, "wavelength_m": 2}]},
    "ridges": {"ground.features": [HUMP, {"kind": "ridges", "spacing_m": 0.9, "height_mm": 50}]},
    "gilgai": {"ground.features": [HUMP, {"kind": "gilgai", "height_mm": 150, "wavelength_m": 8}]},
    "soil patches": {
        "ground.features": [HUMP, {"kind": "patches", "share": 0.2, "size_m": 5, "strength_share": 2.0}],
    },
    "a soil patch": {
        "ground.features": [HUMP, {"kind": "patch", "start_m": 5, "end_m": 15, "strength_share": 2.0}],
    },
    "a field of stones": {"ground.features": [HUMP, {"kind": "stone_field", "stones_per_ha": 8000}]},
    "stones": {"stones": STONE},
}  # fmt: skip


@every(("name", "single"), [
    ("hump", True), ("hollow", True), ("bank", True), ("gully", True), ("smooth", False), ("rough", False),
    ("stony", False), ("gilgai", False), ("ridges", False), ("patches", False), ("stone_field", False),
    ("coarse_log", False),
])  # fmt: skip
def test_the_library_is_told_apart(name, single):
    scenario = load(name)
    assert is_feature(scenario.ground, scenario.stones, scenario.profile) == single
    assert scenario.limits.on_feature == single


@every("what", list(BESIDE))
def test_what_goes_on_beside_a_feature_is_named_and_keeps_the_shares(what):
    scenario = load("hump", changes={"ground.features": [HUMP], **BESIDE[what]})
    assert all_along(scenario.ground, scenario.stones, scenario.profile) == (what,)
    assert not scenario.limits.on_feature


def test_several_placed_shapes_are_features_and_random_strength_does_not_count():
    scenario = load("hump", changes={"ground.features": [HUMP, RUT], "soil.variation_cv": 0.25})
    assert [shape.kind for shape in placed_shapes(scenario.ground)] == ["rut", "hump"]
    assert scenario.limits.on_feature


def test_a_hump_on_measured_ground_is_not_judged_alone(tmp_path):
    rows = "".join(f"{0.5 * i},{0.001 * (i % 3)}\n" for i in range(121))
    (tmp_path / "walked.csv").write_text(f"distance_m,height_m\n{rows}")
    assert not load("hump", profile=tmp_path / "walked.csv").limits.on_feature


def test_which_limits_hold_follows_the_ground_whatever_was_said_before():
    scenario = load("hump")
    rough = replace(scenario, ground=replace(scenario.ground, roughness=Roughness(letter="C")))
    assert not rough.limits.on_feature
    assert replace(rough, ground=scenario.ground).limits.on_feature
    assert replace(scenario, limits=Limits()).limits.on_feature
    assert scenario.with_settings(speed=2.0).limits is scenario.limits


def test_the_limits_of_a_feature_stand_in_for_the_shares_and_hold_nowhere_else():
    everywhere = {limit.name for limit, _ in given(Limits())}
    on_feature = {limit.name for limit, _ in given(Limits(on_feature=True))}
    assert everywhere - on_feature == set(NOT_ON_FEATURE)
    assert on_feature - everywhere == {
        "feature_too_deep_max", "feature_too_shallow_max", "feature_off_depth_max", "feature_wheel_off_max",
    }  # fmt: skip
    assert "peak gauge load" in not_checked(Limits(on_feature=True))
    assert not_checked(Limits()) == [
        words for words in not_checked(Limits(on_feature=True)) if words != "peak gauge load"
    ]


def test_the_keys_of_a_feature_can_be_changed_and_say_where_they_hold(tmp_path):
    keys = {field.name: field for field in fields(Limits) if field.name.startswith("feature_")}
    assert len(keys) == 5
    assert all(field.metadata["doc"].startswith("where the ground is a feature: ") for field in keys.values())
    text = starter_text("Mine")
    for key in ("feature_too_deep_max = 0.6", "feature_off_depth_max_m = 4", "#feature_gauge_peak_max_N = 5000"):
        assert f"\n{key}  #" in text
    path = tmp_path / "mine.toml"
    path.write_text(text.replace("feature_off_depth_max_m = 4", "feature_off_depth_max_m = 1.5"))
    assert load(path).limits.feature_off_depth_max == pytest.approx(1.5)
    assert not load(path).limits.on_feature
