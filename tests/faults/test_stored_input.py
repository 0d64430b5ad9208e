"""Stored results are input: nothing in them is followed to a file, and no place or time is in them."""

from __future__ import annotations

import json
import os
import shutil
import time

import h5py
import paddocks
import pytest
from called import refused
from every import every

from analysis.cli.main import main
from analysis.paddock.batch import run_batch
from analysis.paddock.store_parts import parts_folder
from analysis.paddock.table import load_table
from analysis.storage import trial
from analysis.storage.run_table import load_run_inputs
from analysis.storage.sealed import BrokenSeal, check_seal, seal, sealed, unsealed
from analysis.storage.stored_scenario import stored_scenario
from scenarios.format.errors import ScenarioError
from scenarios.load import load

UNIT = '[unit]\nbase = "demo"\n[unit.carrier]\nmass_kg = 97\n[search]\npressures_bar = [41, 42]\n'
TEXT = 'title = "Small & <b>bold</b>"\n[unit]\nbase = "my/unit.toml"\n[ground]\nlength_m = 8\nseed = 5\n'
TEXT += 'roughness = { class = "D" }\n'


def written(folder):
    """A scenario whose unit lies in a file of its own, in a folder."""
    (folder / "my").mkdir(parents=True)
    (folder / "my" / "unit.toml").write_text(UNIT, encoding="utf-8")
    (folder / "small.toml").write_text(TEXT, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def kept(tmp_path_factory):
    """A stored run whose files are gone since."""
    folder = tmp_path_factory.mktemp("kept")
    written(folder / "a")
    assert main(["run", str(folder / "a" / "small.toml"), "--save", str(folder / "small.h5")]) == 0
    scenario = load(folder / "a" / "small.toml")
    shutil.rmtree(folder / "a")
    return folder / "small.h5", scenario


@pytest.fixture
def changed(kept, tmp_path):
    """edit(file) → a copy of the stored run, edited and sealed again as by a forger."""

    def make(edit):
        path = tmp_path / "changed.h5"
        shutil.copyfile(kept[0], path)
        with h5py.File(path, "r+") as file:
            edit(file)
        seal(path)
        return path

    return make


def replace(name, text):
    def edit(file):
        del file[name]
        file[name] = text

    return edit


def test_texts_in_the_file_suffice_for_a_unit_of_its_own(kept):
    path, scenario = kept
    again = stored_scenario(path, {})
    assert again.unit.carrier.mass == 97.0
    assert (again.unit, again.search, again.limits) == (scenario.unit, scenario.search, scenario.limits)
    assert again.search.pressures == (41e5, 42e5)
    assert load_run_inputs(path).source == scenario.source


def test_the_same_run_gives_the_same_bytes_anywhere_and_later(tmp_path):
    files = []
    for name in ("one", "another"):
        folder = written(tmp_path / name)
        lines = "".join(f"{0.1 * k:.2f},{0.01 * (k % 7):.5f}\n" for k in range(120))
        (folder / "line.csv").write_text("distance_m,height_m\n" + lines, encoding="utf-8")
        given = ["run", str(folder / "small.toml"), "--profile", str(folder / "line.csv")]
        assert main([*given, "--save", str(folder / "r.h5")]) == 0
        files.append((folder / "r.h5").read_bytes())
        time.sleep(1.1)
    assert files[0] == files[1]
    assert str(tmp_path).encode() not in files[0]


def test_the_same_paddock_gives_the_same_bytes_anywhere_and_later(tmp_path):
    files = []
    for name in ("one", "another"):
        (tmp_path / name).mkdir()
        paddock = paddocks.small(tmp_path / name, {"passes": "count = 1\nlength_m = 5\nsection_m = 5"})
        run_batch(paddock, tmp_path / name / "r.h5", workers=1)
        files.append((tmp_path / name / "r.h5").read_bytes())
        time.sleep(1.1)
    assert files[0] == files[1]
    assert str(tmp_path).encode() not in files[0]


@every("name", ["../../pyproject", "/tmp/x", "..", "a" * 900, "C:\\x", "a/b"])
def test_a_name_is_no_path(changed, tmp_path, monkeypatch, name):
    (tmp_path / "deep" / "er").mkdir(parents=True, exist_ok=True)
    monkeypatch.chdir(tmp_path / "deep" / "er")
    path = changed(lambda file: file["inputs"].attrs.__setitem__("scenario", name))
    before = sorted(tmp_path.rglob("*"))
    assert stored_scenario(path, {}).name == name
    assert sorted(tmp_path.rglob("*")) == before


@every("given", [
    ("inputs/scenario_toml", TEXT.replace("[ground]", '[ground]\nprofile = { file = "/etc/passwd" }'), "not kept"),
    ("inputs/scenario_toml", "x = ", "not TOML"),
    ("inputs/taken_over", json.dumps({"unit": [["x", "y ="]], "soil": []}), "not TOML"),
    ("inputs/taken_over", json.dumps({"unit": "/etc/passwd", "soil": []}), "a list"),
    ("inputs/taken_over", "[" * 5000, "no JSON"),
    ("inputs/parameters_si", '{"unit": NaN}', "no JSON"),
])  # fmt: skip
def test_texts_that_lead_elsewhere_are_refused(changed, given):
    name, text, said = given
    with pytest.raises(ScenarioError, match=said):
        stored_scenario(changed(replace(name, text)), {})


@every("dotted", ["ground.profile.file", "unit.base", "title", "limits.x", "x"])
def test_changes_name_no_files(changed, dotted):
    text = json.dumps({dotted: "/etc/passwd"})
    path = changed(lambda file: file["inputs"].attrs.__setitem__("changes", text))
    with pytest.raises(ScenarioError, match="a key that no option sets"):
        stored_scenario(path, {})


def test_a_flipped_bit_is_told_and_another_programs_file_too(kept, tmp_path, capsys):
    data = bytearray(kept[0].read_bytes())
    data[len(data) // 3] ^= 4
    (tmp_path / "bit.h5").write_bytes(data)
    said = refused(capsys, "report", tmp_path / "bit.h5", "--out", tmp_path / "p.html")
    assert "the checksum at its end is not that of its bytes" in said
    with h5py.File(tmp_path / "other.h5", "w") as file:
        file["x"] = [1.0]
    said = refused(capsys, "report", tmp_path / "other.h5", "--out", tmp_path / "p.html")
    assert "no checksum of rowbench" in said
    assert not (tmp_path / "p.html").exists()


def test_what_is_no_file_is_refused_at_once(tmp_path):
    (tmp_path / "folder.h5").mkdir()
    places = [tmp_path / "folder.h5", tmp_path / ("x" * 300 + ".h5")]
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe.h5")
        places.append(tmp_path / "pipe.h5")
    for place in places:
        with pytest.raises(ScenarioError, match=r"a folder|a device or a pipe|name too long"):
            load_table(place)


@every("given", [
    ("import os, signal; os.kill(os.getpid(), signal.SIGTERM)", "HDF5 crashes on it"),
    ("import time; time.sleep(60)", "was not done reading it"),
])  # fmt: skip
def test_a_crash_or_a_hang_of_the_library_ends_another_process(kept, tmp_path, monkeypatch, given):
    """The process apart is one that dies or sleeps, as HDF5 may on a crafted file."""
    program, said = given
    (tmp_path / "apart.py").write_text(program, encoding="utf-8")
    monkeypatch.setattr(trial.structure, "__file__", str(tmp_path / "apart.py"))
    monkeypatch.setattr(trial, "PATIENCE", 3.0)
    monkeypatch.setattr(trial, "_sound", set())
    with pytest.raises(ScenarioError, match=said):
        load_run_inputs(kept[0])


def test_a_seal_is_of_all_bytes_before_it(tmp_path):
    data = sealed(b"abc")
    assert unsealed(data) == b"abc"
    for k in range(len(data)):
        with pytest.raises(BrokenSeal):
            unsealed(data[:k] + bytes([data[k] ^ 1]) + data[k + 1 :])
        with pytest.raises(BrokenSeal):
            unsealed(data[:k])
    (tmp_path / "x").write_bytes(b"abc")
    seal(tmp_path / "x")
    assert (tmp_path / "x").read_bytes() == data
    assert data.decode().split()[-1] == check_seal(tmp_path / "x")


def test_foreign_files_beside_finished_passes_stay(tmp_path):
    paddock = paddocks.small(tmp_path, {"passes": "count = 1\nlength_m = 5\nsection_m = 5"})
    out = tmp_path / "r.h5"
    folder = parts_folder(out)
    folder.mkdir()
    for name in ("notes.txt", ".mine.tmp", "pass-1.npz"):
        (folder / name).write_text("mine", encoding="utf-8")
    run_batch(paddock, out, workers=1)
    assert sorted(place.name for place in folder.iterdir()) == [".mine.tmp", "notes.txt", "pass-1.npz"]
    assert load_table(out).name == "small"


def test_a_folder_of_passes_that_is_a_link_is_refused(tmp_path):
    paddock = paddocks.small(tmp_path, {"passes": "count = 1\nlength_m = 5\nsection_m = 5"})
    (tmp_path / "else").mkdir()
    parts_folder(tmp_path / "r.h5").symlink_to(tmp_path / "else", target_is_directory=True)
    with pytest.raises(ScenarioError, match="a link to another folder"):
        run_batch(paddock, tmp_path / "r.h5", workers=1)
    assert list((tmp_path / "else").iterdir()) == []


def test_a_result_with_any_title_and_names_can_be_read(tmp_path):
    """What a scenario file may hold, its own result may hold; ends of lines as on Windows too."""
    odd = r"two\nlines and a tab\t"
    (tmp_path / "my").mkdir()
    (tmp_path / "my" / "unit.toml").write_bytes(UNIT.replace("\n", "\r\n").encode())
    (tmp_path / "odd.toml").write_bytes(TEXT.replace("Small", odd).replace("\n", "\r\n").encode())
    assert main(["run", str(tmp_path / "odd.toml"), "--save", str(tmp_path / "odd.h5")]) == 0
    assert stored_scenario(tmp_path / "odd.h5", {}).unit.carrier.mass == 97.0
    more = f'[[zones]]\nname = "{odd}"\nstart_m = [0, 0]\nend_m = [3, 1]\n'
    path = paddocks.write(tmp_path, {"passes": "count = 1\nlength_m = 5\nsection_m = 1"}, more)
    path.write_text(path.read_text(encoding="utf-8").replace("Test paddock", odd), encoding="utf-8")
    assert main(["paddock", str(path), "--out", str(tmp_path / "r.h5"), "--workers", "1"]) == 0
    assert main(["paddock", str(tmp_path / "r.h5")]) == 0


def test_markup_in_a_stored_text_is_text_on_the_page(tmp_path):
    more = '[[zones]]\nname = "</script><script>alert(1)</script>"\nstart_m = [0, 0]\nend_m = [3, 1]\n'
    tables = {"passes": "count = 1\nlength_m = 5\nsection_m = 1"}
    path = paddocks.write(tmp_path, tables, more)
    assert main(["paddock", str(path), "--out", str(tmp_path / "r.h5"), "--workers", "1"]) == 0
    assert main(["report", str(tmp_path / "r.h5"), "--out", str(tmp_path / "p.html")]) == 0
    page = (tmp_path / "p.html").read_text(encoding="utf-8")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert(1)" in page
