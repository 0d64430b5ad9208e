"""`rowbench explain` end to end: text, JSON, files, refusals."""

from __future__ import annotations

import json

import pytest

from analysis.cli.main import main


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_explain_writes_what_it_is_asked_for(folder, capsys):
    words = ["explain", "hump", "--from", "18", "--to", "21", "--figure", "c.png", "--movie", "m.gif", "--json"]
    assert main(words) == 0
    d = json.loads(capsys.readouterr().out)
    assert (d["from_m"], d["to_m"]) == (18.0, 21.0)
    assert d["places"][0]["depth_error_mm"] > 10.0
    assert (folder / "c.png").read_bytes().startswith(b"\x89PNG")
    assert (folder / "m.gif").read_bytes().startswith(b"GIF8")
    assert sorted(p.name for p in folder.iterdir()) == ["c.png", "m.gif"]


def test_explain_takes_other_settings(folder, capsys):
    assert main(["explain", "hump", "--pressure", "70", "--speed", "6", "--figures", "all"]) == 0
    text = capsys.readouterr().out
    assert "70 bar" in text
    assert "· 6 km/h ·" in text
    assert {p.stem for p in (folder / "all").iterdir()} >= {"crossing", "causes", "depth", "gas", "pins", "spectrum"}


def test_all_faults_are_told_at_once_and_nothing_is_written(folder, capsys):
    words = ["explain", "hump", "--from", "x", "--movie", "m.mp4", "--figures", "no/such", "--figure", "c.txt"]
    assert main(words) == 2
    told = capsys.readouterr().err
    assert told.startswith("rowbench: 4 faults:")
    for option in ("--from", "--movie", "--figures", "--figure"):
        assert f"{option}: given" in told
    assert not list(folder.iterdir())


def test_a_stretch_off_the_ground_is_refused(folder, capsys):
    assert main(["explain", "hump", "--from", "30", "--to", "50"]) == 2
    assert "--to: given 50; allowed: 0 to 40 m" in capsys.readouterr().err
    assert main(["explain"]) == 2
    assert "no FILE" in capsys.readouterr().err
