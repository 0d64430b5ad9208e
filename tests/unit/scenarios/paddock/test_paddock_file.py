"""Paddock files: defaults, keys from metadata, every fault told at once, names of the library."""

from __future__ import annotations

import re

import paddocks
import pytest
from every import every

from scenarios.format.errors import ScenarioError
from scenarios.format.keys import Key
from scenarios.format.library import library
from scenarios.format.schema import check
from scenarios.format.tables import walk
from scenarios.load import load
from scenarios.paddock.load import find_paddock, load_paddock
from scenarios.paddock.tables import PADDOCK, PADDOCK_FILE


def faults_of(folder, tables=None, more=""):
    with pytest.raises(ScenarioError) as caught:
        load_paddock(paddocks.write(folder, tables, more))
    return caught.value.faults


def test_a_small_file_gets_defaults_and_si_units(tmp_path):
    paddock = paddocks.small(tmp_path)
    assert (paddock.name, paddock.title, paddock.seed, paddock.count) == ("small", "Test paddock", 5, 3)
    assert paddock.machine.width == pytest.approx(1.25)
    assert paddock.area == pytest.approx(3 * 20 * 1.25)
    assert [s.oil_pressure for s in paddock.tried] == [45e5, 60e5]
    assert paddock.limits.depth_tolerance == 0.010
    assert paddock.backwards(1)
    assert not paddock.backwards(2)


def test_settings_are_tried_speed_by_speed(tmp_path):
    paddock = paddocks.small(tmp_path, {"search": "pressures_bar = [60, 45]\nspeeds_kmh = [9, 7.2]"})
    assert [(s.oil_pressure / 1e5, round(s.speed * 3.6, 9)) for s in paddock.tried] == [
        (45.0, 7.2), (60.0, 7.2), (45.0, 9.0), (60.0, 9.0),
    ]  # fmt: skip


def test_every_entry_of_the_library_loads():
    entries = library("paddock")
    assert len(entries) >= 1
    for entry in entries:
        paddock = load_paddock(entry.name)
        assert paddock.path == entry.path
        assert entry.title
        assert entry.shows.endswith(".")


def test_a_wrong_name_gets_the_nearest(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    with pytest.raises(ScenarioError, match=r'no paddock of the library; .* try: "two_soils"'):
        find_paddock("two_soil")


def test_all_faults_at_once(tmp_path):
    found = faults_of(
        tmp_path,
        {"machine": "rows = 3.5\nrow_spacing_m = 9", "passes": "count = 0", "settings": "speed_kmh = 100"},
        '[[zones]]\nname = "a"\nstart_m = [1, 2]\n[[ground.features]]\nkind = "humpp"\n[colour]\nx = 1',
    )
    text = "\n".join(found)
    wanted = (
        "machine.rows: given 3.5", "machine.row_spacing_m: given 9", "passes.count: given 0",
        "settings.speed_kmh: given 100", "zones[0].end_m: missing", 'kind = "hump"', "colour: unknown key",
    )  # fmt: skip
    assert [word for word in wanted if word not in text] == []
    assert len(found) == 7


@every(
    ("tables", "more", "words"),
    [
        ({"passes": "count = 2"}, "", "passes.length_m: missing"),
        ({"ground": "roughness = { }"}, "", "neither class nor gd_n0_m3"),
        ({"ground": 'roughness = { class = "D", gd_n0_m3 = 1e-3 }'}, "", "both class and gd_n0_m3"),
        ({"ground": 'roughness = { class = "K" }'}, "", 'roughness.class: given "K"'),
        ({"unit": "main_links = { angle_nominal_deg = 28.5 }"}, "", "between the stops"),
        ({"settings": "set_depth_mm = 900"}, "", "settings.set_depth_mm: given 900"),
        ({"soil": 'base = "frim"'}, "", 'soil.base: given "frim"'),
        ({"machine": 'front_wheels_m = ["a"]'}, "", "not all values are numbers"),
        ({"machine": "front_wheels_m = [400]"}, "", "front_wheels_m: given 400"),
        ({"passes": "length_m = 20\nwidht = 3"}, "", "widht: unknown key"),
        ({"ground": "features = 3"}, "", "tables [[ground.features]]"),
        ({"ground": "features = [3]"}, "", "given 3; allowed: a table"),
        ({"passes": "", "machine": "rows = 4"}, "passes = 3", "missing"),
        ({}, '[[zones]]\nname = ""\nstart_m = [1, 2]\nend_m = [3, 4]', "zones[0].name"),
        ({}, '[[zones]]\nname = "a"\nstart_m = [1, 2, 3]\nend_m = [3, 4]', "[x, y]"),
        ({"stones": "length_m = [0.4, 0.2]"}, "", "stones.length_m"),
    ],
)
def test_single_faults(tmp_path, tables, more, words):
    assert words in "\n".join(faults_of(tmp_path, tables, more))


def test_a_file_that_is_no_toml_or_not_there(tmp_path):
    path = tmp_path / "bad.toml"
    path.write_text("title = ", encoding="utf-8")
    with pytest.raises(ScenarioError, match="not TOML"):
        load_paddock(path)
    with pytest.raises(ScenarioError, match="there is no such file"):
        load_paddock(tmp_path / "none.toml")


def document_with(path, key: Key, value):
    """A document in which a key stands as it is given, in tables (and items of lists) of its own."""
    inner: dict = {key.name: value}
    table = PADDOCK
    steps = []
    for name in path:
        if name in table.lists:
            steps.append((name, table.lists[name]))
            table = table.lists[name].tables.get("", table)
        elif steps and steps[-1][1] is not None and name in steps[-1][1].tables:
            table = steps[-1][1].tables[name]
            inner["kind"] = name
        else:
            steps.append((name, None))
            table = table.tables[name]
    for name, variants in reversed(steps):
        inner = {name: inner if variants is None else [inner]}
    return inner


def test_every_key_refuses_what_is_out_of_range():
    """And takes its own default."""
    keys = list(walk(PADDOCK))
    assert len(keys) > 150
    assert [key.name for _, key in keys if not key.doc] == []
    refused, taken = [], []
    for path, key in keys:
        over = key.high + abs(key.high) + 1
        bad = {"text": 3, "choice": "no such word", "pair": [over, 0.0], "series": [over], "whole": int(over)}
        dotted = ".".join((*path, key.name))
        name = rf"(.*\.)?{key.name}(\[0\])?: given"
        told = [f.text for f in check(document_with(path, key, bad.get(key.kind, over)), "here", PADDOCK_FILE)]
        if not any(re.match(f"here: {name}", text) for text in told):
            refused.append(dotted)
        if key.default is not None:
            good = list(key.default) if isinstance(key.default, tuple) else key.default
            told = [f.text for f in check(document_with(path, key, good), "here", PADDOCK_FILE)]
            taken += [dotted for text in told if re.match(f"here: {name}", text)]
    assert refused == []
    assert taken == []


def test_check_needs_a_title():
    assert "title: missing" in check({}, "a.toml", PADDOCK_FILE)[0].text


def test_a_file_that_is_at_fault_everywhere_reads_like_a_scenario(tmp_path):
    """Both kinds of file go through one check: the same fault of a table they share reads the same."""
    body = '[settings]\nsped_kmh = 3\nspeed_kmh = "x"\n[limits]\non_depth_share_min = 90\n[unit]\ndisc = 3\n'
    said = []
    for head, load_it in (('title = "t"\n[ground]\nlength_m = 50\n', load),
                          ('title = "t"\n[passes]\nlength_m = 50\n', load_paddock)):  # fmt: skip
        path = tmp_path / "one.toml"
        path.write_text(head + body, encoding="utf-8")
        with pytest.raises(ScenarioError) as caught:
            load_it(path)
        said.append(sorted(caught.value.faults))
    assert said[0] == said[1]
    assert len(said[0]) == 4
