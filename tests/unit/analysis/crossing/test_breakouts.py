"""Breakouts on invented runs (5 mm a step) and on one real stone."""

import math
from dataclasses import replace

import invented
import numpy as np
import pytest

from analysis.crossing.breakouts import breakouts
from analysis.crossing.loads import stone_peak
from analysis.stones.strike import stone_track
from sim.run import simulate
from sim.unit import ATMOSPHERE

STEPS = 600
TOLERANCE = 0.010


def run_with(contacts, depth, **series):
    rock = invented.stretch(STEPS, *contacts, inside=6000.0, outside=0.0)
    return invented.made_run(STEPS, rock_force=rock, depth=depth, **{"arm_angle": 0.0, **series})


def dip(*parts, least=0.010):
    """Depth 40 mm, falling to `least` over the steps of each part and 25 mm over the 20 steps behind it."""
    depth = np.full(STEPS, 0.040)
    for first, last in parts:
        depth[first:last] = least
        depth[last : last + 20] = 0.025
    return depth


def test_a_stone_that_halves_the_depth_is_a_breakout():
    pressure = np.full(STEPS, ATMOSPHERE + 60e5)
    pressure[130] = ATMOSPHERE + 75e5
    run = run_with([(100, 120)], dip((110, 140)), oil_pressure=pressure)
    pins = np.zeros_like(run.pins)
    pins[115, 5, 0], pins[300, 2, 0] = 8000.0, 50e3  # the second one long after
    (found,) = breakouts(replace(run, pins=pins), TOLERANCE)
    assert found.position == pytest.approx(0.0025 + 0.5)
    assert found.rise == pytest.approx(0.030)
    assert found.regain == pytest.approx(60 * invented.TRAVEL)  # depth is back at step 160
    assert found.disc_peak == 6000.0
    assert (found.pin, found.pin_peak) == ("cylinder_arm", pytest.approx(8000.0))
    assert found.pressure_max == pytest.approx(75e5)


def test_half_the_set_depth_is_not_below_it():
    assert breakouts(run_with([(100, 120)], dip((110, 140), least=0.0201)), TOLERANCE) == ()
    assert len(breakouts(run_with([(100, 120)], dip((110, 140), least=0.0199)), TOLERANCE)) == 1


def test_no_stone_no_breakout():
    assert breakouts(run_with([], dip((110, 140))), TOLERANCE) == ()


def test_depth_lost_well_behind_the_stone_is_not_its_doing():
    assert len(breakouts(run_with([(100, 120)], dip((170, 190))), TOLERANCE)) == 1  # 0.25 m behind
    assert breakouts(run_with([(100, 120)], dip((185, 200))), TOLERANCE) == ()  # 0.325 m behind


def test_a_unit_that_was_up_already_is_not_pushed_up():
    assert breakouts(run_with([(120, 130)], dip((110, 140))), TOLERANCE) == ()


def test_the_arm_passing_its_angle_is_a_breakout_without_loss_of_depth():
    arm = np.zeros(STEPS)
    arm[110:130] = math.radians(16.0)
    flat = np.full(STEPS, 0.040)
    assert len(breakouts(run_with([(100, 120)], flat, arm_angle=arm), TOLERANCE)) == 1
    assert breakouts(run_with([(100, 120)], flat, arm_angle=0.9 * arm), TOLERANCE) == ()
    assert len(breakouts(run_with([(100, 120)], flat, arm_angle=0.9 * arm), TOLERANCE, math.radians(14.0))) == 1


def test_stones_met_before_depth_is_regained_belong_to_the_same_breakout():
    depth = dip((110, 250))
    (found,) = breakouts(run_with([(100, 120), (220, 230)], depth), TOLERANCE)
    assert found.regain == pytest.approx(170 * invented.TRAVEL)
    two = breakouts(run_with([(100, 120), (300, 320)], dip((110, 140), (310, 330))), TOLERANCE)
    assert [b.position for b in two] == pytest.approx([0.5025, 1.5025])


def test_a_second_stone_met_before_depth_is_regained_puts_off_the_regain():
    depth = np.full(STEPS, 0.040)
    depth[110:140], depth[140:225], depth[225:231] = 0.010, 0.025, 0.035
    depth[231:260], depth[260:280] = 0.005, 0.025
    (found,) = breakouts(run_with([(100, 120), (220, 230)], depth), TOLERANCE)
    assert found.rise == pytest.approx(0.035)
    assert found.regain == pytest.approx(180 * invented.TRAVEL)


def test_loads_of_a_contact_that_outlasts_the_regain_still_count():
    depth = np.full(STEPS, 0.040)
    depth[105:110] = 0.015
    run = run_with([(100, 150)], depth)
    pins = np.zeros_like(run.pins)
    pins[140, 2, 1] = -7000.0
    (found,) = breakouts(replace(run, pins=pins), TOLERANCE)
    assert found.regain == pytest.approx(10 * invented.TRAVEL)
    assert (found.pin, found.pin_peak) == ("main_lower_front", pytest.approx(7000.0))


def test_depth_that_is_not_regained_has_no_distance():
    depth = dip()
    depth[560:] = 0.005
    (found,) = breakouts(run_with([(550, 570)], depth), TOLERANCE)
    assert found.regain is None


def test_a_real_stone_lifts_the_disc_by_what_its_path_shows():
    scenario = invented.short_scenario("smooth")
    settings = replace(scenario.settings, toolbar="level", speed=10.0 / 3.6)
    track = stone_track(scenario, 0.6e6)
    run = simulate(scenario.unit, scenario.soil, track, settings)
    (found,) = breakouts(run, TOLERANCE)
    surface = np.interp(run.series["distance"], track.x, track.surface)  # flat ground at height 0
    bottom = surface - run.series["depth"]
    assert found.rise == pytest.approx(bottom.max() + settings.set_depth, abs=5e-4)
    assert found.rise > 0.03 + settings.set_depth - 0.025  # over the stone's top, less what it is pressed in
    assert found.disc_peak == stone_peak(run) >= run.series["rock_force"].max()
    back = found.position + found.regain
    behind = run.series["depth"][run.series["distance"] > back + 0.02]
    assert behind.min() > settings.set_depth - TOLERANCE - 0.006
