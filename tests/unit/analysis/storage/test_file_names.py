"""Names of files: what Windows keeps, as Python's library knows it; what is handed on; what would be one file."""

from __future__ import annotations

import ntpath
import warnings
from pathlib import Path, PureWindowsPath

from every import every

from analysis.storage import file_names
from analysis.storage.file_names import clashes, fitting, name_fault, windows_refuses
from analysis.storage.safe_write import output_fault

NAMES = ["map.png", "CON", "con.png", "nul.tar.gz", "AUX .png", "com1.h5", "COM¹", "lpt9.", "LPT0", "com10.png",
         "conin$", "console.png", "a:b.png", "a?.png", 'a"b', "a<b>", "a|b", "a*", "tab\t.png", "end.", "end ", "a.b.c",
         "Äcker.h5", "- rows.svg", ".hidden.png"]  # fmt: skip


def reserved(name: str) -> bool:
    """As Python's library has it; before 3.13 it knew the devices only."""
    if hasattr(ntpath, "isreserved"):
        return ntpath.isreserved(name)
    strange = any(mark in '<>:"|?*' or mark < " " for mark in name) or name[-1] in ". "
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        return strange or PureWindowsPath(name).is_reserved()


def test_windows_refuses_what_pythons_library_calls_reserved():
    assert {name: windows_refuses(name) is not None for name in NAMES} == {name: reserved(name) for name in NAMES}


def test_the_name_that_is_proposed_can_be_had():
    proposed = {name: fitting(name) for name in NAMES}
    assert {name: fit for name, fit in proposed.items() if windows_refuses(fit) or not fit} == {}
    assert {fit for name, fit in proposed.items() if not reserved(name)} == {n for n in NAMES if not reserved(n)}


def test_here_such_a_name_is_good(tmp_path):
    assert output_fault(tmp_path / "wet:dry.png", "--figure", (".png",)) is None


def test_on_windows_it_is_told_with_another(tmp_path, monkeypatch):
    monkeypatch.setattr(file_names, "ON_WINDOWS", True)
    said = output_fault(tmp_path / "wet:dry.png", "--figure", (".png",))
    assert said is not None
    assert 'on Windows no name holds ":"' in said
    assert "wet_dry.png" in said
    assert '"aux" is a device' in (output_fault(tmp_path / "aux.png", "--figure", (".png",)) or "")
    assert output_fault(tmp_path / "dry.png", "--figure", (".png",)) is None


def test_a_page_to_hand_on_has_a_name_for_every_system(tmp_path):
    said = output_fault(tmp_path / "North: 2.html", "--out", (".html",))
    assert said is not None
    assert "as the page is to be handed on" in said
    assert "North_ 2.html" in said
    assert output_fault(tmp_path / "North 2.html", "--out", (".html",)) is None
    assert list(tmp_path.iterdir()) == []


@every("name", ["a" * 300 + ".png", "a\0b.png"])
def test_a_name_that_this_system_does_not_take(tmp_path, name):
    said = output_fault(tmp_path / name, "--figure", (".png",))
    assert said is not None
    assert "which no file can be called here" in said
    assert 'result.png"' in said


def test_a_path_too_long_for_windows_is_told_where_it_fails(tmp_path, monkeypatch):
    monkeypatch.setattr(file_names, "ON_WINDOWS", True)
    folder = tmp_path / ("a" * 120) / ("b" * 120)
    folder.mkdir(parents=True)

    def fails(path, *more, **named):
        raise FileNotFoundError(2, "No such file or directory")

    assert output_fault(folder / "map.png", "--map", (".png",)) is None  # long paths are switched on
    monkeypatch.setattr(Path, "open", fails)
    said = output_fault(folder / "map.png", "--map", (".png",))
    assert said is not None
    assert f"the whole path has {len(str(folder / 'map.png'))} characters, and Windows takes 259" in said


def test_outputs_that_are_one_file(tmp_path, monkeypatch):
    (tmp_path / "sub").mkdir()
    monkeypatch.chdir(tmp_path)
    once = {"--map": Path("m.png"), "--rows": Path("r.png"), "--csv": Path("m.csv")}
    assert clashes(once) == []
    (said,) = clashes({**once, "--settings": Path("sub/../m.png")})
    assert said.startswith("--settings: given")
    assert "the file of --map" in said
    assert 'm_2.png"' in said


def test_capitals_make_another_file_where_the_folder_says_so(tmp_path, monkeypatch):
    """Tried out in the folder; the file system here tells them apart, that of a stick for Windows is imitated."""
    outputs = {"--map": tmp_path / "map.png", "--rows": tmp_path / "Map.PNG"}
    assert clashes(outputs) == []
    exists = Path.exists
    monkeypatch.setattr(Path, "exists", lambda path: exists(path) or exists(path.with_name(path.name.lower())))
    (said,) = clashes(outputs)
    assert "--rows: given" in said
    assert list(tmp_path.iterdir()) == []


def test_a_fault_only_of_the_name(tmp_path):
    assert name_fault(tmp_path / "none" / "a.png", "--figure") is None
    assert name_fault(tmp_path / "a.png" / "b.png", "--figure") is None
