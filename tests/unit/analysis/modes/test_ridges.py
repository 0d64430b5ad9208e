"""What a grower is told of ridges, held against crossing such ridges with the whole model."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from analysis.modes.crossed import Crossed, cross_ridges, ridges_track
from analysis.modes.found import find, worst_spacing
from analysis.modes.ridges import FINE, bridged_below, chart, swings
from analysis.modes.shapes import BOUNCE, HEAVE, PITCH, PRESS, modes
from analysis.modes.verdict import EVEN, FALLING, PEAK, RISING, UNKNOWN, verdict
from scenarios.load import load
from sim.linear import linearise
from sim.unit import GaugeWheel, Settings, Soil, Unit

FIELD = {"ground.length_m": 40}


@pytest.fixture(scope="module")
def found():
    return find(load("rough", changes=FIELD))


def at(scenario, spacing, height, kmh):
    return cross_ridges(scenario, spacing, height, replace(scenario.settings, speed=kmh / 3.6))


@pytest.mark.parametrize("spacing", [0.35, 0.45, 0.55])
def test_the_speed_to_avoid_shakes_more_than_slower_and_faster_ones(found, spacing):
    """Rule × distance, crossed with the whole model at, below and above that speed, ridges 10 mm high (no lift-off)."""
    rule = found.rule
    assert rule is not None
    worst = rule.per_metre * 3.6 * spacing
    slower, there, faster = (at(found.scenario, spacing, 0.010, f * worst) for f in (0.65, 1.0, 1.45))
    assert there.swing > 1.2 * slower.swing
    assert there.swing > 1.1 * faster.swing
    near = [at(found.scenario, spacing, 0.010, f * worst).swing for f in (0.85, 0.9, 1.1, 1.15)]
    assert there.swing > 0.95 * max(near)


def test_the_ridges_named_are_the_worst_at_that_speed(found):
    """Among distances that the wheel does not bridge none swings the depth notably more at the file's speed."""
    asked, kmh = found.asked, found.scenario.settings.speed * 3.6
    named = at(found.scenario, asked.spacing, asked.height, kmh).swing
    assert named == found.at_own.swing
    others = [at(found.scenario, spacing, asked.height, kmh).swing for spacing in (0.3, 0.36, 0.5, 0.6, 0.8, 1.1, 2.0)]
    assert named > 0.99 * max(others)


def test_by_speed_small_motions_hold_until_the_wheel_leaves_the_ground(found):
    for one, small in zip(found.crossed, found.small, strict=True):
        if one.wheel_off == 0.0:
            assert small == pytest.approx(one.swing, rel=0.05)
    assert any(one.wheel_off > 0.1 for one in found.crossed)


def test_what_would_change_it_is_what_crossing_it_so_gives(found):
    scenario, asked = found.scenario, found.asked
    changed = {one.name: one.found for one in found.changes}
    aslant = cross_ridges(scenario, asked.spacing * math.sqrt(2.0), asked.height, scenario.settings)
    assert changed["aslant"].swing == pytest.approx(aslant.swing, rel=1e-9)
    wheel = scenario.unit.gauge_wheel
    soft = replace(scenario.unit, gauge_wheel=replace(wheel, tyre_stiffness=0.5 * wheel.tyre_stiffness))
    assert changed["tyre_stiffness"] == cross_ridges(scenario, asked.spacing, asked.height, scenario.settings, soft)
    assert "less_pressure" not in changed  # the precharge of 24 bar does not suit 30 bar


def test_ridges_of_the_file_are_those_crossed_as_the_row_meets_them():
    scenario = load("ridges", changes={"ground.length_m": 30, "search.speeds_kmh": (6.0, 9.0)})
    found = find(scenario)
    assert (found.asked.spacing, found.asked.height, found.asked.source) == (pytest.approx(1.8), 0.05, "file")
    assert "aslant" not in {one.name for one in found.changes}  # they are met at 30° already
    other = find(scenario, spacing=0.7)
    assert (other.asked.spacing, other.asked.height, other.asked.source) == (0.7, 0.02, "asked")
    # over this gentle ground small motions say what the whole model says, ridges and all
    assert found.rough.spectra is None
    assert abs(found.rough.own.apart) < 0.05


def test_a_tyre_that_damps_everything_leaves_no_speed_that_stands_out():
    stiff = Unit(gauge_wheel=GaugeWheel(tyre_stiffness=2e6, tyre_damping=6e4))
    hard = Soil(strength=1.2e6, reference_strength=0.05e6)
    made = chart(stiff, hard, Settings(), np.linspace(4.0, 14.0, 11) / 3.6, 0.005)
    loose = chart(Unit(), Soil(), Settings(), np.linspace(4.0, 14.0, 11) / 3.6, 0.005)
    assert loose.peak(0.45, 4.0 / 3.6, 14.0 / 3.6) is not None
    assert made.peak(0.45, 4.0 / 3.6, 14.0 / 3.6) is None


def test_a_wheel_bridges_ridges_that_are_too_close():
    below = bridged_below(Unit(), 0.02)
    assert below == pytest.approx(2.0 * math.pi * math.sqrt(0.01 * 0.2))  # a k² R = 1
    here = swings(linearise(Unit(), Soil(), Settings(speed=4.0 / 3.6)), FINE, 0.02)
    assert worst_spacing(here, below) >= below - 0.005


def test_ridges_are_whole_and_of_their_height():
    track = ridges_track(0.7, 0.03, 1e6)
    inside = (track.x >= 0.0) & (track.x <= track.x_to)
    assert np.ptp(track.ground[inside]) == pytest.approx(0.03, rel=1e-3)
    assert track.x_to / 0.7 == pytest.approx(round(track.x_to / 0.7))
    assert np.abs(track.ground[track.x < -12.0]).max() == 0.0


def test_modes_are_named_by_what_moves():
    found = modes(linearise(Unit(), Soil(), Settings()), 1500.0)
    assert [one.kind for one in found] == [HEAVE, PITCH, BOUNCE, PRESS]
    heave, pitch, bounce, press = found
    assert abs(heave.heave) == pytest.approx(1.0)
    assert abs(pitch.pitch) * 2.2 == pytest.approx(1.0)
    assert abs(bounce.arm) * 0.55 == pytest.approx(1.0, rel=1e-3)
    # tyre and soil give way together by what the carrier moves
    assert bounce.tyre + bounce.soil == pytest.approx(-bounce.arm * 0.55, rel=2e-2)
    assert abs(press.press_arm) > 50.0 * abs(press.arm)
    assert bounce.speed(bounce.spacing(2.0)) == pytest.approx(2.0)
    level = modes(linearise(Unit(), Soil(), Settings(toolbar="level")), 1500.0)
    assert [one.kind for one in level] == [BOUNCE, PRESS]


def list_of(*swings, off=0.0, worst=None):
    return tuple(
        Crossed(2.0 + i, swing, (worst or swing), off if i else 0.0, 100.0) for i, swing in enumerate(swings)
    )  # fmt: skip


def test_verdicts():
    assert verdict(list_of(0.010, 0.020, 0.012), 0.01).kind == PEAK
    assert verdict(list_of(0.010, 0.012, 0.020), 0.01).kind == RISING
    assert verdict(list_of(0.020, 0.012, 0.010), 0.01).kind == FALLING
    assert verdict(list_of(0.0100, 0.0104, 0.0102), 0.01).kind == EVEN
    assert verdict((Crossed(2.0, problem="no"),), 0.01).kind == UNKNOWN


def test_speeds_within_the_tolerance_count_from_the_slowest_on():
    peak = verdict(list_of(0.008, 0.020, 0.009), 0.01)
    assert (peak.within, peak.all_within, peak.faster.speed, peak.keeping) == (2.0, False, 4.0, (2.0, 4.0))
    late = verdict(list_of(0.012, 0.020, 0.009), 0.01)
    assert (late.within, late.keeping) == (None, (4.0,))
    assert verdict(list_of(0.004, 0.006), 0.01).all_within
    off = verdict(list_of(0.004, 0.003, off=0.1), 0.01)
    assert (off.within, off.all_within, off.calmest.speed) == (2.0, False, 2.0)  # a wheel in the air is not calm
    assert off.least_off is None
    lifted = tuple(Crossed(2.0 + i, 0.004, 0.004, share, 100.0) for i, share in enumerate((0.4, 0.2, 0.6)))
    assert verdict(lifted, 0.01).least_off is lifted[1]
