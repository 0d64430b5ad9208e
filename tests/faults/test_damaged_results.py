"""Stored results that were damaged on purpose: refused in words, or the same answer; nothing else.

The whole, in some thousand cases and through the commands: python -m tests.damaged 5000 --kinds result passes
"""

from __future__ import annotations

import os
import random

import pytest
from damaged.attempt import FINE
from damaged.harm import HARMS
from damaged.results import ended, harmed, wholes

SEED = 1
EACH = int(os.environ.get("ROWBENCH_DAMAGED", "12"))  # cases of each kind
APART = 2  # of those that start a process each


@pytest.mark.parametrize("harm", HARMS, ids=lambda harm: harm.kind)
def test_a_damaged_result_is_refused_or_says_the_same(harm, tmp_path):
    for number in range(min(EACH, APART) if harm.apart and EACH == 12 else EACH):
        whole = wholes()[number % len(wholes())]
        folder = tmp_path / str(number)
        folder.mkdir()
        path = folder / whole.name
        path.write_bytes(harmed(whole, harm, random.Random(f"{harm.kind} {number} {SEED}")))
        found = ended(whole, harm, path)
        assert found.how in FINE, f"{path}: {found.how} {found.shown}"
        assert os.listdir(folder) == [whole.name]
