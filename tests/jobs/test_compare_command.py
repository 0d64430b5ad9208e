"""`rowbench compare` as a person with a file of his own would use it: files, one key varied, faults, files written."""

from __future__ import annotations

import json

import pytest

from analysis.cli.main import main

FIELD = """title = "Mine"
[ground]
length_m = 30
roughness = { class = "D" }
[search]
pressures_bar = [40]
speeds_kmh = [6, 8]
seeds = 1
[limits]
on_depth_share_min = 0.7
"""
FEW = ("--grounds", "3")


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(FIELD, encoding="utf-8")
    (tmp_path / "heavy.toml").write_text(f"{FIELD}[unit.carrier]\nmass_kg = 115\n", encoding="utf-8")
    return tmp_path


def said(capsys, *words):
    assert main(["compare", *words]) == 0
    return " ".join(capsys.readouterr().out.split())


def document(capsys, *words):
    assert main(["compare", *words, "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def refused(capsys, *words):
    assert main(["compare", *words]) == 2
    return capsys.readouterr().err


def test_two_files_and_one_key_varied_are_the_same_comparison(capsys, here):
    files = document(capsys, "mine.toml", "heavy.toml", *FEW)
    varied = document(capsys, "mine.toml", "--vary", "unit.carrier.mass_kg=95,115", *FEW)
    assert [one["name"] for one in files["designs"]] == ["mine", "heavy"]
    assert [one["name"] for one in varied["designs"]] == ["mass_kg = 95", "mass_kg = 115"]
    assert files["designs"][1]["common"] == varied["designs"][1]["common"]
    assert files["differs"] == varied["differs"] == {"unit.carrier.mass_kg": ["95", "115"]}


def test_one_value_stands_beside_the_files_own_and_figures_are_written(capsys, here):
    words = ("--vary", "together.arm_m=0.6", "--figure", "a.png", "--crossings", "b.svg")
    text = said(capsys, "mine.toml", *words, *FEW)
    assert "arm_m = 0.55 (file) and arm_m = 0.6: 30 m, grounds 1–3" in text
    assert "unit.main_links.length_m 0.55 → 0.6; unit.depth_linkage.rod_m 0.55 → 0.6" in text
    assert "no parallelogram" not in text
    assert {path.name for path in here.iterdir()} >= {"a.png", "b.svg"}


def test_a_broken_parallelogram_is_warned_of_with_the_design_that_has_it(capsys, here):
    text = said(capsys, "mine.toml", "--vary", "unit.main_links.length_m=0.6", *FEW)
    assert (
        "The depth linkage is no parallelogram" in text
        or "length_m = 0.6: the depth linkage is no parallelogram" in text
    )


def test_the_same_file_twice_and_set_for_all(capsys, here):
    text = said(capsys, "mine.toml", "mine.toml", "--set", "unit.disc.edge_width_mm=4", *FEW)
    assert "mine (2) is the same design as mine: every difference is exactly zero." in text


def test_fewer_grounds_than_the_picks_rest_on(capsys, here):
    text = said(capsys, "mine.toml", "heavy.toml", "--grounds", "1", "--seeds", "2")
    assert "--grounds 1 is fewer than the 2 that the picks rest on: 2 were crossed" in text
    assert "grounds 1–2" in text


def test_pressure_itself(capsys, here):
    told = document(capsys, "mine.toml", "--vary", "settings.oil_pressure_bar=35,45", *FEW)
    assert [one["common"]["oil_pressure_bar"] for one in told["designs"]] == [35.0, 45.0]
    assert all(one["pick"] is None for one in told["designs"])


@pytest.mark.parametrize(
    ("words", "text"),
    [
        ((), "no FILE; allowed: two to 6 files, or one with --vary"),
        (("mine.toml",), "1 FILE; allowed: two to 6 files"),
        (("mine.toml",) * 7, "7 FILEs; allowed: two to 6 files"),
        (("mine.toml", "heavy.toml", "--vary", "unit.carrier.mass_kg=95"), "--vary: given with 2 files"),
        (("mine.toml", "--vary", "ground.seed=1,2"), "rowbench window FILE --set ground.seed=1"),
        (("mine.toml", "--vary", "unit.carrier.mass_kg=95,95"), 'given "95" twice'),
        (("mine.toml", "--vary", "unit.carrier.mas_kg=95"), "try: unit.carrier.mass_kg"),
        (("mine.toml", "--vary", "unit.carrier.mass_kg=95,"), "no value; allowed: one to 6 values"),
        (("mine.toml", "--vary", "unit.carrier.mass_kg=1,2,3,4,5,6,7"), "7 values; allowed: one to 6 values"),
        (("mine.toml", "--vary", "unit.carrier.mass_kg=95,9000"), "given 9000; allowed: 1 to 1000 kg"),
        (("mine.toml", "--vary", "unit.carrier.mass_kg=95", "--vary", "soil.base=soft"), "given 2 times"),
        (("mine.toml", "--vary", "unit.carrier.mass_kg=9", "--set", "unit.carrier.mass_kg=8"), "given beside --set"),
        (("mine.toml", "--vary", "search.seeds=2,3"), "a key that changes no crossing"),
        (("mine.toml", "heavy.toml", "--grounds", "0"), "--grounds: given"),
        (("mine.toml", "mine.h5"), "mine.h5: a stored result; allowed: scenarios"),
        (("mine.toml", "heavy.toml", "--figure", "a.png", "--crossings", "a.png"), "a.png"),
    ],
)
def test_faults(words, text, capsys, here):
    assert text in refused(capsys, *words)


def test_all_faults_at_once(capsys, here):
    told = refused(
        capsys, "mine.toml", "none.toml", "--grounds", "x", "--set", "unit.disc.radius_m=9", "--movie", "a.mp4"
    )
    assert "4 faults" in told


def test_a_soil_or_a_setting_may_differ_too(capsys, here):
    text = said(capsys, "mine.toml", "--vary", "soil.base=firm,soft", *FEW)
    assert 'base = "firm" and base = "soft"' in text
    assert "soil.strength_MPa 1.2 → " in text
