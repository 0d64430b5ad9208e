"""Stored results that were damaged on purpose: refused in words, or the same answer; nothing else.

The whole, in some thousand cases: python tests/support/damaged_results.py CASES SEED FOLDER
"""

from __future__ import annotations

import os

import pytest
from damaged_results import CASES, made, tried

SEED = 1
EACH = int(os.environ.get("ROWBENCH_DAMAGED", "12"))  # cases of each kind
APART = 2  # of those that start a process each


@pytest.fixture(scope="module")
def wholes(tmp_path_factory):
    return made(tmp_path_factory.mktemp("whole"))


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.kind)
def test_a_damaged_result_is_refused_or_says_the_same(case, wholes, tmp_path):
    for number in range(min(EACH, APART) if case.apart and EACH == 12 else EACH):
        folder = tmp_path / str(number)
        folder.mkdir()
        path, found = tried(wholes, case, number, SEED, folder)
        assert found.how != "wrong", f"{path}: {found.why}"
