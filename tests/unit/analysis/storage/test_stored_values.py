"""Dataclasses from JSON: what every stored dataclass holds goes through and back; what does not fit is named."""

from __future__ import annotations

import json
from dataclasses import asdict, replace

import pytest
from every import every

from analysis.storage.paddock_inputs import PARTS, checked_limits
from analysis.storage.stored_values import Unfit, made
from scenarios.paddock.load import load_paddock
from scenarios.spec import Limits
from sim.unit import Settings


@every("name", PARTS)
def test_every_part_of_a_paddock_comes_back(name):
    paddock = load_paddock("two_soils")
    part = getattr(paddock, name)
    found = json.loads(json.dumps(asdict(part)))
    if name == "ground":
        found["features"] = [{"kind": f.kind, **json.loads(json.dumps(asdict(f)))} for f in paddock.ground.features]
    assert made(PARTS[name], found, name) == part


@every("limits", [Limits(), replace(Limits(), on_feature=True, pin_peak_max=2e4, on_depth_share_min=0.5)])
def test_limits_come_back_with_all_that_they_hold(limits):
    assert made(Limits, json.loads(json.dumps(asdict(limits))), "limits") == limits


def test_a_paddock_is_not_judged_as_one_feature():
    assert checked_limits(json.loads(json.dumps(asdict(Limits())))) == Limits()
    with pytest.raises(Unfit) as caught:
        checked_limits(asdict(replace(Limits(), on_feature=True)))
    assert caught.value.where == "inputs/limits_si.on_feature"


@every(("key", "value"), [
    ("speed", float("nan")), ("speed", 1e9), ("speed", "2"), ("speed", True), ("speed", None), ("speed", 10**400),
    ("gas", "helium"), ("gas", ["real"]), ("press_notch", 1.5), ("press_notch", 99), ("strange", 1),
])  # fmt: skip
def test_what_does_not_fit_is_named(key, value):
    with pytest.raises(Unfit) as caught:
        made(Settings, {**asdict(Settings()), key: value}, "settings")
    assert caught.value.where.startswith("settings")
    with pytest.raises(Unfit, match=r"settings\.gas"):
        made(Settings, {k: v for k, v in asdict(Settings()).items() if k != "gas"}, "settings")
