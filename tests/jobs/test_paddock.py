"""`rowbench paddock` end to end: compute, go on, summary, figures, exports, choice of setting, faults."""

from __future__ import annotations

import csv
import json
import re
from pathlib import Path

import h5py
import numpy as np
import paddocks
import pytest
from called import refused, text
from every import every
from PIL import Image

from analysis.cli.main import main
from analysis.paddock.store_parts import parts_folder
from scenarios.load import load
from scenarios.paddock.load import load_paddock
from scenarios.paddock.rows import Lanes

PLACED = "count = 2\nlength_m = 20\nsection_m = 5\nlatitude = -33\nlongitude = 148"
ZONE = '[[zones]]\nname = "low"\nstart_m = [0, 0]\nend_m = [10, 2.5]\nstrength_MPa = 1.6'


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    """A small paddock, computed by the command."""
    folder = tmp_path_factory.mktemp("paddock")
    path = paddocks.write(folder, {"passes": PLACED}, ZONE)
    assert main(["paddock", str(path), "--out", str(folder / "r.h5"), "--workers", "1"]) == 0
    return path, folder / "r.h5"


def out_of(capsys, *words) -> str:
    return text(capsys, "paddock", *words)


def fault_of(capsys, *words) -> str:
    return refused(capsys, "paddock", *words)


def test_running_it_again_goes_on_and_says_the_same(done, capsys):
    path, result = done
    stamp = result.stat().st_mtime_ns
    one = out_of(capsys, path, "--out", result)
    assert one == out_of(capsys, path, "--out", result)
    assert result.stat().st_mtime_ns == stamp
    assert one.startswith("Test paddock: 0.01 ha in 2 passes of 5 rows")
    assert out_of(capsys, result, "--summary") == one
    assert not parts_folder(result).exists()


def test_json_is_one_document(done, capsys):
    path, result = done
    found = json.loads(out_of(capsys, path, "--out", result, "--json"))
    assert found == json.loads(out_of(capsys, result, "--summary", "--json"))
    assert found["rows"] == 5
    assert len(found["settings"]) == 2
    assert {zone["name"] for zone in found["zones"]} == {"rest", "low"}


def test_limits_of_the_file_judge_a_result_that_is_there(done, tmp_path, capsys):
    """Other limits need no new computing; the stored ones hold for the result alone."""
    path, result = done
    strict = paddocks.write(tmp_path, {"passes": PLACED, "limits": "on_depth_share_min = 0.999"}, ZONE)
    strict = strict.rename(tmp_path / path.name)
    found = json.loads(out_of(capsys, strict, "--out", result, "--json"))
    assert found["limits"]["on_depth_share_min"] == 0.999
    assert "nearest" in found
    assert json.loads(out_of(capsys, result, "--json"))["limits"]["on_depth_share_min"] == 0.9


def test_figures_and_exports(done, tmp_path, capsys):
    _, result = done
    names = {"--map": "m.png", "--rows": "r.svg", "--settings": "s.pdf", "--csv": "t.csv", "--geojson": "p.geojson"}
    words = [word for option, name in names.items() for word in (option, str(tmp_path / name))]
    out_of(capsys, result, *words)
    with Image.open(tmp_path / "m.png") as picture:
        assert picture.width == 900
    assert (tmp_path / "r.svg").read_text().startswith("<?xml")
    assert (tmp_path / "s.pdf").read_bytes().startswith(b"%PDF")
    with (tmp_path / "t.csv").open() as stream:
        rows = list(csv.DictReader(stream))
    assert len(rows) == 2 * 2 * 5 * 4
    assert float(rows[0]["latitude"]) == pytest.approx(-33.0, abs=1e-3)
    places = json.loads((tmp_path / "p.geojson").read_text())["features"]
    assert len(places) == 2 * 5 * 4
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted(names.values())


def test_another_setting_for_the_map(done, tmp_path, capsys):
    _, result = done
    pictures = []
    for bar in (45, 60):
        out_of(capsys, result, "--map", tmp_path / f"{bar}.png", "--pressure", bar, "--shade", "wheel-off")
        pictures.append((tmp_path / f"{bar}.png").read_bytes())
    assert pictures[0] != pictures[1]
    assert "what was tried: 45, 60; try: 45" in fault_of(capsys, result, "--map", tmp_path / "x.png", "--pressure", 40)
    assert "what was tried: 8" in fault_of(capsys, result, "--map", tmp_path / "x.png", "--speed", 9)
    assert not (tmp_path / "x.png").exists()


def test_all_faults_of_the_options_and_the_file_at_once(tmp_path, capsys):
    path = paddocks.write(tmp_path, {"machine": "rows = 0"})
    said = fault_of(
        capsys, path, "--workers", "x", "--shade", "on-deth", "--map", tmp_path / "a.bmp", "--pressure", "y"
    )
    for word in (
        "no --out",
        '--workers: given "x"',
        "try: on-depth",
        "--map: given",
        '--pressure: given "y"',
        "machine.rows",
    ):
        assert word in said
    assert sorted(p.name for p in tmp_path.iterdir()) == ["small.toml"]


@every(
    ("words", "said"),
    [
        ([], "no FILE"),
        (["two_soil", "--out", "x.h5"], 'try: "two_soils"'),
        (["two_soils", "--out", "x.txt"], "a file ending in .h5 or .hdf5"),
        (["two_soils", "--out", "x.h5", "--summary"], "--summary"),
        (["none.h5"], "there is no such file"),
        (["none.h5", "--out", "y.h5"], "--out, --workers or --cluster with a result"),
        (["two_soils", "--out", "x.h5", "--wrokers", "2"], "--workers"),
    ],
)
def test_faults_of_the_command(tmp_path, monkeypatch, capsys, words, said):
    monkeypatch.chdir(tmp_path)
    assert said in fault_of(capsys, *words)
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_is_no_result(tmp_path, capsys):
    path = tmp_path / "r.h5"
    path.write_text("x")
    assert "damaged or no HDF5 file" in fault_of(capsys, path, "--summary")


def test_geojson_needs_positions(tmp_path, capsys):
    path = paddocks.write(tmp_path, {"passes": "count = 1\nlength_m = 10"})
    result = tmp_path / "r.h5"
    out_of(capsys, path, "--out", result, "--workers", "1")
    assert "no latitudes and longitudes" in fault_of(capsys, result, "--geojson", tmp_path / "x.geojson")
    assert not (tmp_path / "x.geojson").exists()


def test_the_librarys_paddock_shows_what_it_says(tmp_path, capsys):
    """The clay rise of `two_soils` wants more pressure than the rest, and rows in the ruts run shallow."""
    text = Path(paddocks.__file__).parents[2] / "scenarios" / "library" / "paddocks" / "two_soils.toml"
    short = text.read_text().replace("count = 6", "count = 2")
    (tmp_path / "two_soils.toml").write_text(short)
    found = json.loads(out_of(capsys, tmp_path / "two_soils.toml", "--out", tmp_path / "r.h5", "--json"))
    zones = {zone["name"]: zone for zone in found["zones"]}
    assert zones["clay rise"]["oil_pressure_bar"] > zones["rest"]["oil_pressure_bar"]
    assert [row["row"] for row in found["row_means"] if row["stands_out"]] == [14, 15, 22, 23]
    assert all(row["apart_mm"] < 0.0 for row in found["row_means"] if row["stands_out"])


def test_a_starter_file(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert "my_field.toml written" in out_of(capsys, "my_field", "--new")
    text = (tmp_path / "my_field.toml").read_text()
    assert 'title = "my field"' in text
    assert "which is there already" in fault_of(capsys, "my_field", "--new")
    assert (tmp_path / "my_field.toml").read_text() == text


HOLE = (
    '[[ground.features]]\nkind = "hump"\nat_m = [10, 0.6]\nheight_mm = -1500\nlength_m = 4\nwidth_m = 3\n'
    '[[zones]]\nname = "far"\nstart_m = [50, 0]\nend_m = [60, 1]\n'
)


@every(
    ("words", "said"),
    [
        (["--geojson", "x.geojson"], "no latitudes and longitudes"),
        (["--pressure", "50"], "what is tried: 45, 60; try: 45"),
        (["--speed", "9", "--pressure", "60"], "what is tried: 8; try: 8"),
        (["--pass", "4", "--row", "1"], '--pass: given "4"; allowed: a whole number, 1 to 3'),
        (["--pass", "1", "--row", "0"], '--row: given "0"; allowed: a whole number, 1 to 5'),
        (["--pass", "1"], "--row: missing"),
        (["--pass", "1", "--row", "1"], "r.h5"),
    ],
)
def test_options_are_checked_before_anything_is_computed(tmp_path, monkeypatch, capsys, words, said):
    monkeypatch.chdir(tmp_path)
    path = paddocks.write(tmp_path)
    assert said in fault_of(capsys, path, "--out", "r.h5", *words)
    assert [p.name for p in tmp_path.iterdir()] == ["small.toml"]


def test_a_row_alone_does_not_write_over_the_paddock(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    path = paddocks.write(tmp_path)
    said = fault_of(capsys, path, "--pass", "1", "--row", "1", "--out", "small.toml")
    assert "would write over small.toml" in said


@pytest.fixture(scope="module")
def failed(tmp_path_factory):
    """A paddock with a hole that no unit gets over, at any setting tried."""
    folder = tmp_path_factory.mktemp("hole")
    path = paddocks.write(folder, {"passes": "count = 1\nlength_m = 20\nsection_m = 5"}, HOLE)
    assert main(["paddock", str(path), "--out", str(folder / "r.h5"), "--workers", "1"]) == 0
    return path, folder / "r.h5"


def test_a_zone_outside_all_passes_is_said_before_the_work(failed, tmp_path, capsys):
    path, _ = failed
    capsys.readouterr()
    assert main(["paddock", str(path), "--out", str(tmp_path / "r.h5"), "--workers", "1"]) == 0
    out, err = (" ".join(text.split()) for text in capsys.readouterr())
    said = "zone far (x 50 to 60 m, y 0 to 1 m) lies outside all passes"
    assert said in err
    assert said in out.replace("Zone far", "zone far")


def test_where_nothing_could_be_crossed_nothing_is_to_be_set(failed, tmp_path, capsys):
    path, result = failed
    said = " ".join(out_of(capsys, path, "--out", result).split())
    assert "No setting to use: at none of those tried could every row be crossed" in said
    assert "nan" not in said.lower()
    found = json.loads(out_of(capsys, result, "--json"), parse_constant=pytest.fail)
    assert found["nearest"] is None
    names = ("--map", "m.svg", "--rows", "r.svg", "--settings", "s.svg", "--csv", "t.csv")
    out_of(capsys, result, *(str(tmp_path / word) if "." in word else word for word in names))
    text(capsys, "report", result, "--out", tmp_path / "page.html")
    page = (tmp_path / "page.html").read_text()
    assert "No setting to use" in page
    assert " nan" not in page.lower().split("<svg")[0]


def test_the_command_that_is_named_looks_at_the_failed_row_alone(failed, tmp_path, monkeypatch, capsys):
    """It fails there at the same place for the same reason, and its ground is written for other commands."""
    monkeypatch.chdir(tmp_path)
    path, result = failed
    said = " ".join(out_of(capsys, path, "--out", result).split())
    why = r"could not be crossed: (.*?, ([\d.]+) m along the pass)"
    found = re.search(why + r".*?That row alone: rowbench (paddock .*? --out \S+\.toml)", said)
    assert found is not None
    command = found[3].split()
    alone = " ".join(text(capsys, *command).split())
    assert found[1] in alone
    assert sorted(p.suffix for p in tmp_path.iterdir()) == [".csv", ".toml"]
    assert "It may fail there as it stands" in alone
    assert load(command[-1]).settings.oil_pressure == 45e5  # a setting at which it fails


def test_a_row_alone_is_that_of_the_paddock(done, tmp_path, capsys):
    """Its numbers are the paddock's own; the scenario has its ground, its settings and its stones."""
    path, result = done
    out = tmp_path / "row.toml"
    found = json.loads(out_of(capsys, path, "--pass", "2", "--row", "3", "--out", out, "--json"))
    with h5py.File(result) as file:
        share, length = file["on_depth_share"][:, 1, 2], file["section_length"][1]
    assert [s["on_depth_share"] for s in found["settings"]] == pytest.approx(
        list((share * length).sum(1) / length.sum())
    )
    made = load(out)
    assert made.length == pytest.approx(20.0)
    paddock = load_paddock(path)
    assert made.unit == paddock.unit
    assert made.settings.set_depth == paddock.settings.set_depth
    lanes = Lanes(paddock, 1)
    x = np.arange(0.0, 19.9, 0.1)
    track = made.track()
    here = np.interp(x, track.x0 + track.dx * np.arange(track.ground.size), track.ground)
    laid = lanes.row_ground(0, 4000).ground[2]
    there = np.interp(x, lanes.dx * np.arange(laid.size), laid)
    assert here - here.mean() == pytest.approx(there - there.mean(), abs=1e-4)
