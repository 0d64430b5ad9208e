"""Screens of 80 columns: tables stay tables (a table too wide is told row by row, dozens of lines long)."""

import pytest
from every import every

from analysis.cli.main import main

SCREENS = {
    "pressures": (["pressures", "rough"], "oil kgf: mid bottom top"),
    "disc": (["disc", "rough"], "By diameter torque N m margin"),
    "press": (["press", "smooth", "--seeds", "1", "--speeds", "8", "--notches=-3:3:2"], "notch load, N SD"),
    "run": (["run", "stony", "--details"], "Pin loads, kN peak RMS mean"),
    "draw": (["draw", "rough"], "x forward, z up"),
    "verify": (["verify", "smooth"], "ok depth, default step"),
    "level": (["level", "digs.csv", "--unit", "rough"], "row digs depth off mm"),
    "new": (["new", "mine"], "mine.toml written"),
    "library": (["library"], "Scenarios"),
}


@pytest.fixture
def narrow(monkeypatch, tmp_path):
    monkeypatch.setenv("COLUMNS", "80")
    monkeypatch.chdir(tmp_path)
    digs = [f"{row},{40 + (row % 5) * (1 if row < 5 else 3) + i % 4}" for row in range(1, 13) for i in range(8)]
    (tmp_path / "digs.csv").write_text("\n".join(["row,depth_mm", *digs]))


@every("name", list(SCREENS))
def test_a_screen_of_80_columns_holds_it(name, narrow, capsys):
    words, part = SCREENS[name]
    assert main(words) == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line for line in lines if len(line) > 80] == []
    assert [line for line in lines if part in " ".join(line.split())] != []


def test_grounds_are_not_called_seeds(narrow, capsys):
    assert main(["press", "rough", "--seeds", "2", "--speeds", "8", "--notches", "0"]) == 0
    out = capsys.readouterr().out
    assert "grounds" in out
    assert "seed" not in out
