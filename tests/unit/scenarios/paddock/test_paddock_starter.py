"""The starter of a paddock file: it loads, holds every key, equals the defaults, and so do its switched-off lines."""

from __future__ import annotations

import re

import pytest

from scenarios.format.errors import ScenarioError
from scenarios.format.keys import keys_of
from scenarios.format.tables import walk
from scenarios.paddock.load import load_paddock
from scenarios.paddock.starter import paddock_starter
from scenarios.paddock.tables import PADDOCK
from scenarios.spec import Limits

FEATURE_LIMITS = [key for key in keys_of(Limits) if key.startswith("feature_")]


def written(folder, text: str):
    path = folder / "p.toml"
    path.write_text(text, encoding="utf-8")
    return load_paddock(path)


def test_it_loads_and_equals_the_defaults(tmp_path):
    full = written(tmp_path, paddock_starter('My "own" paddock'))
    bare = written(
        tmp_path, 'title = "x"\n[passes]\nlength_m = 300\n[ground]\nroughness = { class = "D" }\n'
    )  # fmt: skip
    assert full.title == 'My "own" paddock'
    for name in ("unit", "soil", "variation", "settings", "machine", "passes", "ground", "stones", "zones", "search",
                 "keep", "limits"):  # fmt: skip
        assert getattr(full, name) == getattr(bare, name), name


def test_every_key_is_in_it():
    text = paddock_starter("x")
    missing = [key.name for _, key in walk(PADDOCK) if not re.search(rf"^#?{re.escape(key.name)} = ", text, re.M)]
    assert missing == ["shows", *FEATURE_LIMITS]  # for entries of the library; for a scenario over one feature


def test_switched_off_tables_load_when_switched_on(tmp_path):
    """Every line but those of measured files, which would have to be there."""
    kept: list[str] = []
    on = True
    for line in paddock_starter("x").splitlines():
        if line.startswith(("#[", "[")):
            on = ".lines" not in line and ".grid" not in line and ".surface" not in line
        switch = line.startswith("#") and not line.startswith("# ")
        if on or not switch:
            kept.append(line[1:] if switch and on else line)
    text = "\n".join(kept).replace("gd_n0_m3", "#gd_n0_m3").replace('strength_file = "', '#strength_file = "')
    text = re.sub(r"^base = .*$", "", text, flags=re.M)
    try:
        found = written(tmp_path, text)
    except ScenarioError as error:
        pytest.fail(str(error))
    assert len(found.ground.features) == 4
    assert len(found.zones) == 1
    assert found.keep.series_every == 1.0
