"""A few trials of the proof: what `python -m tests.fit_proof` does by the hundred."""

from __future__ import annotations

import numpy as np
import pytest

from tests.fit_proof.told import told
from tests.fit_proof.trial import trial

TRIALS = (1, 2)


@pytest.fixture(scope="module")
def trials():
    return [trial(number, picks=False, workers=None) for number in TRIALS]


def test_truth_lies_among_what_is_believed(trials):
    """Within 3.5 standard deviations: of 22 values one would lie beyond in one of a hundred such tests."""
    for one in trials:
        away = (np.array(one.z) - one.at) / one.sd
        assert np.abs(away).max() < 3.5
        assert one.p > 1e-3


def test_something_was_learned(trials):
    for one in trials:
        left = dict(zip(one.names, one.sd, strict=True))
        assert left["unit_mass"] < 0.5
        assert left["soil_strength"] < 0.7
        assert max(left.values()) < 1.1


def test_the_table_tells_every_value(trials):
    text = told(trials)
    assert all(name in text for name in trials[0].names)
    assert "2 trials" in text
