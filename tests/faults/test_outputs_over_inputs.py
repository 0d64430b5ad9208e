"""No output of any command falls on another one or on a file that the command reads: refused before it computes."""

from __future__ import annotations

import argparse
import shutil
from pathlib import Path

import pytest
from called import refused

from analysis.cli.commands import COMMANDS, command
from analysis.cli.parts.output_files import OUTPUTS
from analysis.explain.figure_names import NAMES
from analysis.explain.figures import figure_makers
from scenarios.format.library import library
from scenarios.load import load

SCENARIO = """\
title = "Mine"
[unit]
base = "./lender.svg"
[ground]
profile = { file = "walked.csv" }
"""
LENDER = '[unit]\nbase = "./lender.png"\n'
PADDOCK = """\
title = "Ours"
[unit]
base = "./lender.svg"
[machine]
rows = 2
[measured]
lines = [{ file = "line.csv" }]
strength_file = "strong.csv"
"""


@pytest.fixture
def desk(tmp_path, monkeypatch):
    """A scenario, which may have any name, and a paddock, each with all the files that it reads."""
    monkeypatch.chdir(tmp_path)
    for name in ("a.toml", "a.png", "a.gif", "a.html"):
        Path(name).write_text(SCENARIO, encoding="utf-8")
    Path("walked.csv").write_text("distance_m,height_m\n" + "".join(f"{i / 10},0\n" for i in range(700)))
    Path("lender.svg").write_text(LENDER, encoding="utf-8")
    Path("lender.png").write_text("[unit.carrier]\nmass_kg = 99\n", encoding="utf-8")
    Path("p.toml").write_text(PADDOCK, encoding="utf-8")
    Path("line.csv").write_text("distance_m,height_m\n" + "".join(f"{i / 10},0\n" for i in range(700)))
    Path("strong.csv").write_text("x_m,y_m,strength_MPa\n0,0,1.2\n50,0,1.3\n0,1,1.3\n50,1,1.2\n")

    def computes(*_words, **_named):
        raise AssertionError("it computes before it refuses")

    for module in ("run", "window", "pressures", "disc", "press", "explain", "pages.report", "paddock", "verify"):
        monkeypatch.setattr(f"analysis.cli.{module}.ready", computes, raising=False)
    return tmp_path


def kept(desk):
    return {path.name: path.read_bytes() for path in desk.iterdir() if path.is_file()}


CASES = [
    *(
        [name, "./a.png", "--figure", "a.png"]
        for name in ("run", "window", "draw", "pressures", "disc", "press", "explain", "verify")
    ),
    *(
        [name, "a.toml", "--figure", f"lender.{ending}"]
        for name in ("run", "window", "draw", "explain", "verify")
        for ending in ("svg", "png")
    ),
    ["verify", "a.toml", "--engines", "lender.png"],
    ["explain", "./a.gif", "--movie", "a.gif"],
    ["compare", "rough", "./a.gif", "--movie", "a.gif"],
    ["compare", "./a.png", "rough", "--crossings", "a.png"],
    ["compare", "./a.png", "--vary", "unit.carrier.mass_kg=95,115", "--figure", "a.png"],
    ["report", "./a.html", "--out", "a.html"],
    ["explain", "rough", "--profile", "lender/../walked.csv", "--figure", "walked.png"],
    ["paddock", "p.toml", "--out", "r.h5", "--csv", "line.csv"],
    ["paddock", "p.toml", "--out", "r.h5", "--csv", "strong.csv"],
    ["paddock", "p.toml", "--out", "r.h5", "--map", "lender.png"],
    ["paddock", "p.toml", "--out", "r.h5", "--rows", "lender.svg"],
    ["paddock", "p.toml", "--out", "r.h5", "--settings", "lender.svg"],
    ["paddock", "p.toml", "--pass", "1", "--row", "1", "--out", "p.toml"],
    ["paddock", "p.toml", "--pass", "1", "--row", "1", "--out", "line.toml"],
]


@pytest.mark.parametrize("words", CASES, ids=" ".join)
def test_an_output_that_is_read(words, desk, capsys):
    (desk / "lender").mkdir()
    if "walked.png" in words:  # read as measured ground, whatever it is called
        shutil.copy("walked.csv", "walked.png")
        words = [*words[:3], "walked.png", *words[4:]]
    before = kept(desk)
    said = refused(capsys, *words)
    assert "would write over" in said
    assert "allowed: a file that nothing is read from; try: " in said
    assert kept(desk) == before


def test_a_link_to_what_is_read(desk, capsys):
    (desk / "link.csv").symlink_to("strong.csv")
    assert "would write over" in refused(capsys, "paddock", "p.toml", "--out", "r.h5", "--csv", "link.csv")


@pytest.mark.parametrize("name", NAMES)
def test_a_figure_in_the_folder_of_all_figures(name, desk, capsys):
    (desk / "d").mkdir()
    said = refused(capsys, "explain", "a.toml", "--figure", f"d/{name}.png", "--figures", "d")
    assert f"--figures ({name}.png)" in said
    assert "allowed: a file of its own for each" in said
    assert not list((desk / "d").iterdir())


def test_a_folder_of_figures_that_holds_what_is_read(desk, capsys):
    (desk / "d").mkdir()
    shutil.copy("walked.csv", "d/causes.png")
    assert "d/causes.png" in refused(capsys, "explain", "rough", "--profile", "d/causes.png", "--figures", "d")


WRITTEN = {"PNG", "GIF", "H5", "CSV", "PAGE.html", "RESULT.h5", "DIR", "FITTED.toml", "SHEET.html"}


def test_every_option_that_names_a_file_to_write_is_known():
    """Help that says what to write or draw, on any command, stands beside a name that is checked."""
    for name in COMMANDS:
        parser = argparse.ArgumentParser(add_help=False)
        command(name).options(parser)
        files = {
            action.dest
            for action in parser._actions
            if action.metavar in WRITTEN or (action.metavar == "FILE" and action.dest == "geojson")
        }
        assert files - {"profile", "measured"} <= {*OUTPUTS, "figures"}, name


def test_the_names_of_all_figures_are_those_drawn():
    class Told:
        scenario = type("S", (), {"limits": type("L", (), {"depth_tolerance": 0.01})})
        run = None

    assert set(figure_makers(Told)) == set(NAMES)


def test_the_files_that_a_scenario_is_read_from():
    for entry in library():
        assert load(entry.name).files[0] == entry.path
