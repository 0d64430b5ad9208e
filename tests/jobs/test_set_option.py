"""`--set KEY=VALUE` on the commands that take it: the value counts, is said, and is checked as the file is."""

from __future__ import annotations

import json

import pytest

from analysis.cli.main import main

FIELD = """title = "Mine"
[ground]
length_m = 20
roughness = { class = "C" }
[search]
pressures_bar = [40]
speeds_kmh = [7]
seeds = 1
draws = 20
"""
PADDOCK = """title = "Small"
[machine]
rows = 2
row_spacing_m = 0.25
front_wheels_m = [-0.2, 0.2]
rear_wheels_m = [-0.2, 0.2]
[passes]
count = 1
length_m = 20
section_m = 5
[ground]
roughness = { class = "C" }
[search]
pressures_bar = [40]
speeds_kmh = [7]
"""
COMMANDS = {
    "run": ("mine.toml",), "window": ("mine.toml",), "explain": ("mine.toml",), "pins": ("mine.toml",),
    "modes": ("mine.toml",),
    "report": ("mine.toml", "--out", "page.html"), "paddock": ("small.toml", "--out", "small.h5", "--workers", "1"),
    "pressures": ("mine.toml",), "disc": ("mine.toml",), "draw": ("mine.toml",),
    "press": ("mine.toml", "--notches", "0,1", "--seeds", "1"),
}  # fmt: skip
ARM = ("--set", "unit.main_links.length_m=0.6")


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(FIELD, encoding="utf-8")
    (tmp_path / "small.toml").write_text(PADDOCK, encoding="utf-8")
    return tmp_path


def said(capsys, *words):
    assert main(list(words)) == 0
    return " ".join(capsys.readouterr().out.split())


def refused(capsys, *words):
    assert main(list(words)) == 2
    return capsys.readouterr().err


@pytest.mark.parametrize("name", COMMANDS)
def test_what_was_changed_and_what_it_breaks_is_said(name, capsys, here):
    text = said(capsys, name, *COMMANDS[name], *ARM)
    if name == "report":
        text = " ".join((here / "page.html").read_text(encoding="utf-8").split())
        assert "--set unit.main_links.length_m=0.6" in text  # the command that makes the page again
    assert "with unit.main_links.length_m = 0.6 in place of 0.55" in text
    assert "depth linkage is no parallelogram beside the main links" in text
    assert "unit.depth_linkage.rod_m (0.55) goes with unit.main_links.length_m (0.6)" in text


def test_a_moved_pair_is_named_and_no_longer_warned_of(capsys, here):
    text = said(capsys, "run", "mine.toml", "--set", "together.arm_m=0.6")
    assert "together.arm_m = 0.6 in place of 0.55 (with it unit.depth_linkage.rod_m = 0.6 in place of 0.55)" in text
    assert "no parallelogram" not in text


def test_the_value_counts_as_in_the_file(capsys, here):
    (here / "heavy.toml").write_text(f"{FIELD}[unit.carrier]\nmass_kg = 130\n", encoding="utf-8")
    main(["run", "mine.toml", "--set", "unit.carrier.mass_kg=130", "--json"])
    changed = json.loads(capsys.readouterr().out)
    main(["run", "heavy.toml", "--json"])
    filed = json.loads(capsys.readouterr().out)
    assert changed["changed"] == {"unit.carrier.mass_kg": {"value": 130, "file": 95.0}}
    assert changed["depth"] == filed["depth"]
    assert "changed" not in filed


def test_all_faults_in_one_message(capsys, here):
    text = refused(
        capsys, "window", "mine.toml", "--set", "unit.disc.edge_widht_mm=4", "--set", "settings.oil_pressure_bar=45",
        "--set", "search.seeds=2", "--seeds", "1", "--set", "ground.features=[]", "--set", "nothing",
        "--set", "unit.disc.radius_m=9", "--set", "unit.disc.radius_m=0.3",
    )  # fmt: skip
    assert "6 faults" in text
    assert "try: unit.disc.edge_width_mm" in text
    assert "search.seeds: given beside --seeds" in text
    assert "lists of tables are changed in the file" in text
    assert "unit.disc.radius_m: given twice" in text
    assert "given 9; allowed: 0.1 to 0.6 m" in text


@pytest.mark.parametrize(
    ("words", "option"),
    [(("--pressure", "40", "--set", "settings.oil_pressure_bar=45"), "--pressure"),
     (("--worn", "2", "--set", "unit.clearance.main_pins_mm=1"), "--worn"),
     (("--depth-range", "35:45", "--set", "limits.set_depth_min_mm=30"), "--depth-range")],
)  # fmt: skip
def test_a_key_that_another_option_sets_is_a_fault(words, option, capsys, here):
    command = "window" if option == "--depth-range" else "run"
    assert f"given beside {option}" in refused(capsys, command, "mine.toml", *words)


def test_a_stored_run_is_changed_on_top_of_what_it_was_run_with(capsys, here):
    said(capsys, "run", "mine.toml", "--set", "together.arm_m=0.6", "--save", "mine.h5")
    main(["pins", "mine.h5", "--set", "unit.disc.radius_m=0.3", "--pressure", "50", "--json"])
    stored = json.loads(capsys.readouterr().out)
    both = ("--set", "together.arm_m=0.6", "--set", "unit.disc.radius_m=0.3", "--pressure", "50")
    main(["pins", "mine.toml", *both, "--json"])
    fresh = json.loads(capsys.readouterr().out)
    assert {**stored, "scenario": ""} == {**fresh, "scenario": ""}
    assert "unit.base changed to" in refused(capsys, "pins", "mine.h5", "--set", "unit.base=double_disc").replace(
        ":", ""
    )


def test_a_paddocks_result_takes_none(capsys, here):
    said(capsys, "paddock", *COMMANDS["paddock"])
    assert "--set: given with a result" in refused(capsys, "paddock", "small.h5", "--set", "machine.rows=3")
    assert "--set" in refused(
        capsys, "report", "small.h5", "--out", "page.html", "--set", "limits.on_depth_share_min=0.5"
    )


def test_a_number_that_is_too_long_for_any_key_is_refused(capsys, here):
    for value in ("9" * 400, "-" + "9" * 400, "1e999"):
        assert main(["run", "mine.toml", "--set", f"settings.set_depth_mm={value}"]) == 2
        err = capsys.readouterr().err
        assert "settings.set_depth_mm" in err
        assert "try: " in err
