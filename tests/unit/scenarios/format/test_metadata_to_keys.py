"""Every parameter becomes a key of the file, and every key sets its parameter and nothing else."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import pytest
from every import every

from scenarios.format.edge_units import EDGE_UNITS, to_si
from scenarios.format.keys import keys_of, read_series
from scenarios.format.tables import ROOT, walk
from scenarios.load import load
from scenarios.spec import Limits, Machine, Search, Stones
from sim.bushes import OwnPin, Pin, Pins
from sim.unit import Rock, Settings, Soil, Unit

HEAD = 'title = "t"\n[ground]\nlength_m = 50\n'
PIN_GROUPS = [type(getattr(Unit().pins, f.name)) for f in fields(Pins) if is_dataclass(getattr(Unit().pins, f.name))]
GROUPS = [
    *(type(getattr(Unit(), f.name)) for f in fields(Unit)),
    *PIN_GROUPS,
    OwnPin,
    Soil,
    Rock,
    Settings,
    Stones,
    Machine,
    Limits,
    Search,
]


@every("group", GROUPS, ids=lambda group: group.__name__)
def test_every_field_has_a_key_with_the_suffix_of_its_unit(group):
    keys = {key.field: key for key in keys_of(group).values()}
    for item in fields(group):
        table = group is Pins and is_dataclass(getattr(Pins(), item.name))
        if table or "kinds" in item.metadata or item.name in ("contact", "placed", "on_feature"):
            continue  # a table, a list of tables, and what is found from the ground
        key = keys.pop(item.name)
        edge = item.metadata.get("edge", "1")
        suffix = EDGE_UNITS[edge].suffix
        assert key.name == (f"{item.name}_{suffix}" if suffix else item.name)
        assert key.doc
        if item.metadata:
            assert key.doc == item.metadata["doc"]
    assert not keys


def test_defaults_come_out_of_their_keys_unchanged():
    """Default in SI → edge unit → SI gives the same bits, so that a starter file equals the defaults."""
    checked = 0
    for group in GROUPS:
        for key in keys_of(group).values():
            if key.default is not None:
                assert key.si(key.default) == getattr(group(), key.field), f"{group.__name__}.{key.name}"
                checked += 1
    assert checked > 100


@every("group", GROUPS, ids=lambda group: group.__name__)
def test_bounds_of_the_keys_are_those_of_the_fields(group):
    """Converted back they lie inside the field's range, by at most 0.1 % of it."""
    metas = {item.name: item.metadata for item in fields(group) if "low" in item.metadata}
    for key in keys_of(group).values():
        if key.field not in metas or key.kind == "whole":
            continue
        low, high = metas[key.field]["low"], metas[key.field]["high"]
        slack = 1e-3 * (abs(low) + abs(high))
        assert low - 1e-9 * slack <= to_si(key.low, key.edge) <= low + slack, key.name
        assert high - slack <= to_si(key.high, key.edge) <= high * (1 + 1e-12) + 1e-15, key.name


def _other(key: Any) -> Any:
    """A value of a key that is allowed and not the default."""
    if key.kind == "choice":
        return next(word for word in reversed(key.choices) if word != key.default)
    if key.kind == "whole":
        return int(key.low) if key.default != key.low else int(key.low) + 1
    if key.kind == "pair":
        return [round(v + 0.01 * (key.high - key.low), 6) for v in key.default]
    if key.kind == "series":
        return [key.low, key.high]
    if key.name == "set_depth_min_mm":  # has to stay under the set depth
        return 30.0
    base = key.default if key.default is not None else key.example
    return round(base + 0.05 * (key.high - base), 6)


def _toml(value: Any) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)


UNIT_KEYS = [
    (path, key)
    for path, key in walk()
    if path
    and path[0] in ("unit", "settings", "machine", "limits", "search")
    and key.name != "base"
    and path != ("unit", "pins", "own")
]


@every(("path", "key"), UNIT_KEYS, ids=[f"{path[-1]}.{key.name}" for path, key in UNIT_KEYS])
def test_a_key_sets_its_parameter_and_no_other(path, key, tmp_path):
    value = _other(key)
    file = tmp_path / "one.toml"
    file.write_text(f"{HEAD}[{'.'.join(path)}]\n{key.name} = {_toml(value)}\n", encoding="utf-8")
    found, plain = load(file), load("smooth")
    group = getattr(found, path[0])
    default: Any = {"unit": Unit(), "settings": Settings()}.get(path[0]) or getattr(plain, path[0])
    expected = key.si(value)
    if len(path) == 1:
        assert group == replace(default, **{key.field: expected})
        assert group != default
        return
    assert group == _with(default, path[1:], key.field, expected)
    assert group != default


def _with(group: Any, path: tuple[str, ...], name: str, value: Any) -> Any:
    """A copy of nested dataclasses with one value changed."""
    inner = {name: value} if not path else {path[0]: _with(getattr(group, path[0]), path[1:], name, value)}
    return replace(group, **inner)


def test_a_pin_of_its_own_differs_from_its_group_only_where_it_says_so(tmp_path):
    file = tmp_path / "own.toml"
    own = '[unit.pins.main]\nspan_mm = 150\n[[unit.pins.own]]\npin = "main_lower_front"\nlength_mm = 40\n'
    file.write_text(HEAD + own + 'material = "lined"\nlubrication = "dry"\n', encoding="utf-8")
    pins = load(file).unit.pins
    assert pins.of("main_lower_front") == Pin(0.03, 0.15, 0.04, "lined", "dry")
    assert pins.of("main_lower_rear") == Pin(0.03, 0.15, 0.03, "cast_bronze", "greased")
    assert pins.of("crank") == Unit().pins.of("crank")


def test_soil_keys_reach_soil_and_variation(tmp_path):
    lines = {key.name: _other(key) for key in ROOT.tables["soil"].keys.values() if key.name != "base"}
    file = tmp_path / "soil.toml"
    file.write_text(HEAD + "[soil]\n" + "".join(f"{k} = {_toml(v)}\n" for k, v in lines.items()), encoding="utf-8")
    found = load(file)
    for key in ROOT.tables["soil"].keys.values():
        if key.name != "base":
            holder = found.soil if hasattr(found.soil, key.field) else found.variation
            assert getattr(holder, key.field) == key.si(lines[key.name]), key.name


def test_stone_contact_is_the_rock_of_the_track(tmp_path):
    file = tmp_path / "rock.toml"
    file.write_text(f"{HEAD}[stones.contact]\nstiffness_MN_per_m = 1.2\ngive_way_kN = 8\n", encoding="utf-8")
    assert load(file).track().rock == Rock(stiffness=1.2e6, give_way=8e3)


def test_tables_mirror_the_dataclasses():
    """A dataclass inside a dataclass is a table; a tuple of dataclasses is a list of tables."""
    assert list(ROOT.tables["unit"].tables) == [f.name for f in fields(Unit) if is_dataclass(getattr(Unit(), f.name))]
    assert list(ROOT.tables["ground"].lists["features"].tables) == [
        "hump", "hollow", "sine", "gilgai", "drop", "bank", "ramp", "edge", "rut", "ridges", "patch", "patches",
        "stone_field",
    ]  # fmt: skip
    assert list(ROOT.tables["stones"].lists["placed"].tables) == [""]


@every(
    ("given", "values"),
    [
        ("30:90:3", [30.0, 60.0, 90.0]),
        ("5:15.5:8", [5.0, 6.5, 8.0, 9.5, 11.0, 12.5, 14.0, 15.5]),
        ("60", [60.0]),
        ([70, 50, 50], [50.0, 70.0]),
        ("6,8,10", [6.0, 8.0, 10.0]),
        (" 10, 6.5,8 ", [6.5, 8.0, 10.0]),
        ("40:40:1", [40.0]),
        (8, [8.0]),
    ],
)
def test_series(given, values):
    assert read_series(given) == values


@every(
    ("given", "why"),
    [
        ("", "not of the form first:last:count"),
        ("30:90", "not of the form first:last:count"),
        ("30:90:2.5", "with a whole count"),
        ("90:30:3", "the last value is not above the first"),
        ("a:b:c", "not of the form first:last:count"),
        ("1:2:3:4", "not of the form first:last:count"),
        ("30:90:0", "the count is not between 1 and 1000"),
        ("6,8,", "not of the form 6,8,10"),
        ("6,8:12:3", "not of the form 6,8,10"),
        ("6:12:1", "a count of 1 leaves 12 out: the third number is how many values, not their step"),
        ("30:90:1001", "the count is not between 1 and 1000"),
        ([], "the list is empty"),
        ([8] * 1001, "more than 1000 values"),
        ([True], "not all values are numbers"),
        (["8"], "not all values are numbers"),
    ],
)
def test_series_that_make_no_sense(given, why):
    with pytest.raises(ValueError, match=why):
        read_series(given)
