"""Peaks of each strike of a stone, and how often a hectare passes a limit."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import genpareto

from analysis.crossing.loads import pin_loads, stone_peak
from analysis.pins.duty.duty import duty_of
from analysis.pins.duty.extremes import LEAST, fit_tail, share_passing, stones_per_hectare
from analysis.pins.duty.extremes import passing as passing_of
from analysis.pins.duty.settings import Setting, over_settings, runs_at, with_stiffness
from analysis.pins.duty.stone_words import passing_lines, passing_sentence, spread_lines
from analysis.pins.duty.strikes import MOST, Strikes, spread, strikes, strikes_over
from scenarios.load import load
from sim.record import PINS
from sim.unit import Settings

LOWER = "main_lower_front"


def passing(scenario, found, pin, limit):
    return passing_of(found, pin, limit, stones_per_hectare(scenario), scenario.stones.contact.stiffness)


@pytest.fixture(scope="module")
def stony():
    return load("stony")


def met(values, stones=None) -> Strikes:
    """Strikes whose peaks are given, the same on every pin."""
    peaks = np.repeat(np.asarray(values, dtype=float)[:, None], len(PINS), axis=1)
    return Strikes(peaks, peaks[:, 0], len(values) if stones is None else stones, 100.0)


def test_one_stone_is_one_strike(cross):
    run = cross("one stone", Settings(speed=10 / 3.6, toolbar="level"))
    found = strikes(run)
    assert (found.stones, found.disc.size) == (1, 1)
    assert found.disc[0] == pytest.approx(stone_peak(run))
    assert found.of(LOWER)[0] == pytest.approx(pin_loads(run)[LOWER].peak)
    assert found.of(MOST)[0] == found.pins.max()


def test_no_stone_is_no_strike(cross):
    found = strikes(cross("class D short"))
    assert (found.stones, found.disc.size, found.of(MOST).size, found.pins.shape) == (0, 0, 0, (0, len(PINS)))


def test_strikes_of_a_stony_row(cross):
    run = cross("stony", Settings(speed=10 / 3.6))
    found, loads = strikes(run), pin_loads(run)
    assert 0 < found.disc.size <= found.stones
    assert found.disc.max() == pytest.approx(stone_peak(run))
    for pin in (LOWER, "rod_front"):
        assert found.of(pin).max() <= loads[pin].peak * (1.0 + 1e-12)
    assert (found.of(LOWER) > loads[LOWER].rms).all()
    both = strikes_over([run, run])
    assert (both.stones, both.distance) == (2 * found.stones, 2.0 * found.distance)
    np.testing.assert_array_equal(both.disc, np.tile(found.disc, 2))


def test_faster_strikes_harder_and_more_often_past_a_limit(stony):
    slow, fast = over_settings(stony, (1,), [Setting(40e5, v / 3.6) for v in (6.0, 12.0)], strikes_over, 1)
    assert np.median(fast.of(LOWER)) > 1.2 * np.median(slow.of(LOWER))
    share = [(one.of(LOWER) > 20e3).mean() for one in (slow, fast)]
    assert share[1] > share[0]


def test_a_stiffer_contact_strikes_harder(stony):
    at = [Setting(40e5, 10.0 / 3.6)]
    soft, stiff = (over_settings(with_stiffness(stony, k), (1,), at, strikes_over, 1)[0] for k in (0.3e6, 1.2e6))
    assert np.median(stiff.disc) > 1.2 * np.median(soft.disc)


def test_what_cannot_be_crossed_says_why(stony):
    unit = replace(stony.unit, depth_linkage=replace(stony.unit.depth_linkage, rod=0.2))
    (told,) = over_settings(replace(stony, unit=unit), (1,), [Setting(40e5, 2.0)], duty_of, 1)
    assert isinstance(told, str)
    assert "rod" in told


def test_runs_at_a_setting_set_the_depth_again(stony):
    (run,) = runs_at(stony, (2,), Setting(50e5, 2.5))
    assert (run.settings.oil_pressure, run.settings.speed, run.settings.setting) == (50e5, 2.5, "redone")


@pytest.mark.parametrize("shape", [-0.4, 0.1])
def test_the_interval_holds_the_truth_as_often_as_it_says(shape):
    """Peaks drawn from a known tail: 95 % intervals of what passes a far limit; 48 of them, five misses are rare."""
    law, limit = genpareto(shape, 5e3, 4e3), 13e3
    missed = 0
    for seed in range(48):
        values = law.rvs(160, random_state=np.random.default_rng(seed))
        tail = fit_tail(values, 200)
        assert tail is not None
        assert tail.excesses.size == 40
        best, low, high = share_passing(tail, limit)
        assert low <= best <= high
        missed += not low <= 0.8 * law.sf(limit) <= high
    assert missed <= 6


def test_a_tail_that_is_known_is_found():
    values = genpareto(-0.3, 5e3, 4e3).ppf((np.arange(4000) + 0.5) / 4000)
    tail = fit_tail(values, 4000)
    assert tail is not None
    assert tail.shape == pytest.approx(-0.3, abs=0.03)
    assert tail.end == pytest.approx(5e3 + 4e3 / 0.3, rel=0.02)
    assert tail.follows
    assert share_passing(tail, 14e3)[0] == pytest.approx(genpareto(-0.3, 5e3, 4e3).sf(14e3), rel=0.05)


def test_peaks_of_two_kinds_do_not_follow():
    values = np.concatenate([np.linspace(1e3, 2e3, 300), 10e3 + np.arange(50.0), 30e3 + np.arange(50.0)])
    tail = fit_tail(values, values.size)
    assert tail is not None
    assert not tail.follows


def test_passing_on_a_hectare(stony):
    many = stones_per_hectare(stony)
    assert many == pytest.approx(0.2 * 1e4 / stony.machine.row_spacing)
    values = genpareto(-0.2, 5e3, 4e3).ppf((np.arange(200) + 0.5) / 200)
    found = met(values, 250)
    told = [passing(stony, found, LOWER, limit) for limit in (5e3, 8e3, 12e3, 16e3, 20e3, 30e3)]
    expected = [one.expected for one in told]
    assert expected == sorted(expected, reverse=True)
    for one in told:
        assert one.low <= one.expected <= one.high
        assert one.chance[1] <= one.chance[0] <= one.chance[2]
        assert (one.tail is None) == (one.limit <= np.sort(values)[-51])
    assert told[1].expected == pytest.approx(many * told[1].passed / 250)
    assert told[2].expected == pytest.approx(many * told[2].passed / 250, rel=0.1)
    assert (told[-1].expected, told[-1].low) == (0.0, 0.0)
    assert 0.0 < told[-1].high < 100.0


def test_too_few_strikes_are_counted_and_that_is_told(stony):
    told = passing(stony, met(np.linspace(5e3, 9e3, 2 * LEAST - 1), 100), LOWER, 8e3)
    assert told.tail is None
    assert told.note == "59 strikes are too few to tell more than their count (60 are needed)"
    assert told.expected == pytest.approx(told.stones_per_hectare * told.passed / 100)
    none = passing(stony, met(np.linspace(5e3, 9e3, 20), 100), LOWER, 12e3)
    assert (none.expected, none.low) == (0.0, 0.0)
    assert none.high == pytest.approx(none.stones_per_hectare * (1.0 - 0.025 ** (1 / 100)))  # none of 100
    assert fit_tail(np.full(200, 7e3), 200) is None  # all alike: nothing to follow
    assert passing(stony, met([]), LOWER, 8e3).reason == "no stone was struck"


def test_what_follows_no_law_is_counted(stony):
    values = np.concatenate([np.linspace(1e3, 2e3, 300), 10e3 + np.arange(50.0), 30e3 + np.arange(50.0)])
    told = passing(stony, met(values), LOWER, 20e3)
    assert told.expected == pytest.approx(told.stones_per_hectare * 50 / 400)
    assert "follow no law" in told.note


def test_spread_of_the_peaks():
    assert spread(met(np.arange(1.0, 102.0)), LOWER) == (101, 51.0, 91.0, 101.0)
    assert spread(met([]), MOST).strikes == 0


def test_what_is_said_of_strikes(stony):
    values = genpareto(-0.2, 5e3, 4e3).ppf((np.arange(200) + 0.5) / 200)
    near, far, beyond, few, none = (
        passing_sentence(passing(stony, met(of, 250), LOWER, limit))
        for of, limit in ((values, 8e3), (values, 18e3), (values, 40e3), (values[::10], 8e3), ([], 8e3))
    )
    assert near.startswith(
        "The main lower front pin over 8 kN: 89 of 200 strikes passed it; of 8000 stones under the rows of "
    )
    assert "carried on" not in near
    assert "(carried on from the 50 hardest strikes, which level off at " in far
    assert "none of 200 strikes passed it" in beyond
    assert "none is to be expected, up to " in beyond
    assert "20 strikes are too few" in few
    assert none == "The main lower front pin over 8 kN: not told, no stone was struck."
    lines = passing_lines([passing(with_stiffness(stony, k * 1e6), met(values, 250), LOWER, 8e3) for k in (0.3, 1.2)])
    assert lines[0].startswith("Stones that bring more than 8 kN on the main lower front pin, of 8000 under the")
    assert lines[-2].split() == ["0.3", "MN/m", "89", "of", "200", "2800", "2400", "to", "3400"]
    assert lines[-1].split()[:2] == ["1.2", "MN/m"]
    lines = spread_lines(MOST, [(Setting(40e5, 2.5), spread(met(values), MOST)), (Setting(60e5, 2.5), "why not")])
    assert lines[0] == "What a strike of a stone brings on the most loaded pin"
    assert max(map(len, lines)) <= 80
    assert lines[2].split() == ["40", "bar,", "9", "km/h", "200", "7.6", "12.3", "19.0"]
    assert lines[3].split() == ["60", "bar,", "9", "km/h", "none"]


def test_ground_without_stones_is_told():
    told = passing(load("rough"), met(np.linspace(5e3, 9e3, 80)), LOWER, 8e3)
    assert told.reason == "this file strews no stones"
