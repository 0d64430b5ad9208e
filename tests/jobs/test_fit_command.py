"""`rowbench fit` end to end: what it prints and writes, that its file runs, and what it refuses."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pytest
from invented_readings import Job, Pass, as_csv, brought_home

from analysis.cli.main import main
from analysis.fit.reading.read_measured import read_measured
from scenarios.doubt.varied import with_values
from scenarios.load import load

FILE = """\
title = "Far corner"

[ground]
length_m = 40 # as far as the fence
roughness = { class = "D" }

[search]
pressures_bar = [30, 50]
speeds_kmh = [6, 8]
seeds = 1

[prior]
"""
KEYS = {
    "scenario", "measured", "readings", "fitted", "correlation", "together", "settings", "settings_low_95",
    "settings_high_95", "cone_factor", "residuals", "fit_check", "posterior", "next", "doubt_rests_on", "notes",
    "written", "scenario_warnings", "run",
}  # fmt: skip
IN_DOUBT = ("soil_strength", "roughness", "unit_mass")


def known() -> str:
    """The lines of [prior] by which all values but a few are known."""
    from scenarios.doubt.prior import Prior  # noqa: PLC0415
    from scenarios.format.keys import keys_of  # noqa: PLC0415

    lines = []
    for name, key in keys_of(Prior).items():
        times = key.field.endswith("_times")
        if (times or key.field.endswith("_plus")) and key.field.rpartition("_")[0] not in (*IN_DOUBT, "cone_factor"):
            lines.append(f"{name} = {1 if times else 0}")
    return "\n".join(lines) + "\n"


@pytest.fixture(scope="module")
def folder(tmp_path_factory) -> Path:
    made = tmp_path_factory.mktemp("fit")
    (made / "corner.toml").write_text(FILE + known(), encoding="utf-8")
    file = load(made / "corner.toml")
    truth = with_values(file, {"soil_strength": 0.9e6, "unit_mass": 98.0})
    job = Job([Pass("A", 30, 6, 10), Pass("A", 50, 8, 10, wheel_off=True)], [("gauge", 0.0)], 12)
    readings = brought_home(truth, {"A": 1.7}, job, np.random.default_rng(2))
    (made / "measured.csv").write_text(as_csv(readings), encoding="utf-8")
    return made


@pytest.fixture
def here(folder, monkeypatch):
    monkeypatch.chdir(folder)
    monkeypatch.setenv("COLUMNS", "80")
    return folder


def called(*words: str) -> int:
    return main(["fit", *words])


def test_json_figure_and_a_file_that_runs(here, capsys):
    assert (
        called("corner.toml", "--measured", "measured.csv", "--out", "fitted.toml", "--figure", "fit.png", "--json")
        == 0
    )
    found = json.loads(capsys.readouterr().out)
    assert set(found) == KEYS
    assert set(found["fitted"]) == {"soil.strength_MPa", "ground.roughness.gd_n0_m3", "unit.carrier.mass_kg"}
    one = found["fitted"]["soil.strength_MPa"]
    assert set(one) == {"value", "low_95", "high_95", "before", "prior_low_95", "prior_high_95", "learned"}
    assert one["low_95"] < one["value"] < one["high_95"]
    assert found["readings"] == 20 + 1 + 3 + 12
    assert list(found["settings"]) == ["A"]
    assert 350 < found["settings"]["A"] < 480  # [mm]
    assert set(found["fit_check"]) == {"statistic", "degrees_of_freedom", "p", "says"}
    assert {"what", "reading", "predicted", "sd", "standardised"} <= set(found["residuals"][0])
    assert 1 <= len(found["next"]) <= 3
    assert {"what", "oil_pressure_bar", "speed_kmh", "n", "narrows"} <= set(found["next"][0])
    assert Path("fit.png").stat().st_size > 10_000
    again = load("fitted.toml")
    assert again.soil.strength == pytest.approx(one["value"] * 1e6, rel=1e-5)
    assert "# as far as the fence" in Path("fitted.toml").read_text(encoding="utf-8") or again.length == 40.0
    assert main(["run", "fitted.toml"]) == 0
    assert main(["window", "fitted.toml", "--json"]) == 0


def test_the_screen_tells_what_was_learned_first(here, capsys):
    assert called("corner.toml", "--measured", "measured.csv", "--out", "again.toml") == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    text = "\n".join(lines)
    heads = ["Learned", "Do the readings fit?", "What to measure next", "Written", "rowbench window again.toml"]
    places = [text.index(head) for head in heads]
    assert places == sorted(places)
    assert "oil pressure" in text.split("Before anyone", 1)[1]


def test_a_sheet_to_print_before_anything_was_read(here, capsys):
    """Every kind of job once, each with boxes and a line for the file of readings that `fit` then reads."""
    assert called("corner.toml", "--sheet", "sheet.html", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert set(found) == {"next", "doubt_rests_on", "written", "scenario_warnings"}
    page = Path("sheet.html").read_text(encoding="utf-8")
    assert page.count('<ul class="boxes">') >= len(found["next"]) >= 3
    assert "machine lowered, engine stopped, key out, oil pressure relieved" in page
    assert "rowbench fit corner.toml --measured measured.csv" in page
    assert page.count("Set the depth as you would to sow and call it A") == 1  # one name, one setting
    assert page.count("Leave the depth setting as it was for A") == 1
    assert "<script" not in page
    header = "what,value,oil_pressure_bar,speed_kmh,setting,length_m,at_m,where"
    lines = page.split(header, 1)[1].split("</pre>", 1)[0].split()
    assert {line.split(",")[0] for line in lines} == {one["what"] for one in found["next"]}
    typed = "\n".join([header, *(line.replace("…", "0.5" if "share" in line else "1.5") for line in lines)])
    Path("typed.csv").write_text(typed + "\n", encoding="utf-8")
    assert len(read_measured(Path("typed.csv")).readings) == len(lines)
    Path("typed.csv").unlink()


@pytest.mark.parametrize(
    ("words", "told"),
    [
        ((), "no FILE"),
        (("corner.toml", "--sheet", "x.pdf"), "ending in .html"),
        (("corner.toml", "--sheet", "x.html", "--out", "x.toml"), "given without --measured"),
        (("corner.toml",), "no --measured"),
        (("corner.toml", "--measured", "measured.csv"), "no --out"),
        (("corner.toml", "--measured", "none.csv", "--out", "x.toml"), "there is no such file"),
        (("corner.toml", "--measured", "measured.csv", "--out", "corner.toml"), "a file that is read"),
        (("corner.toml", "--measured", "measured.csv", "--out", "x.csv"), "ending in .toml"),
        (("corner.toml", "--measured", "measured.csv", "--out", "no/x.toml"), "no folder"),
        (("corner.toml", "--measured", "measured.csv", "--out", "x.toml", "--figure", "x.txt"), "ending in .png"),
    ],
)
def test_what_cannot_be_done_is_refused(here, capsys, words, told):
    before = sorted(path.name for path in here.iterdir())
    assert called(*words) == 2
    assert told in capsys.readouterr().err
    assert sorted(path.name for path in here.iterdir()) == before


def test_all_faults_come_in_one_message(here, capsys):
    Path("wrong.csv").write_text("what,value,setting\ndepth_mm,400,A\nwheel,1,A\n", encoding="utf-8")
    assert called("nowhere.toml", "--measured", "wrong.csv", "--out", "x.csv", "--workers", "0") == 2
    told = capsys.readouterr().err
    for part in ("nowhere.toml", "depth_mm 400", '"wheel"', "no oil_pressure_bar", "ending in .toml", "--workers"):
        assert part in told
    Path("wrong.csv").unlink()
