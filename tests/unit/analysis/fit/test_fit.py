"""Fits whose answer is known beforehand, on a file in which only a few values are in doubt."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from invented_readings import EMPTY, Job, Pass, brought_home

from analysis.fit.fit import fit
from analysis.fit.fitted import Fit
from analysis.fit.fitted_file import file_text
from analysis.fit.reading.readings import Measured
from analysis.fit.words import fit_sentences, fit_text, learned_lines
from scenarios.doubt.belief import RANGE, belief
from scenarios.doubt.prior import Prior
from scenarios.doubt.varied import with_values
from scenarios.load import load
from scenarios.scenario import Scenario

IN_DOUBT = ("soil_strength", "roughness", "unit_mass")
CRANK = math.radians(97.3)


def in_doubt(names: tuple[str, ...] = IN_DOUBT) -> Scenario:
    found = load("rough", changes={"ground.length_m": 40})
    ways = [name for name in vars(Prior()) if name.endswith(("_times", "_plus")) and not name.startswith("cone")]
    known = {way: (1.0 if way.endswith("_times") else 0.0) for way in ways if way.rpartition("_")[0] not in names}
    return replace(found, prior=replace(found.prior, **known))


def fitted(scenario: Scenario, readings, workers: int | None = 1) -> Fit:
    return fit(scenario, Measured(Path("measured.csv"), tuple(readings)), workers)


@pytest.fixture(scope="module")
def field() -> tuple[Scenario, dict[str, float], Fit]:
    """A field with soft, smooth ground and a heavy unit, and its fit."""
    file = in_doubt()
    true = {"soil_strength": 0.9e6, "roughness": 500e-6, "unit_mass": 98.0}
    job = Job([Pass("A", 30, 6, 20), Pass("A", 50, 6, 20), Pass("A", 50, 10, 20)], [("gauge", 0.0)], 0)
    readings = brought_home(with_values(file, true), {"A": CRANK}, job, np.random.default_rng(11))
    return file, true, fitted(file, readings)


def test_without_readings_nothing_changes():
    found = fitted(in_doubt(), [])
    assert found.fitted == found.scenario
    for one in found.values:
        assert (one.low, one.high) == (pytest.approx(one.prior_low), pytest.approx(one.prior_high))
        assert one.learned == "not at all"
    assert np.allclose(found.correlation, np.eye(3), atol=1e-12)
    assert found.check.p == 1.0
    assert "Nothing" in learned_lines(found)[1]


def test_a_reading_where_it_was_expected_narrows_and_does_not_move():
    """A cone index of the file's own strength, with the factor known: strength ± 20.7 % meets a reading ± 25.5 %."""
    file = in_doubt(("soil_strength",))
    file = replace(file, prior=replace(file.prior, cone_factor_times=1.0))
    found = fitted(file, [replace(EMPTY, what="penetrometer_MPa", value=file.soil.strength)])
    (one,) = found.values
    assert one.value == pytest.approx(file.soil.strength, rel=1e-9)
    before, own = math.log(1.5) / RANGE, math.hypot(0.25, 0.05)
    assert one.left == pytest.approx((1.0 + before**2 / own**2) ** -0.5, rel=1e-6)


def test_two_readings_of_one_value_weigh_by_their_errors():
    """Weighings at two loads about one mass: against the normal equations solved by hand on the two logarithms."""
    file = in_doubt(("unit_mass",))
    readings = [
        replace(EMPTY, what="scale_kg", value=load, oil_pressure=0.0, where="gauge") for load in (1060.0, 1090.0)
    ]
    found = fitted(file, readings)
    (one,) = found.values
    like = found.posterior.maximum.likelihood
    slope, variance = float(found.posterior.slopes[0, 0]), float(like.covariance[0, 0])
    assert one.left == pytest.approx((1.0 + slope**2 / variance) ** -0.5, rel=1e-6)
    assert file.unit.carrier.mass < one.value < with_values(file, {"unit_mass": 100.0}).unit.carrier.mass


def test_the_truth_is_found_within_its_doubt(field):
    _, true, found = field
    for one in found.values:
        name = one.doubtful.name
        assert one.low < true[name] < one.high
        assert one.left < 0.9
    place = found.settings["A"]
    assert place.low < place.length < place.high


def test_one_worker_and_two_give_the_same(field):
    file, _, found = field
    again = fitted(file, found.measured.readings, 2)
    assert np.array_equal(again.posterior.x, found.posterior.x)
    assert np.array_equal(again.posterior.covariance, found.posterior.covariance)
    assert again.check == found.check


def test_contradictory_digs_are_told_and_named(field):
    """Thirty digs at one setting that are 30 mm deeper than soil could make them."""
    file, _, found = field
    wrong = [
        replace(one, value=one.value + 0.03 if one.oil_pressure < 40e5 else one.value)
        for one in found.measured.readings
    ]
    worse = fitted(file, wrong)
    assert worse.check.p < 0.01
    text = " ".join(fit_sentences(worse))
    assert "no: were the model right" in text
    assert "first, then fit again" in fit_text(worse, None, Path("fitted.toml"))
    assert "30 bar and 6 km/h" in text


@pytest.mark.parametrize(
    "edited", ["{text}", "title = 'x'\nground = {{ length_m = 40, roughness = {{ class = 'D' }} }}\n"]
)
def test_the_file_says_what_was_fitted_and_loads(field, tmp_path, edited):
    """Line by line where it can be, written anew where its tables stand in braces."""
    _, _, found = field
    path = tmp_path / "field.toml"
    path.write_text(edited.format(text=found.scenario.source.text), encoding="utf-8")
    of_file = replace(found, scenario=replace(found.scenario, path=path, source=load(path).source))
    out = tmp_path / "fitted.toml"
    out.write_text(file_text(of_file, out), encoding="utf-8")
    again = load(out)
    assert again.uncertain is not None
    assert again.uncertain.readings == found.measured.count
    told = belief(again)
    assert told.names == tuple(one.doubtful.name for one in found.values)
    assert again.soil.strength == pytest.approx(found.fitted.soil.strength, rel=1e-5)
    assert again.ground.roughness.density == pytest.approx(found.fitted.ground.roughness.density, rel=1e-5)
    sd = np.array([one.left for one in found.values]) * belief(found.scenario).sd
    assert told.sd == pytest.approx(sd, rel=1e-3)
    assert told.correlation == pytest.approx(found.correlation, abs=2e-6)
    assert "fitted, ±" in out.read_text(encoding="utf-8")


def test_a_second_fit_starts_where_the_first_ended(field, tmp_path):
    """Its prior is what the first left in doubt; with no further reading it stays so."""
    _, _, found = field
    out = tmp_path / "fitted.toml"
    out.write_text(file_text(found, out), encoding="utf-8")
    again = fitted(load(out), [])
    assert [one.value for one in again.values] == pytest.approx([one.value for one in found.values], rel=1e-5)
    assert again.correlation == pytest.approx(found.correlation, abs=1e-5)
    assert file_text(again, out).count("[uncertain]") == file_text(found, out).count("[uncertain]")
