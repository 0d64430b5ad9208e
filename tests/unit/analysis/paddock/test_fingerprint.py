"""The digest of the program's own files that tells stored parts of a paddock from those of other code."""

from __future__ import annotations

import shutil

import pytest

from analysis.paddock import fingerprint
from sim.arithmetic import sources

COMPUTES = (
    "analysis/paddock/passes/crossing.py", "analysis/crossing/one_or_eight.py", "analysis/crossing/loads.py",
    "analysis/crossing/peaks.py", "analysis/rows/sums.py", "scenarios/paddock/surface_lines.py",
    "scenarios/ground/synthesis.py", "sim/unit.py", "sim/march/march_rows.py", "sim/toolbar/roll.py",
)  # fmt: skip
TELLS = ("analysis/paddock/words.py", "analysis/window/pick.py", "analysis/cli/main.py", "analysis/present/texts.py")


@pytest.fixture
def copied(tmp_path, monkeypatch):
    """The three packages once more, elsewhere."""
    for package in sources.PACKAGES:
        shutil.copytree(sources.ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(sources, "ROOT", tmp_path)
    yield tmp_path
    fingerprint.versions.cache_clear()


def digest() -> str:
    fingerprint.versions.cache_clear()
    return fingerprint.versions()["sources"]


def test_files_that_decide_numbers_change_it_and_files_that_tell_them_do_not(copied):
    first = digest()
    unlike, alike = [], []
    for name in (*COMPUTES, *TELLS):
        sound = (copied / name).read_bytes()
        (copied / name).write_bytes(sound + b"\n# changed\n")
        (alike if digest() == first else unlike).append(name)
        (copied / name).write_bytes(sound)
    assert (unlike, alike) == (list(COMPUTES), list(TELLS))
    assert digest() == first
