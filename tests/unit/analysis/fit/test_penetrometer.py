"""Pushes along made-up fields: what stands for them is expected where it lies, and varies as it is said to."""

from __future__ import annotations

import numpy as np
import pytest
from invented_readings import pushed

from analysis.fit.expected.of_standing import LengthOfCone, cone_parts
from analysis.fit.expected.view import View
from analysis.fit.reading.groups import groups_of
from analysis.fit.unknowns import Trial
from scenarios.doubt.varied import with_values
from scenarios.load import load

FIELDS = 200


@pytest.fixture(scope="module")
def residuals():
    """Standardised, (fields, parts)."""
    file = load("rough", changes={"ground.length_m": 60})
    found = []
    for number in range(FIELDS):
        rng = np.random.default_rng(number)
        values = {"strength_scatter": rng.uniform(0.1, 0.35), "strength_length": rng.uniform(0.5, 2.0)}
        truth = with_values(file, values)
        view = View(Trial(truth, 1.2, {}, 1.7), {}, {}, 60.0)
        parts = cone_parts(groups_of(pushed(truth, 20, 1.2, rng))[0])
        found.append([(part.observed - part.predict(view)) / part.variance(view) ** 0.5 for part in parts])
    return np.array(found)


def test_mean_scatter_and_length_are_expected_where_they_lie(residuals):
    assert residuals.mean(axis=0) == pytest.approx(np.zeros(3), abs=0.25)


def test_they_vary_as_said(residuals):
    assert residuals.std(axis=0) == pytest.approx(np.ones(3), abs=0.2)


def test_without_places_they_say_nothing_of_the_length():
    file = load("rough", changes={"ground.length_m": 60})
    readings = [reading.__class__(**{**vars(reading), "at": float("nan")})
                for reading in pushed(file, 20, 1.0, np.random.default_rng(1))]  # fmt: skip
    assert not any(isinstance(part, LengthOfCone) for part in cone_parts(groups_of(readings)[0]))
