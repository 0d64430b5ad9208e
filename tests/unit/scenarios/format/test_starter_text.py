"""The starter file: loads as it stands, equals the defaults, and holds every key."""

from __future__ import annotations

import re
import tomllib

import pytest
from every import every

from scenarios.format.keys import Key
from scenarios.format.starters import starter_text
from scenarios.format.tables import walk
from scenarios.load import load
from scenarios.spec import FEATURES, Limits, Machine, Search, Stones, Variation
from sim.unit import Settings, Soil, Unit


@pytest.fixture
def loaded(tmp_path):
    def of(text):
        path = tmp_path / "starter.toml"
        path.write_text(text, encoding="utf-8")
        return load(path)

    return of


def test_it_loads_and_equals_the_defaults(loaded):
    found = loaded(starter_text("My field"))
    assert found.title == "My field"
    assert (found.unit, found.soil, found.settings) == (Unit(), Soil(), Settings())
    assert (found.variation, found.stones, found.machine) == (Variation(), Stones(), Machine())
    assert (found.limits, found.search) == (Limits(), Search())
    assert found.ground == load("rough").ground


@every("title", ['a "quoted" one', "back\\slash", "two\nlines", "tab\there", "Äcker 東", "'"])
def test_any_title_will_do(title, loaded):
    assert loaded(starter_text(title)).title == title


KEYS = list(walk())


@every(("path", "key"), KEYS, ids=[".".join((*path, key.name)) for path, key in KEYS])
def test_every_key_stands_there_with_meaning_range_and_default(path: tuple[str, ...], key: Key):
    text = starter_text("t")
    kinds = [getattr(feature, "kind") for feature in FEATURES]  # noqa: B009
    table = [part for part in path if part not in kinds]
    header = re.escape(".".join(table))
    blocks = re.split(r"(?m)^#?\[+", text)
    own = [block for block in blocks if re.match(rf"{header}\]", block)] if table else blocks[:1]
    lines = [line for block in own for line in block.splitlines() if re.match(rf"#?{key.name} = ", line)]
    assert lines, f"{key.name} is missing in [{'.'.join(table)}]"
    assert any(key.doc in line for line in lines)
    assert any(key.allowed in line for line in lines)
    if isinstance(key.default, float):
        assert any("default" in line for line in lines)


def test_lines_that_are_off_work_when_they_are_put_on(loaded, tmp_path):
    """Everything behind a # that is a key or a table, but for the second way to give roughness."""
    text = starter_text("t").replace("#gd_n0_m3", "# gd_n0_m3").replace("length_m = 300", "length_m = 42")
    text = re.sub(r"(?m)^#([a-z\[])", r"\1", text)
    rows = "\n".join(f"{0.25 * i},0" for i in range(1000))
    (tmp_path / "profile.csv").write_text(f"distance_m,height_m\n{rows}\n", encoding="utf-8")
    text = re.sub(r"(?m)^at_m = \d+ ", "at_m = 24 ", text)
    found = loaded(text)
    assert [type(feature) for feature in found.ground.features] == list(FEATURES)
    assert len(found.stones.placed) == 1
    assert None not in vars(found.limits).values()
    assert found.profile is not None
    assert found.profile.fine is not None


def test_short_scenarios_need_two_keys(loaded):
    found = loaded('title = "short"\n[ground]\nlength_m = 20\n')
    assert found.length == 20.0
    assert found.shows == ""


def test_it_is_plain_toml_without_null_or_duplicates():
    assert set(tomllib.loads(starter_text("t"))) == {
        "title", "shows", "settings", "ground", "stones", "soil", "machine", "limits", "search", "prior",
        "unit",
    }  # fmt: skip
