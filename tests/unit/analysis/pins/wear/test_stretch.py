"""Sums of pins and bushes over several runs: they join as one history, and tell what one run tells."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from analysis.pins.bush.bushes import bush_duties
from analysis.pins.wear.life import pin_lives
from analysis.pins.wear.stretch import joined, stretch_of, stretch_over
from sim.record import PINS
from sim.unit import Settings


@pytest.fixture(scope="module")
def run(cross):
    return cross("class D short")


@pytest.fixture(scope="module")
def other(cross):
    return cross("class D short", Settings(oil_pressure=60e5))


def test_a_stretch_of_one_run_tells_what_the_run_tells(run):
    stretch = stretch_of(run)
    for told, own in zip(stretch.bushes(stretch.duties()), bush_duties(run), strict=True):
        assert told == own
    assert math.isnan(stretch.known_within("main_lower_front"))


def test_the_same_run_three_times_is_that_run_but_for_its_length(run):
    once, thrice = stretch_of(run), stretch_over(iter([run, run, run]))
    assert thrice.over.distance == pytest.approx(3.0 * once.over.distance)
    first, all_ = (one.bushes(one.duties()) for one in (once, thrice))
    for a, b in zip(first, all_, strict=True):
        for name in ("pin_peak", "peak", "rms", "mean", "couple_part", "worn", "sliding", "rate_rms", "stress", "edge"):
            assert getattr(a, name) == pytest.approx(getattr(b, name), rel=1e-12), name
    for name in PINS[:4]:
        assert thrice.worn_range(name) == pytest.approx(once.worn_range(name))
    assert thrice.known_within("main_lower_front") == pytest.approx(0.0, abs=1e-12)


def test_joined_runs_are_means_by_their_travel_and_the_higher_peak(run, other):
    both = joined([stretch_of(run), stretch_of(other)])
    told = both.bushes(both.duties())
    for a, b, ab in zip(bush_duties(run), bush_duties(other), told, strict=True):
        assert ab.peak == max(a.peak, b.peak)
        if a.side == b.side:  # the same bush is worse in both
            assert ab.worn == pytest.approx(0.5 * (a.worn + b.worn), rel=1e-9)
            assert ab.rms == pytest.approx(math.sqrt(0.5 * (a.rms**2 + b.rms**2)), rel=1e-9)
    assert both.runs == 2
    assert both.by_run.shape == (2, len(PINS))


def test_the_worse_bush_is_that_of_the_whole_stretch(run):
    """Pushed the other way, the other bush is worse: over both runs neither bears as much as the worse one of each."""
    unit = replace(run.unit, disc=replace(run.unit.disc, pushed="right" if run.unit.disc.pushed == "left" else "left"))
    mirrored = replace(run, unit=unit)
    both = joined([stretch_of(run), stretch_of(mirrored)])
    worn = [bush_duties(one, ("main_lower_front",))[0] for one in (run, mirrored)]
    told = both.bushes(both.duties())[PINS.index("main_lower_front")]
    assert worn[0].side != worn[1].side
    assert told.worn < min(one.worn for one in worn) * (1.0 - 1e-3)


def test_the_spread_over_runs_is_that_of_their_wear(run, other):
    three = joined([stretch_of(run), stretch_of(other), stretch_of(run)])
    worn = three.by_run[:, PINS.index("main_lower_front")]
    half = 4.302653 * worn.std(ddof=1) / math.sqrt(3.0) / worn.mean()  # Student's t, 2 degrees of freedom, 97.5 %
    assert three.known_within("main_lower_front") == pytest.approx(half, rel=1e-6)
    assert np.allclose(worn[0], worn[2])


def test_lives_of_a_side_slope_and_of_a_range_of_sharing_join_too(run):
    sloping = replace(run, unit=replace(run.unit, pins=replace(run.unit.pins, side_slope=0.1)))
    once, twice = stretch_of(sloping), stretch_over([sloping, sloping])
    assert len(twice.coupled) == 2
    for a, b in zip(pin_lives(once, 6.0).lives, pin_lives(twice, 6.0).lives, strict=True):
        assert a.worn == pytest.approx(b.worn)
        assert (a.years is None) == (b.years is None)
