"""Any scenario inside the ranges of its keys is crossed to finite numbers, or refused by a fault with a name.

A long run: PROPERTY_EXAMPLES=3000 python -m pytest tests/physics/test_properties_any.py
"""

from __future__ import annotations

import dataclasses
import json
import re

import numpy as np
import pytest
from any_scenario import documents, few, read
from hypothesis import event, given, note

from analysis.crossing.summary import run_summary
from analysis.crossing.words import run_text
from scenarios.format.errors import ScenarioError
from scenarios.format.tables import walk
from sim.errors import SimulationError
from sim.run import simulate

KEYS = {".".join((*path, key.name)) for path, key in walk()}


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("any")


def crossed(document, folder):
    """The scenario and its run, or the faults that it was refused with."""
    try:
        scenario = read(document, folder)
    except ScenarioError as error:
        return None, None, error.faults
    try:
        return scenario, simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings), ()
    except (SimulationError, ScenarioError) as error:
        return scenario, None, (str(error),)


def check_refused(text: str) -> None:
    """What is allowed, what to try, a key to change, and numbers that are numbers."""
    assert "allowed: " in text, text
    assert "try: " in text, text
    assert any(key in text for key in KEYS) or "ground.features" in text or "stones.placed" in text, text
    assert not re.search(r"\b(nan|inf)\b", text), text


def check_finite(run) -> None:
    for name, values in run.series.items():
        assert np.isfinite(values).all(), name
    assert np.isfinite(run.pins).all()
    assert np.isfinite(run.actuator).all()
    for part in (run.energy, run.setting, run.reference):
        json.dumps(dataclasses.asdict(part), allow_nan=False)


@few(120)
@given(document=documents())
def test_any_scenario_runs_to_finite_numbers_or_is_refused_by_name(document, folder):
    scenario, run, faults = crossed(document, folder)
    if run is None:
        event("refused by the simulation" if scenario else "refused by the file's checks")
        for text in faults:
            note(text)
            check_refused(text)
        return
    event("crossed")
    check_finite(run)
    told = run_summary(run, scenario)
    json.dumps(told, allow_nan=False)
    text = run_text(told, "any", scenario.limits.depth_tolerance * 1e3, True, pins=True, details=True)
    assert not re.search(r"\b(nan|inf)\b", text), text
