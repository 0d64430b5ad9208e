"""A desk that has nothing of POSIX, and a console that cannot show every sign: everything imports and works."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import paddocks
import pytest

from analysis.cli.main import main

ROOT = Path(__file__).parents[2]
SHORT = 'title = "Short"\n[ground]\nlength_m = 6\nroughness = { class = "C" }\n'


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """Paths of Windows' users: a space, a letter that is not ASCII."""
    made = tmp_path_factory.mktemp("desk") / "My Päddocks"
    made.mkdir()
    return made


@pytest.fixture(scope="module")
def found(folder):
    """What the process without POSIX says; its streams are those of a Western European console."""
    path, short = paddocks.write(folder), folder / "short.toml"
    short.write_text(SHORT, encoding="utf-8")
    script = ROOT / "tests" / "support" / "desk_without_posix.py"
    done = subprocess.run(
        [sys.executable, "-W", "error", str(script), str(folder), str(path), str(short)],
        capture_output=True, encoding="cp1252", timeout=300, check=False, cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "cp1252"},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "Traceback" not in done.stderr
    return json.loads(done.stdout.splitlines()[-1])


def test_every_module_is_imported(found):
    assert found["failed"] == {}
    assert found["not_hidden"] == []
    assert found["modules"] > 200


def test_paddock_run_report_and_window_come_to_their_end(found, folder):
    assert found["codes"] == dict.fromkeys(("threads", "processes", "run", "report", "window"), 0)
    assert sorted(path.name for path in folder.iterdir()) == [
        "page.html", "processes.h5", "run.h5", "run.png", "short.toml", "small.toml", "threads.h5",
    ]  # fmt: skip


def test_the_result_is_the_same_byte_for_byte(found, folder):
    assert found["codes"]["processes"] == 0
    assert main(["paddock", str(folder / "small.toml"), "--out", str(folder / "here.h5")]) == 0
    here = (folder / "here.h5").read_bytes()
    assert (folder / "threads.h5").read_bytes() == here
    assert (folder / "processes.h5").read_bytes() == here
