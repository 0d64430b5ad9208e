"""Files held by others, as every system does it: the lock of a process that lives, files open elsewhere."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import paddocks
import pytest
from filelock import FileLock
from interrupted import half_done, run

from analysis.paddock.passes import executors
from analysis.paddock.store_parts import parts_folder

ROOT = Path(__file__).parents[2]


HOLDS = """
import sys
from pathlib import Path
from analysis.paddock.batch import _about
from analysis.paddock.fingerprint import fingerprint
from analysis.paddock.store_parts import Parts
from scenarios.paddock.load import load_paddock
paddock = load_paddock(Path(sys.argv[1]))
with Parts(Path(sys.argv[2]), _about(paddock, fingerprint(paddock))):
    print("holds", flush=True)
    sys.stdin.read()
"""


def test_two_at_once_are_refused(made, tmp_path, capsys):
    """The lock of a process that lives is told; with the process it is gone, also when it is killed."""
    path, whole = made
    out = tmp_path / "r.h5"
    half_done(path, out)
    with subprocess.Popen(
        [sys.executable, "-c", HOLDS, str(path), str(out)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        encoding="utf-8", env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as other:  # fmt: skip
        assert other.stdout is not None
        assert other.stdout.readline() == "holds\n"
        code, said = run(capsys, path, out)
        other.kill()
    assert code == 2
    assert "another rowbench is writing there" in said
    assert len(list(parts_folder(out).glob("pass-*.npz"))) == 2
    assert run(capsys, path, out)[0] == 0
    assert out.read_bytes() == whole


def test_a_lock_of_the_same_process_is_told_too(made, tmp_path, capsys):
    path, _ = made
    out = tmp_path / "r.h5"
    half_done(path, out)
    with FileLock(parts_folder(out) / "lock"):
        code, said = run(capsys, path, out)
    assert code == 2
    assert "another rowbench is writing there" in said


@pytest.mark.parametrize("kind", ["symlink_to", "hardlink_to"])
def test_a_lock_that_is_a_link_empties_nothing(made, tmp_path, capsys, kind):
    path, whole = made
    out, letter = tmp_path / "r.h5", tmp_path / "letter.txt"
    letter.write_text("dear", encoding="utf-8")
    parts_folder(out).mkdir()
    lock = parts_folder(out) / "lock"
    getattr(lock, kind)(letter)
    code, said = run(capsys, path, out)
    assert code == 2
    assert f"{lock}: a link to another file; allowed:" in said
    assert letter.read_text(encoding="utf-8") == "dear"
    lock.unlink()
    assert run(capsys, path, out)[0] == 0
    assert out.read_bytes() == whole


def test_a_folder_that_cannot_be_flushed_is_no_fault(made, tmp_path, capsys, monkeypatch):
    """Windows opens no folders."""
    path, whole = made
    opens = os.open

    def no_folders(name, *more, **named):
        if Path(name).is_dir():
            raise PermissionError(13, "Permission denied")
        return opens(name, *more, **named)

    monkeypatch.setattr(os, "open", no_folders)
    assert run(capsys, path, tmp_path / "r.h5")[0] == 0
    assert (tmp_path / "r.h5").read_bytes() == whole


@pytest.mark.parametrize("where", ["pass-", ".joined"])
def test_a_file_that_is_held_open_for_a_moment_is_waited_for(made, tmp_path, capsys, monkeypatch, where):
    path, whole = made
    replaces, refused, waits = os.replace, [], []

    def held(source, target):
        if where in str(source) and len(refused) < 3:
            refused.append(source)
            raise PermissionError(13, "Access is denied")
        replaces(source, target)

    monkeypatch.setattr(os, "replace", held)
    monkeypatch.setattr("analysis.storage.safe_write.time.sleep", waits.append)
    assert run(capsys, path, tmp_path / "r.h5")[0] == 0
    assert len(refused) == 3
    assert waits == [0.05, 0.1, 0.2]
    assert (tmp_path / "r.h5").read_bytes() == whole


@pytest.mark.parametrize(("where", "kept", "words"), [("pass-00001", 1, "nothing more can be written there"),
                                                      (".joined", 3, "could not be joined")])  # fmt: skip
def test_a_file_that_stays_held_open_loses_nothing(made, tmp_path, capsys, monkeypatch, where, kept, words):
    path, whole = made
    out = tmp_path / "r.h5"
    replaces = os.replace

    def held(source, target):
        if where in str(source):
            raise PermissionError(13, "Access is denied")
        replaces(source, target)

    with monkeypatch.context() as patched:
        patched.setattr(os, "replace", held)
        patched.setattr("analysis.storage.safe_write.time.sleep", lambda wait: None)
        code, said = run(capsys, path, out)
    assert code == 2
    assert words in said
    assert "the same command" in said
    assert len(list(parts_folder(out).glob("pass-*.npz"))) == kept
    assert list(parts_folder(out).glob(".*")) == []
    assert run(capsys, path, out)[0] == 0
    assert out.read_bytes() == whole


LEAVES = """
import multiprocessing, sys
from pathlib import Path
from analysis.paddock.passes.executors import on_processes
from scenarios.paddock.load import load_paddock
if __name__ == "__main__":
    passes = on_processes(load_paddock(Path(sys.argv[1])), "x", [0] * 1000, 2)
    next(passes)
    print(len(multiprocessing.active_children()), flush=True)
    sys.stdin.read()
"""


def test_worker_processes_end_with_a_parent_that_is_killed(tmp_path):
    script = tmp_path / "leaves.py"
    script.write_text(LEAVES, encoding="utf-8")
    path = paddocks.write(tmp_path)
    with subprocess.Popen(
        [sys.executable, str(script), str(path)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
        encoding="utf-8", env={**os.environ, "PYTHONPATH": str(ROOT)},
    ) as parent:  # fmt: skip
        assert parent.stdout is not None
        assert parent.stdout.readline() == "2\n"
        parent.kill()
        parent.communicate(timeout=20)  # until the last one that could write there is gone


def test_no_more_processes_than_windows_can_wait_for():
    assert executors._at_once(128, "win32") == 61
    assert executors._at_once(128, "linux") == 128
    assert executors._at_once(4, "win32") == 4
