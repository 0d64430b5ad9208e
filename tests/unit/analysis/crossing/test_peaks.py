"""Peaks between samples: exact on a parabola, no overshoot at jumps, and what a finer step finds."""

import invented
import numpy as np
import pytest
from every import every

from analysis.crossing.loads import pin_squares
from analysis.crossing.peaks import peaks
from sim.record import PINS
from sim.run import simulate
from sim.step import usual_step


def peak(*values):
    return float(peaks(np.array(values, dtype=float)[:, None])[0])


@every("shift", [-0.49, -0.2, 0.0, 0.31, 0.5])
def test_the_top_of_a_parabola_is_found_exactly(shift):
    x = np.arange(-4, 5) - shift
    assert peak(*(10.0 - 0.3 * x * x)) == pytest.approx(10.0, rel=1e-14)


@every("values", [(0, 0, 10, 9, 8, 7), (7, 8, 9, 10, 0, 0), (0, 0, 10, 10, 10, 0), (0, 0, 5, 0, 0), (3, 3, 3, 3)])
def test_jumps_flats_and_spikes_stay_as_sampled(values):
    assert peak(*values) == max(values)


def test_behind_a_jump_at_most_an_eighth_of_the_bend_is_added():
    # 0 → 10 → 9.5 → 8: second difference at 9.5 is 1.0
    assert peak(0.0, 0.0, 10.0, 9.5, 8.0, 6.0) == pytest.approx(10.0 + 1.0 / 8.0)


def test_nothing_is_added_where_neighbours_are_missing():
    assert peak(5.0) == 5.0
    assert peak(4.0, 5.0) == 5.0
    assert peak(4.0, 5.0, 4.5) == 5.0  # the higher side has no second difference
    assert peak(3.8, 4.5, 5.0, 4.0) > 5.0


def test_only_the_steps_asked_for_but_with_their_neighbours():
    x = np.arange(40.0)
    series = np.stack([50.0 - (x - 10.3) ** 2, 900.0 - (x - 30.0) ** 2], axis=1)
    found = peaks(series, 5, 11)
    assert found[0] == pytest.approx(50.0)
    assert found[1] == series[10, 1]


def test_short_pulses_are_missed_less_than_by_sampling():
    rng = np.random.default_rng(5)
    for samples, share in ((4, 0.5), (6, 0.3), (10, 0.15)):
        t = np.arange(-3, samples + 3)[:, None] + rng.random(500)
        pulses = np.where((t > 0) & (t < samples), np.sin(np.pi * t / samples) ** 2, 0.0)
        sampled, found = 1.0 - pulses.max(axis=0), 1.0 - peaks(pulses)
        assert (found <= sampled).all()
        assert np.abs(found).mean() < share * sampled.mean()


def test_pin_peaks_agree_with_a_tenth_of_the_step_on_stones_at_15_kmh():
    scenario = invented.short_scenario("stony", 40.0).with_settings(speed=15.0 / 3.6)
    track, step = scenario.track(), usual_step(15.0 / 3.6)
    coarse, fine = (
        np.sqrt(peaks(pin_squares(simulate(scenario.unit, scenario.soil, track, scenario.settings, step=h))))
        for h in (step, step / 10.0)
    )
    for name, a, b in zip(PINS, coarse, fine, strict=True):
        assert a == pytest.approx(b, rel=0.02), name
