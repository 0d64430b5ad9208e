"""What readings are expected to be, against passes over other ground with all their series kept."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from invented_readings import EMPTY, Pass, read_off

from analysis.fit.expected.crossed import grounds_of, pull
from analysis.fit.likelihood import likelihood
from analysis.fit.model import model_of
from scenarios.load import load
from sim.mechanism.linkage import actuator_length
from sim.run import simulate

CRANK = math.radians(97.3)
PASS = Pass("A", 30, 10, digs=40, wheel_off=True, loads=True)


@pytest.fixture(scope="module")
def passes():
    """A file, and runs at 30 bar and 10 km/h over three grounds of 60 m that no fit crosses."""
    file = load("rough", changes={"ground.length_m": 60})
    settings = replace(file.settings, oil_pressure=30e5, speed=10.0 / 3.6, setting="unchanged")
    return file, [simulate(file.unit, file.soil, file.track(seed), settings, crank=CRANK) for seed in (900, 901, 902)]


def test_every_kind_is_expected_where_passes_lie(passes):
    file, runs = passes
    rng = np.random.default_rng(5)
    readings = [one for run in runs for one in read_off(run, PASS, file.prior.dig_error, rng)]
    place = replace(EMPTY, what="draught_N", oil_pressure=30e5, speed=10.0 / 3.6, setting="A", length=60.0)
    readings += [replace(place, value=pull(run)) for run in runs]
    model = model_of(file, readings, 1)
    x = model.unknowns.start
    x[-1] = (actuator_length(file.unit, CRANK) - model.unknowns.stroke.middle) / 1e-3
    like = likelihood(model, x)
    (expected,) = model.predict_all([x], like.like)
    away = (model.observed - expected) / np.sqrt(np.diag(like.covariance))
    kinds = [type(statistic).__name__ for statistic in model.statistics]
    assert set(kinds) == {"MeanDepth", "ScatterOfDepth", "WheelOff", "MeanLoad", "ScatterOfLoad", "Pull"}
    assert np.abs(away).max() < 3.0, dict(zip(kinds, away.round(1), strict=True))
    assert np.mean(away**2) < 2.0


def test_pull_is_that_of_disc_boot_and_wheels(passes):
    """Disc's draught as recorded; boot 3 N per mm of depth; gauge wheel 0.06 of its load, press wheel 0.08."""
    _, runs = passes
    for run in runs:
        mean = {name: float(run.series[name].mean()) for name in ("disc_draught", "depth", "gauge_load", "press_load")}
        parts = -mean["disc_draught"] + 3000.0 * mean["depth"] + 0.06 * mean["gauge_load"] + 0.08 * mean["press_load"]
        assert pull(run) == pytest.approx(parts, rel=0.06)


def test_the_same_numbers_for_every_trial(passes):
    """A value that moves a little moves what is expected a little, and back."""
    file, runs = passes
    readings = read_off(runs[0], PASS, file.prior.dig_error, np.random.default_rng(5))
    model = model_of(file, readings, 1)
    x = model.unknowns.start
    like = likelihood(model, x)
    steps = [x + away * np.eye(x.size)[0] for away in (-0.02, 0.0, 0.02)]
    low, here, high = model.predict_all(steps, like.like)
    assert np.abs(high - 2.0 * here + low).max() < 0.1 * np.abs(high - low).max()


def test_grounds_are_the_scenarios_own_where_things_have_their_places():
    assert grounds_of(load("patches")).length is None
    assert grounds_of(load("rough")).length == 80.0
    assert grounds_of(load("rough")).wider.seeds == tuple(range(1, 9))
