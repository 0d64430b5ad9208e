"""The compiler's runtime is made once and then found, and works the same either way."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[4]
TINY = """
import numpy as np
from sim.arithmetic.compiled import kernel


@kernel
def steps(n):
    found = np.zeros(n)
    for i in range(n):
        found[i] = 2.0 * i
    return found
"""
# what is called from disk, then what is compiled behind it; the last number: how often the runtime was made
CALLED = """
import numpy as np
from numba import njit
from numba.core.runtime import nrtdynmod, rtsys

made, usual = [], nrtdynmod.create_nrt_module
nrtdynmod.create_nrt_module = lambda context: made.append(context) or usual(context)

from tiny import steps
print(steps(4).tolist())
before = rtsys.get_allocation_stats()
for _ in range(3):
    njit(lambda n: np.arange(n) + 1.0)(3)
after = rtsys.get_allocation_stats()
print(njit(lambda n: np.arange(n) + 1.0)(3).tolist(), after.alloc - after.free == before.alloc - before.free)
print(len(made))
"""
ANSWERS = ["[0.0, 2.0, 4.0, 6.0]", "[1.0, 2.0, 3.0] True"]


@pytest.fixture
def called(tmp_path):
    """A process that calls a compiled function → how often it made the runtime, and what it said."""
    (tmp_path / "tiny.py").write_text(TINY, encoding="utf-8")

    def call():
        env = {**os.environ, "NUMBA_CACHE_DIR": str(tmp_path / "code"), "NUMBA_NRT_STATS": "1"}
        env["PYTHONPATH"] = os.pathsep.join([str(ROOT), str(tmp_path)])
        done = subprocess.run([sys.executable, "-c", CALLED], capture_output=True, text=True, env=env, check=False)
        *answers, made = done.stdout.splitlines()
        assert (done.returncode, answers) == (0, ANSWERS), done.stderr
        return int(made), done.stderr

    return call


def files(tmp_path, ending):
    return sorted((tmp_path / "code").rglob(f"runtime/*{ending}"))


def test_it_is_made_once(called, tmp_path):
    assert called() == (1, "")
    assert [len(files(tmp_path, ending)) for ending in (".nbi", ".nbc")] == [1, 1]
    assert called() == (0, "")


@pytest.mark.parametrize("ending", [".nbi", ".nbc"])
def test_a_damaged_one_is_named_and_made_again(called, tmp_path, ending):
    called()
    (file,) = files(tmp_path, ending)
    file.write_bytes(file.read_bytes()[:-1])
    made, said = called()
    assert made == 1
    assert "holds damaged machine code" in said
    assert called() == (0, "")


def test_where_it_cannot_be_kept_it_is_made_each_time(called, tmp_path):
    called()
    for file in files(tmp_path, ""):
        file.unlink()
    (place,) = (tmp_path / "code").rglob("runtime")
    place.rmdir()
    place.write_text("in the way", encoding="utf-8")
    for _ in range(2):
        made, said = called()
        assert made == 1
        assert "machine code cannot be kept there" in said
