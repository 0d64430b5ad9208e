"""Replacing a file that is open elsewhere, as Windows has it: waited for, then named, and the new one kept."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from analysis.storage import safe_write
from analysis.storage.safe_write import output_fault, replacing
from scenarios.format.errors import ScenarioError


@pytest.fixture
def held(monkeypatch):
    """held(n): the next n calls of os.replace are refused → list of the waits between them."""
    waits: list[float] = []
    replaces = os.replace
    monkeypatch.setattr(safe_write.time, "sleep", waits.append)

    def refuse(count: int) -> list[float]:
        left = [count]

        def replace(source, target):
            if left[0]:
                left[0] -= 1
                raise PermissionError(13, "Access is denied", str(source), None, str(target))
            replaces(source, target)

        monkeypatch.setattr(os, "replace", replace)
        return waits

    return refuse


def test_a_file_held_open_for_a_moment_is_replaced(tmp_path, held):
    path = tmp_path / "map.png"
    path.write_text("old", encoding="utf-8")
    waits = held(5)
    with replacing(path) as place:
        place.write_text("new", encoding="utf-8")
    assert path.read_text(encoding="utf-8") == "new"
    assert waits == list(safe_write.WAITS)
    assert 1.0 < sum(waits) < 3.0
    assert [p.name for p in tmp_path.iterdir()] == ["map.png"]


def test_one_that_stays_open_is_named_and_the_new_one_kept(tmp_path, held):
    path = tmp_path / "map.png"
    path.write_text("old", encoding="utf-8")
    held(10**6)
    with pytest.raises(ScenarioError, match="another program may hold it open") as told, replacing(path) as place:
        place.write_text("new", encoding="utf-8")
    assert path.read_text(encoding="utf-8") == "old"
    (kept,) = [p for p in tmp_path.iterdir() if p != path]
    assert kept.read_text(encoding="utf-8") == "new"
    assert kept.name.startswith("map_")
    assert str(told.value).startswith(f"{path}: cannot be replaced (Access is denied)")
    assert f"the new one is kept as {kept}" in str(told.value)


def test_another_error_is_not_waited_for(tmp_path, held, monkeypatch):
    waits = held(0)

    def other_drive(source, target):
        raise OSError(18, "Invalid cross-device link")

    monkeypatch.setattr(os, "replace", other_drive)
    with pytest.raises(OSError, match="cross-device"), replacing(tmp_path / "a.png") as place:
        place.write_text("new", encoding="utf-8")
    assert waits == []
    assert list(tmp_path.iterdir()) == []


def test_the_temporary_file_lies_on_the_same_drive(tmp_path):
    with replacing(tmp_path / "a.png") as place:
        assert place.parent == tmp_path
        assert place.suffix == ".png"
        place.touch()


def test_a_file_that_is_open_elsewhere_is_told_before_anything_is_computed(tmp_path, monkeypatch):
    path = tmp_path / "map.png"
    assert output_fault(path, "--map", (".png",)) is None
    path.write_text("old", encoding="utf-8")
    assert output_fault(path, "--map", (".png",)) is None

    def held_open(source, target):
        raise PermissionError(13, "The process cannot access the file")

    monkeypatch.setattr(os, "rename", held_open)
    said = output_fault(path, "--map", (".png",))
    assert said is not None
    assert "held open by another program (The process cannot access the file)" in said
    assert "close it there" in said


def test_a_temporary_file_that_cannot_be_removed_hides_no_error(tmp_path, monkeypatch):
    def held_open(path, missing_ok=False):
        raise PermissionError(13, "The process cannot access the file")

    monkeypatch.setattr(Path, "unlink", held_open)
    with pytest.raises(ZeroDivisionError), replacing(tmp_path / "a.png"):
        raise ZeroDivisionError


def test_a_name_that_only_a_stick_cannot_keep(tmp_path, monkeypatch):
    """A stick formatted for Windows, on another system."""

    def refuses(path, *more, **named):
        raise OSError(22, "Invalid argument")

    monkeypatch.setattr(Path, "open", refuses)
    said = output_fault(tmp_path / "wet:dry.png", "--map", (".png",))
    assert said is not None
    assert 'cannot keep (on Windows no name holds ":")' in said
    said = output_fault(tmp_path / "wet.png", "--map", (".png",))
    assert said is not None
    assert "nothing can be written in" in said
