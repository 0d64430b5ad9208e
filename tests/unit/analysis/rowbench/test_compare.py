"""Comparing designs from Python: the same as the command."""

import json

import pytest

import rowbench as rb
from analysis.cli.main import main

TOML = """title = "Mine"
[ground]
length_m = 20
roughness = { class = "D" }
[search]
pressures_bar = [40]
speeds_kmh = [7]
seeds = 1
[limits]
on_depth_share_min = 0.5
"""


@pytest.fixture
def mine(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(TOML, encoding="utf-8")
    return rb.load("mine.toml")


def test_it_is_that_of_the_command(mine, capsys):
    heavy = mine.changed(unit={"carrier": {"mass_kg": 115}})
    found = rb.compare(mine, heavy, names=["mass_kg = 95", "mass_kg = 115"], grounds=3)
    assert main(["compare", "mine.toml", "--vary", "unit.carrier.mass_kg=95,115", "--grounds", "3", "--json"]) == 0
    printed = json.loads(capsys.readouterr().out)
    told = json.loads(json.dumps(found.summary()))
    assert told == {key: value for key, value in printed.items() if key not in ("run", "warnings")}
    assert main(["compare", "mine.toml", "--vary", "unit.carrier.mass_kg=95,115", "--grounds", "3"]) == 0
    assert capsys.readouterr().out == found.text() + "\n"
    assert "Comparison of mass_kg = 95, mass_kg = 115 on 3 grounds" in repr(found)


def test_dotted_names_and_parts_that_move_together(mine):
    longer = rb.load("mine.toml", **{"together.arm_m": 0.6, "unit.disc.hub_m.x": -0.21})
    assert (longer.unit.main_links.length, longer.unit.depth_linkage.rod) == (0.6, 0.6)
    with pytest.raises(rb.ScenarioError, match=r"try: unit\.disc\.edge_width_mm"):
        rb.load("mine.toml", **{"unit.disc.edge_widht_mm": 4})


def test_what_cannot_be_compared(mine):
    with pytest.raises(rb.ScenarioError, match="1 scenarios; allowed: two to 6"):
        rb.compare(mine)
    with pytest.raises(rb.ScenarioError, match="a name twice"):
        rb.compare(mine, mine, names=["a", "a"])
