"""The list of every number of a scenario, with what it may be."""

from __future__ import annotations

import pytest

from scenarios.changed.numeric_keys import numeric_key, numeric_keys
from scenarios.changed.put_in import put_in
from scenarios.load import load
from scenarios.together import MOVES


@pytest.fixture(scope="module")
def rough():
    return load("rough")


def test_each_can_be_put_back_and_changes_nothing(rough):
    keys = [key for key in numeric_keys(rough) if not key.moves]
    again = load("rough", changes={key.name: key.value for key in keys})
    assert (again.unit, again.soil, again.variation, again.settings) == (
        rough.unit, rough.soil, rough.variation, rough.settings,
    )  # fmt: skip
    assert again.title == rough.title
    assert len(keys) > 150


def test_each_lies_in_its_range_and_says_what_it_is(rough):
    for key in numeric_keys(rough, ("unit", "soil", "settings", "ground", "stones", "machine", "limits", "search")):
        assert key.low <= key.value <= key.high, key
        assert key.doc
        assert key.unit


def test_parts_that_move_together_say_so(rough):
    keys = {key.name: key for key in numeric_keys(rough)}
    assert keys["unit.depth_linkage.rod_m"].together == keys["unit.main_links.length_m"].together == "together.arm_m"
    assert keys["together.arm_m"].moves == ("unit.main_links.length_m", "unit.depth_linkage.rod_m")
    assert set(MOVES) <= set(keys)
    for name in MOVES:  # both ends of the range leave every member in its own
        for end in (keys[name].low, keys[name].high):
            for member, (value, _) in [(name, (end, 0)), *_moved(name, end).items()]:
                key = keys[member]
                assert key.low - 1e-9 <= value <= key.high + 1e-9


def _moved(name, value):
    (change,) = put_in({}, {}, {name: value}).changes
    return change.moved


def test_one_by_its_name(rough):
    hub = numeric_key(rough, "unit.disc.hub_m.z")
    assert (hub.value, hub.low, hub.high, hub.unit) == (-0.55, -3.0, 3.0, "m")
    assert numeric_key(rough, "unit.disc.blades").whole
    assert numeric_key(rough, "together.arm_m").value == 0.55
    assert numeric_key(rough, "soil.base") is None
    assert numeric_key(rough, "unit.disc.hub_m") is None
