"""Killed at any moment, also in the middle of a write: nothing finished is lost, and the result is the same."""

from __future__ import annotations

import json
import subprocess
import sys
from itertools import pairwise
from pathlib import Path

import paddocks
import pytest

ROOT = Path(__file__).parents[2]
KILLS = 20


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    folder = tmp_path_factory.mktemp("kills")
    machine = "rows = 4\nrow_spacing_m = 0.25\nfront_wheels_m = [0]\nrear_wheels_m = [0]"
    tables = {"machine": machine, "passes": "count = 24\nlength_m = 6\nsection_m = 3"}
    path = paddocks.write(folder, tables, "[stones]\nstones_per_ha = 20000")
    command = [
        sys.executable,
        str(ROOT / "tests" / "support" / "killed_runs.py"),
        str(path),
        str(folder),
        str(KILLS),
        "7",
    ]
    done = subprocess.run(command, capture_output=True, text=True, cwd=ROOT, timeout=300, check=False)
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_twenty_random_kills_then_the_same_bytes(found):
    assert found["random"]["died"] == KILLS
    assert found["random"]["equal"]


def test_what_was_finished_stays(found):
    """Each death leaves at least what the one before left, unless the run had ended between them."""
    left = found["random"]["left"]
    assert len(left) == KILLS
    assert max(left) > 0
    falls = [a for a, b in pairwise(left) if b < a]
    assert all(a >= 1 for a in falls)
    assert len(falls) <= 5


def test_killed_at_every_stage_of_a_write(found):
    staged = found["staged"]
    assert len(staged) == 20
    assert [name for name, result in staged.items() if not result["equal"]] == []
    assert sum(result["died"] for result in staged.values()) >= 18
