"""`rowbench report` on stored results: a run's page, a whole paddock's page, files that are neither."""

from __future__ import annotations

import base64
import html
import json
import re
from datetime import date

import h5py
import paddocks
import pytest
from called import refused

from analysis.cli.main import main
from analysis.paddock.store_parts import parts_folder
from analysis.paddock.summary import setting_dict, summarise
from analysis.paddock.table import load_table
from analysis.paddock.words import zones_sentence
from analysis.report.paddock import paddock_page
from analysis.report.paddock_assumptions import GIVEN_HERE, paddock_assumptions, rebuilt
from analysis.storage.sealed import seal
from scenarios.paddock.load import load_paddock
from sim.unit import Unit

DAY = date(2026, 1, 31)
ZONE = '[[zones]]\nname = "low & <wet>"\nstart_m = [0, 0]\nend_m = [10, 2.5]\nstrength_MPa = 1.6'
UNIT = "[unit.carrier]\nmass_kg = 101"
RUN = 'title = "Run"\n[ground]\nlength_m = 12\nseed = 5\nroughness = { class = "C" }\n'
RUN += "[limits]\non_depth_share_min = 0.1\nwheel_off_share_max = 0.9\ngauge_load_max_N = 5000\n"
RUN += "precharge_share_max = 100\ngas_squeeze_max = 100\n"  # a pick is found
RUN += "[settings]\nprecharge_bar = 33\n"  # suits the oil pressures of GRID
GRID = ["--pressures", "55:65:2", "--speeds", "7:8:2", "--seeds", "1"]


@pytest.fixture(scope="module")
def stored(tmp_path_factory):
    """A small paddock, computed by the command → its file, its result."""
    folder = tmp_path_factory.mktemp("paddock")
    path = paddocks.write(folder, more=f"{ZONE}\n{UNIT}")
    assert main(["paddock", str(path), "--out", str(folder / "small.h5"), "--workers", "1"]) == 0
    return path, folder / "small.h5"


@pytest.fixture(scope="module")
def summary(stored):
    return summarise(load_table(stored[1]))


@pytest.fixture(scope="module")
def page(summary):
    return paddock_page(summary, DAY)


@pytest.fixture
def place(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def words(page):
    """What a reader reads: markup taken out, white space made one."""
    body = re.sub(r"<(style|script)>.*?</\1>", " ", page, flags=re.DOTALL)
    return html.unescape(re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", body)))


def fault_of(capsys, *given):
    return refused(capsys, "report", *given)


def test_the_command_writes_the_page_of_a_paddock(stored, place, capsys):
    capsys.readouterr()
    assert main(["report", str(stored[1]), "--out", "page.html", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert found["size_bytes"] == (place / "page.html").stat().st_size < 3e6
    assert found["paddock"] == "small"
    assert len(found["settings"]) == 2
    assert [p.name for p in place.iterdir()] == ["page.html"]
    assert main(["report", str(stored[1]), "--out", "page.html"]) == 0
    assert capsys.readouterr().out.startswith("page.html written: ")


def test_the_page_says_what_the_summary_says(page, summary):
    text = words(page)
    for k in range(len(summary.table.settings)):
        s = setting_dict(summary, k)
        said = (f"{s['oil_pressure_bar']:g} {s['speed_kmh']:g} {s['downforce_kgf']:.0f} "
                f"{s['on_depth_share'] * 100:.1f} % {s['area_on_depth_ha']:.2f} ha")  # fmt: skip
        assert said in text
        assert f"{s['pin_peak_N'] / 1e3:.1f} kN" in text
    assert page.count('<tr class="chosen">') == 1
    assert " ".join(zones_sentence(summary).split())[1:].replace("<", "&lt;") in text.replace("<", "&lt;")
    for zone in summary.zones:
        assert f"{zone.on_depth_share * 100:.1f} % {zone.shared * 100:.1f} %" in text
    assert "low & <wet>" in text
    assert "<wet>" not in page
    assert "ground 5" in text
    assert "(ground 5)" not in text
    assert "seed 5" not in text
    assert "rowbench report small.h5 --out page.html" in text
    assert "dry nitrogen only" in text
    assert summary.table.versions["sources"] in text


def test_pictures_are_in_the_page_and_nothing_is_outside(page):
    pictures = re.findall(r'<img src="data:image/png;base64,([^"]+)" width="(\d+)" height="(\d+)" alt="([^"]+)"', page)
    assert len(pictures) == page.count("<img") == 4
    for data, wide, _, said in pictures:
        assert base64.b64decode(data).startswith(b"\x89PNG")
        assert wide == "900"
        assert len(said) > 40
    assert not re.search(r"""(?:src|href)\s*=\s*["'](?!data:|#)""", page)
    assert "http" not in page.replace("http-equiv", "")


def test_the_sheet_comes_first_and_equal_results_give_equal_pages(page, summary, stored):
    assert page.index('class="sheet"') < page.index("<header>")
    assert page == paddock_page(summarise(load_table(stored[1])), DAY)
    later = paddock_page(summary, date(2026, 2, 1))
    assert page != later
    assert page == later.replace("2026-02-01", "2026-01-31")


def test_assumptions_are_those_of_the_paddock_file(stored, summary):
    paddock = load_paddock(str(stored[0]))
    assert rebuilt(Unit, summary.table.inputs["unit"]) == paddock.unit
    groups = dict(paddock_assumptions(summary.table))
    mass = next(row for row in groups["Unit: carrier"] if row.name == "mass")
    assert (mass.value, mass.source) == ("101 kg", GIVEN_HERE)
    assert "Zone: low & <wet>" in groups
    assert next(row for row in groups["Machine"] if row.name == "rows").value == "5"
    assert next(row for row in groups["Roughness of the ground"] if row.name == "letter").value == "D"


def test_too_many_rows_for_the_weight_are_told(tmp_path):
    path = paddocks.write(tmp_path, {"passes": "count = 1\nlength_m = 5\nsection_m = 5",
                                     "ground": "seed = 1"}, "[unit.toolbar]\nmass_kg = 500")  # fmt: skip
    result = tmp_path / "light.h5"
    assert main(["paddock", str(path), "--out", str(result), "--workers", "1"]) == 0
    text = words(paddock_page(summarise(load_table(result)), DAY))
    assert "would be lifted and the downforce not reached" in text
    assert "The paddock has no zones" in text


def test_no_setting_that_meets_the_limits_is_told(stored, tmp_path):
    strict = tmp_path / "strict.h5"
    strict.write_bytes(stored[1].read_bytes())
    with h5py.File(strict, "r+") as file:
        limits = json.loads(file["inputs/limits_si"][()])
        del file["inputs/limits_si"]
        file["inputs"].create_dataset("limits_si", data=json.dumps({**limits, "on_depth_share_min": 0.9999}))
    seal(strict)
    text = words(paddock_page(summarise(load_table(strict)), DAY))
    assert "No setting to use: none of those tried meets every limit." in text
    assert "No setting tried meets every limit, so none is to be set" in text
    assert "fails least (not to be set)" in text
    assert "Hours of work" not in text  # nor any other line of what to set
    assert "Nitrogen precharge" not in text
    assert "all met" not in text


def test_a_run_shows_its_own_setting_as_the_present_one(place, capsys):
    (place / "run.toml").write_text(RUN)
    assert main(["run", "run.toml", "--pressure", "72", "--speed", "9", "--save", "kept.h5"]) == 0
    (place / "run.toml").unlink()
    capsys.readouterr()
    assert main(["report", "kept.h5", *GRID, "--out", "page.html", "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    text = words((place / "page.html").read_text(encoding="utf-8"))
    assert found["size_bytes"] < 3e6
    assert "rowbench report kept.h5 --pressures 55:65:2 --speeds 7:8:2 --seeds 1 --out page.html" in text
    assert re.search(r"pick present setting oil pressure and speed \d\d bar, 8 km/h 72 bar, 9 km/h", text)
    assert "oil pressure 72 bar given in the scenario file" in re.sub(r"oil pressure at the gauge ", "", text)


def test_other_files_are_refused(stored, place, capsys):
    (place / "cut.h5").write_bytes(stored[1].read_bytes()[:5000])
    with h5py.File(place / "other.h5", "w") as file:
        file.attrs["format"] = "tide table"
    with h5py.File(place / "hollow.h5", "w") as file:
        file.attrs["format"], file.attrs["format_version"] = "rowbench paddock", 2
    with h5py.File(place / "newer.h5", "w") as file:
        file.attrs["format"], file.attrs["format_version"] = "rowbench paddock", 99
    for name in ("other", "hollow", "newer"):
        seal(place / f"{name}.h5")
    assert "damaged or no HDF5 file" in fault_of(capsys, "cut.h5", "--out", "p.html")
    (place / "bare.h5").write_bytes(stored[1].read_bytes()[:-1])
    assert "no checksum of rowbench" in fault_of(capsys, "bare.h5", "--out", "p.html")
    assert "HDF5 of another kind" in fault_of(capsys, "other.h5", "--out", "p.html")
    assert "missing" in fault_of(capsys, "hollow.h5", "--out", "p.html")
    assert "format version 99" in fault_of(capsys, "newer.h5", "--out", "p.html")
    both = fault_of(capsys, "none.h5", "--out", "p.txt")
    assert "there is no such file" in both
    assert "a file ending in .html" in both
    assert not (place / "p.html").exists()


def test_a_search_cannot_be_asked_of_a_paddock(stored, capsys):
    for option in (["--seeds", "2"], ["--profile", "a.csv"], ["--workers", "2"], ["--speeds", "7:8:2"]):
        told = fault_of(capsys, stored[1], "--out", "p.html", *option)
        assert "the settings stored in it" in told


def test_a_paddock_that_was_stopped_says_how_far_it_is(place, capsys):
    folder = parts_folder(place / "half.h5")
    folder.mkdir()
    about = {"format_version": 1, "fingerprint": "x", "name": "half", "versions": {}, "passes": 6}
    (folder / "about.json").write_text(json.dumps(about))
    told = fault_of(capsys, "half.h5", "--out", "p.html")
    assert "0 of 6 passes of half" in told
