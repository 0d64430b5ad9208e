"""`rowbench design` as a builder would use it: screen, JSON, files that run, faults, Ctrl-C."""

from __future__ import annotations

import json
import sys

import pytest

from analysis.cli.main import INTERRUPTED, main
from analysis.design import search as searching
from analysis.design.judged import Judge
from scenarios.load import load

FIELD = """title = "Mine"
[ground]
length_m = 12
roughness = { class = "D" }
[search]
pressures_bar = [40]
speeds_kmh = [6, 9]
seeds = 1
[limits]
on_depth_share_min = 0.5
gauge_load_max_N = 5000
"""
FREE = ("--free", "settings.precharge_bar=20:28", "--free", "together.arm_m=0.5:0.6")


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "mine.toml").write_text(FIELD, encoding="utf-8")
    return tmp_path


def refused(capsys, *words):
    assert main(["design", "mine.toml", *words]) == 2
    return " ".join(capsys.readouterr().err.split())


def test_the_front_is_told_drawn_and_written_as_files_that_run(capsys, here):
    (here / "front.png").write_bytes(b"an older one")  # figures are written over, as everywhere
    words = ("--tries", "40", "--out", "designs", "--figure", "front.png", "--set", "unit.disc.edge_width_mm=4")
    assert main(["design", "mine.toml", *FREE, *words]) == 0
    text = capsys.readouterr().out
    assert text.startswith("Designs: Mine, with unit.disc.edge_width_mm = 4 in place of 5")
    assert all(len(line) <= 80 for line in text.splitlines())
    files = sorted((here / "designs").iterdir())
    assert files
    assert files[0].name == "design_01.toml"
    for file in files:
        one = load(file)
        assert one.unit.disc.edge_width == 0.004
        assert one.unit.depth_linkage.rod == one.unit.main_links.length
    assert (here / "front.png").read_bytes().startswith(b"\x89PNG")
    assert main(["run", "designs/design_01.toml"]) == 0


def test_its_document(capsys, here):
    assert main(["design", "mine.toml", *FREE, "--tries", "40", "--out", "designs", "--json"]) == 0
    d = json.loads(capsys.readouterr().out)
    assert d["designs_tried"] == d["designs_asked"] == 40
    assert [one["file"] for one in d["front"]] == sorted(file.name for file in (here / "designs").iterdir())
    assert all(one["meets_all_limits"] for one in d["front"])
    assert set(d["front"][0]["values"]) == {"settings.precharge_bar", "together.arm_m", "settings.speed_kmh"}
    assert d["new_seeds"] == [2, 3, 4]


def test_files_that_are_there_are_never_written_over(capsys, here):
    (here / "designs").mkdir()
    (here / "designs" / "mine.txt").write_text("mine", encoding="utf-8")
    assert "has files in it; allowed: a new or an empty folder" in refused(capsys, *FREE, "--out", "designs")
    assert "try: --out designs" in refused(capsys, *FREE, "--out", ".")
    assert [file.name for file in (here / "designs").iterdir()] == ["mine.txt"]


def test_a_folder_that_was_filled_meanwhile_is_left_as_it_is(capsys, here, monkeypatch):
    def filled(whole):
        (here / "designs").mkdir()
        (here / "designs" / "design_01.toml").write_text("mine", encoding="utf-8")
        return own(whole)

    own = searching.evenly
    monkeypatch.setattr(searching, "evenly", filled)
    assert "has files in it" in refused(capsys, *FREE, "--tries", "40", "--out", "designs")
    assert [file.read_text(encoding="utf-8") for file in (here / "designs").iterdir()] == ["mine"]


def test_what_is_missing_is_told_all_at_once(capsys, here, monkeypatch):
    said = refused(capsys)
    assert "no --out" in said
    assert "nothing free" in said
    assert "given 5; allowed: 40 to 20000" in refused(capsys, *FREE, "--out", "d", "--tries", "5").replace('"', "")
    monkeypatch.setitem(sys.modules, "pymoo.algorithms.moo.nsga2", None)
    assert "pip install 'rowbench[design]'" in refused(capsys, *FREE, "--out", "d")
    assert not (here / "d").exists()


def test_ctrl_c_writes_the_front_of_what_was_tried(capsys, here, monkeypatch):
    class Ends(Judge):
        def together(self, points):
            asked.extend(points)
            if len(asked) > 70:
                raise KeyboardInterrupt
            return super().together(points)

    asked = []
    monkeypatch.setattr(searching, "Judge", Ends)
    words = ("--tries", "200", "--out", "designs", "--workers", "1")
    assert main(["design", "mine.toml", *FREE, *words]) == INTERRUPTED
    shown = capsys.readouterr()
    assert "64 of 200 designs were tried: their front stands in designs" in shown.err
    assert "Stopped after 64 of 200 designs" in shown.out
    assert load(min((here / "designs").iterdir()))
