"""`rowbench report` end to end: the page, its JSON, refusals."""

from __future__ import annotations

import json
import re

import pytest

from analysis.cli.main import main

GROUND = 'title = "x"\n[ground]\nlength_m = 10\nroughness = { class = "C" }\n'
EASY = "on_depth_share_min = 0.1\nwheel_off_share_max = 0.9\ngauge_load_max_N = 5000\nprecharge_share_max = 100\n"
EASY += "gas_squeeze_max = 100\n"
GRID = ["--pressures", "55:65:2", "--speeds", "7:8:2", "--seeds", "1"]


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "ground.toml").write_text(GROUND, encoding="utf-8")
    return tmp_path


def test_report_writes_one_page(folder, capsys):
    assert main(["report", "ground.toml", "--out", "page.html", *GRID, "--json"]) == 0
    d = json.loads(capsys.readouterr().out)
    page = (folder / "page.html").read_text(encoding="utf-8")
    assert page.startswith("<!DOCTYPE html>")
    assert d["size_bytes"] == (folder / "page.html").stat().st_size
    assert d["shown"] == {"from_m": 0.0, "to_m": 10.0, "seed": 1}
    assert len(d["pins"]) == 14
    assert "rowbench report ground.toml --pressures 55:65:2 --speeds 7:8:2 --seeds 1 --out page.html" in page
    assert sorted(p.name for p in folder.iterdir()) == ["ground.toml", "page.html"]


def test_report_says_what_it_wrote(folder, capsys):
    assert main(["report", "ground.toml", "--out", "page.html", *GRID]) == 0
    text = capsys.readouterr().out
    assert text.startswith("page.html written: ")
    assert text.endswith("No setting to use: none of those tried meets every limit.\n")
    (folder / "easy.toml").write_text(f"{GROUND}[limits]\n{EASY}", encoding="utf-8")
    assert main(["report", "easy.toml", "--out", "easy.html", *GRID]) == 0
    text = capsys.readouterr().out
    assert re.search(r"Set \d\d bar \(\d+ kgf a row\) at 8 km/h, ", text)
    assert "set depth 40 mm." in text


def test_without_a_place_to_write_nothing_is_computed(folder, capsys):
    assert main(["report", "nosuch"]) == 2
    told = capsys.readouterr().err
    assert "no --out" in told
    assert "nosuch" in told
    assert main(["report", "ground.toml", "--out", "page.txt"]) == 2
    assert "a file ending in .html" in capsys.readouterr().err
    assert sorted(p.name for p in folder.iterdir()) == ["ground.toml"]
