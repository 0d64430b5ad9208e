"""Killed at any moment, also in the middle of a write: nothing finished is lost, and the result is the same."""

from __future__ import annotations

import itertools
import json
import os
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
    done = subprocess.run(command, capture_output=True, encoding="utf-8", cwd=ROOT, timeout=300, check=False,
                          env={**os.environ, "PYTHONPATH": str(ROOT)})  # fmt: skip
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


def test_twenty_random_kills_then_the_same_bytes(found):
    assert found["random"]["died"] == KILLS
    assert found["random"]["equal"]


def test_what_was_finished_stays(found):
    """In a run that is killed again and again each death leaves at least what the one before left."""
    runs = found["random"]["left"]
    assert sum(len(left) for left in runs) == KILLS
    assert max(max(left, default=0) for left in runs) > 0
    assert [left for left in runs if any(b < a for a, b in pairwise(left))] == []
    anew = [a for a, b in pairwise(itertools.chain(*runs)) if b < a]
    assert len(anew) <= 5  # most die early, so that runs go on from what others left


def test_killed_at_every_stage_of_a_write(found):
    staged = found["staged"]
    assert len(staged) == 20
    assert [name for name, result in staged.items() if not result["equal"]] == []
    assert sum(result["died"] for result in staged.values()) >= 18
