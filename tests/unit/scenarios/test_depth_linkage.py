"""A depth linkage that is no parallelogram beside the main links is told of, everywhere and once, with what to do."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from every import every

from analysis.cli.main import main
from analysis.present.unit_points import unit_points
from scenarios.depth_linkage import NOTICED, WORKING_TRAVEL, _crank_angle, drift_range, linkage_notes
from scenarios.format.library import library
from scenarios.format.starters import starter_text
from scenarios.format.tables import ROOT, walk
from scenarios.load import load, load_unit
from scenarios.paddock.load import load_paddock
from sim.unit import Settings, Unit

WARNED = "no parallelogram beside the main links"
LONGER = "[unit.main_links]\nlength_m = 0.60\n"


def with_arm(length: float, **linkage) -> Unit:
    unit = Unit()
    links, depth = replace(unit.main_links, length=length), replace(unit.depth_linkage, **linkage)
    return replace(unit, main_links=links, depth_linkage=depth)


def drawn_drift(unit: Unit, depth: float, angle: float) -> float:
    """The same by another way: where the drawing puts axle and hub, deeper positive [m]."""
    crank = _crank_angle(unit, depth)

    def over(arm: float) -> float:
        points = unit_points(unit, crank, arm, 0.0)
        return points["gauge_axle"][1] - points["disc_hub"][1]

    return over(angle) - over(unit.main_links.angle_nominal)


@every("length", [0.52, 0.58, 0.60])
def test_the_drift_is_that_of_the_drawing(length):
    unit = with_arm(length)
    low, high = drift_range(unit, 0.04)
    drawn = [drawn_drift(unit, 0.04, angle) for angle in np.linspace(-WORKING_TRAVEL, WORKING_TRAVEL, 21)]
    assert low == pytest.approx(min(0.0, *drawn), abs=1e-9)
    assert high == pytest.approx(max(0.0, *drawn), abs=1e-9)


def test_a_longer_arm_is_told_with_its_drift_and_the_rod_that_goes_with_it():
    (text,) = linkage_notes(with_arm(0.60), Settings())
    assert WARNED in text
    assert "from 4.3 mm too shallow to 7.9 mm too deep" in text
    assert "unit.depth_linkage.rod_m (0.55) goes with unit.main_links.length_m (0.6)" in text
    assert "try rod_m = 0.6, which leaves 0.0 mm" in text
    assert list(linkage_notes(with_arm(0.60, rod=0.60), Settings())) == []


def test_all_keys_that_differ_are_named_together():
    (text,) = linkage_notes(with_arm(0.60, crank=0.11, crank_pivot=(0.0, 0.01)), Settings())
    assert "try rod_m = 0.6 and crank_m = 0.12 and crank_pivot_m = [0, 0], which leaves 0.0 mm" in text


def test_what_no_one_would_notice_is_not_told():
    """0.36 mm of the library's heavy unit, 1 mm out on purpose; and a turnbuckle of any length drifts nothing."""
    heavy = load_unit("heavy")
    low, high = drift_range(heavy.unit, heavy.settings.set_depth)
    assert 0.0003 < max(-low, high) < NOTICED
    assert heavy.warnings == ()
    assert max(map(abs, drift_range(with_arm(0.55, turnbuckle=0.51), 0.04))) < 1e-12


def test_the_travel_ends_at_the_stops():
    """Half the travel drifts about a quarter: the drift goes with the square of the swing."""
    unit = with_arm(0.56)
    stop = math.radians(5.0)
    short = replace(unit, main_links=replace(unit.main_links, stop_up=stop, stop_down=-stop))
    assert drift_range(short, 0.04)[1] < 0.5 * drift_range(unit, 0.04)[1]


def test_no_unit_of_the_library_is_told_of():
    made = [load_unit(entry.name) for entry in library("unit")] + [load(entry.name) for entry in library()]
    made += [load_paddock(entry.name) for entry in library("paddock")]
    assert len(made) > 16
    assert not [text for each in made for text in each.warnings if WARNED in text]


@pytest.fixture
def files(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    rough = 'roughness = { class = "none" }\n'
    (tmp_path / "longer.toml").write_text(f'title = "Longer arm"\n[ground]\nlength_m = 10\n{rough}{LONGER}')
    (tmp_path / "digs.csv").write_text(
        "row,depth_mm\n" + "".join(f"{r},{40 + i}\n" for r in (1, 2, 3) for i in range(4))
    )
    paddock = f'title = "P"\n[passes]\nlength_m = 20\ncount = 1\n[ground]\n{rough}{LONGER}'
    (tmp_path / "p.toml").write_text(paddock)


COMMANDS = {
    "run": ["run", "longer.toml"],
    "draw": ["draw", "longer.toml"],
    "pressures": ["pressures", "longer.toml"],
    "explain": ["explain", "longer.toml"],
    "disc": ["disc", "longer.toml", "--strengths", "1", "--diameters", "500", "--depths", "40"],
    "modes": ["modes", "longer.toml"],
    "press": ["press", "longer.toml", "--seeds", "1", "--notches", "0", "--speeds", "8"],
    "level": ["level", "digs.csv", "--unit", "longer.toml"],
    "window": ["window", "longer.toml", "--seeds", "1", "--pressures", "40", "--speeds", "8"],
}


@every("name", list(COMMANDS))
def test_every_screen_and_document_tells_of_it_once(name, files, capsys):
    assert main(COMMANDS[name]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert told.count("no parallelogram beside") == 1
    assert main([*COMMANDS[name], "--json"]) == 0
    document = capsys.readouterr().out
    assert "no parallelogram beside" in document
    assert json.loads(document)


def test_a_paddock_tells_of_it(files):
    assert [text for text in load_paddock("p.toml").warnings if WARNED in text]


def test_the_page_tells_of_it(files, tmp_path, capsys):
    words = ["report", "longer.toml", "--out", "page.html", "--seeds", "1", "--pressures", "40", "--speeds", "8"]
    assert main(words) == 0
    assert "no parallelogram beside" in (tmp_path / "page.html").read_text(encoding="utf-8")


def test_every_point_of_a_unit_says_what_it_counts_from_and_which_way():
    points = [(path, key) for path, key in walk(ROOT) if key.kind == "pair" and path[:1] == ("unit",)]
    assert len(points) == 10
    for _, key in points:
        assert key.doc.endswith(", x forward, z up"), key.name
        assert ": [x, z] from the " in key.doc, key.name
        assert key.doc in starter_text("any")
