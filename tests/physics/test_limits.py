"""Limits and symmetries: things that must make no difference, and cases whose answer is known beforehand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import synthetic_ground

from sim.record import CAUSES, PINS
from sim.run import simulate
from sim.track import flat_track
from sim.unit import GRAVITY, Accumulator, Carrier, Cylinder, PressWheel, Settings, Soil, Unit

KMH = 1 / 3.6
TEN = Settings(speed=10 * KMH)


def test_no_roughness_is_flat(cross):
    run = cross("flat")
    for name in CAUSES:
        assert np.abs(run.series[name]).max() < 1e-9
    assert run.series["carrier_acceleration"].std() < 1e-9
    assert run.series["gauge_load"].std() < 1e-6


def test_small_ground_is_linear():
    """Half the ground, half the answer: waves of a tenth of a millimetre, all wheels down."""

    def swing(amplitude: float) -> np.ndarray:
        track = synthetic_ground.shaped(15.0, lambda x: amplitude * np.sin(2 * np.pi * x / 1.3))
        run = simulate(Unit(), Soil(), track, TEN)
        return run.series["gauge_load"] - run.setting.gauge_load

    large, small = swing(2e-4), swing(1e-4)
    assert np.abs(large - 2 * small).max() < 0.05 * np.abs(large).max()
    assert np.abs(large).max() > 1.0


def test_where_the_track_begins_makes_no_difference(cross):
    track = synthetic_ground.named("stony")
    shifted = replace(track, x0=track.x0 + 100.0, x_from=track.x_from + 100.0, x_to=track.x_to + 100.0)
    run, moved = cross("stony", TEN), simulate(Unit(), Soil(), shifted, TEN)
    assert np.abs(moved.series["depth"] - run.series["depth"]).max() < 1e-7
    assert np.abs(moved.series["distance"] - run.series["distance"] - 100.0).max() < 1e-9


def test_a_buried_stone_makes_no_difference(cross):
    """A stone whose top lies under the reach of the disc is not felt."""
    buried = synthetic_ground.with_stone(flat_track(12.0, synthetic_ground.FIRM), 4.0, 0.30, -0.10)
    run = simulate(Unit(), Soil(), buried, TEN)
    assert run.series["rock_force"].max() == 0.0
    assert np.abs(run.series["depth"] - 0.040).max() < 1e-7


def test_a_stone_under_the_surface_is_felt_by_the_disc_alone(cross):
    """Top 20 mm under the surface, disc at 40 mm: the disc strikes, wheels and surface stay flat."""
    track = synthetic_ground.with_stone(flat_track(12.0, synthetic_ground.FIRM), 4.0, 0.30, -0.020)
    run = simulate(Unit(), Soil(), track, TEN)
    assert run.series["rock_force"].max() > 2e3
    assert np.abs(run.series["ground_shape"]).max() < 1e-12
    assert np.abs(track.surface).max() == 0.0


def test_a_lifted_press_wheel_leaves_its_load_to_the_others(cross):
    """The press arm held high by its spring: no load under it, its weight and nothing else on its pivot."""
    lifted = replace(Unit(), press_wheel=PressWheel(preload=-60.0, spring=400.0, spring_angle=0.05))
    run = cross("flat", unit=lifted)
    assert run.series["press_load"].max() == 0.0
    pivot = run.pins[-1, PINS.index("press_arm")]
    assert pivot == pytest.approx([0.0, 9.0 * GRAVITY], abs=1e-6)
    usual = cross("flat")
    gain = run.setting.gauge_load - usual.setting.gauge_load
    assert gain == pytest.approx(usual.series["press_load"][-1], rel=0.02)


def test_level_toolbar_stands_still(cross):
    run = cross("class D", replace(TEN, toolbar="level"))
    assert np.ptp(run.series["toolbar_height"]) == 0.0
    assert np.abs(run.series["pitch"]).max() == 0.0


def test_an_endless_accumulator_keeps_its_pressure(cross):
    """A thousand times the gas: the cylinder's pressure is constant but for line and friction."""
    unit = replace(Unit(), accumulator=Accumulator(volume=0.7))
    run = cross("class D", TEN, unit)
    assert np.ptp(run.series["oil_pressure"]) < 0.01 * 60e5
    assert np.ptp(cross("class D", TEN).series["oil_pressure"]) > 10 * np.ptp(run.series["oil_pressure"])


def test_no_cylinder_leaves_the_weight(cross):
    """A bore of next to nothing: the wheels and the disc carry the unit's own weight, wherever it stands."""
    unit = replace(Unit(), cylinder=Cylinder(bore=1e-4, seal_force=0.0), carrier=Carrier(mass=300.0))
    run = cross("flat", unit=unit)
    s = {name: x[-1] for name, x in run.series.items()}
    ground = s["gauge_load"] + s["press_load"] + s["disc_vertical"] + 80.0
    # links by half, rod by half (its other end is the crank on the toolbar)
    carried = 300.0 + 10.0 + 14.0 + 9.0 + 2.0 + 1.2 + 2.0 / 2
    assert ground == pytest.approx(carried * GRAVITY, rel=2e-3)


def test_vertical_balance_with_the_downforce(cross):
    """Ground forces = weight carried + the downforce that `Run` states, at the nominal arm angle."""
    run = cross("flat")
    s = {name: x[-1] for name, x in run.series.items()}
    ground = s["gauge_load"] + s["press_load"] + s["disc_vertical"] + 80.0
    carried = 95.0 + 10.0 + 14.0 + 9.0 + 2.0 + 1.2 + 2.0 / 2
    assert ground - carried * GRAVITY == pytest.approx(run.downforce, rel=1e-9)


def test_mean_forces_balance_over_rough_ground(cross):
    """Over a long stretch the ground carries weight and downforce: no force is lost on the way."""
    run = cross("class D", replace(TEN, toolbar="level", speed=6 * KMH))
    s = run.series
    force = s["gauge_load"] + s["press_load"] + s["disc_vertical"] + 2000.0 * np.clip(s["depth"], 0.0, None)
    carried = (95.0 + 10.0 + 14.0 + 9.0 + 2.0 + 1.2 + 2.0 / 2) * GRAVITY
    assert force.mean() == pytest.approx(carried + run.downforce, rel=0.02)


def test_slow_travel_follows_the_statics(cross):
    """At 1 km/h over long waves nothing swings: the unit stands at each place as at rest there."""
    run = cross("waves", Settings(speed=1 * KMH, toolbar="level", reference_speed=1 * KMH))
    depth = run.series["depth"] - 0.040
    assert np.abs(run.series["carrier_acceleration"]).max() < 0.1
    assert np.abs(depth - run.series["ground_shape"] - run.series["tyre_and_sinkage"]).max() < 1e-12


def test_mirrored_waves_give_mirrored_small_answers(cross):
    """Small waves turned upside down give the answer upside down."""

    def swing(sign: float) -> np.ndarray:
        track = synthetic_ground.shaped(15.0, lambda x: sign * 1e-4 * np.sin(2 * np.pi * x / 1.3))
        run = simulate(Unit(), Soil(), track, TEN)
        return run.series["pitch"], run.series["gauge_load"] - run.setting.gauge_load

    (p1, n1), (p2, n2) = swing(1.0), swing(-1.0)
    assert np.abs(p1 + p2).max() < 1e-3 * np.abs(p1).max() + 1e-12
    assert np.abs(n1 + n2).max() < 0.05 * np.abs(n1).max()


def test_stiffer_toolbar_tyres_follow_the_ground_more_closely(cross):
    """Toolbar on very stiff axles over long waves: O follows the mean of the axles' ground."""
    stiff = replace(Unit(), toolbar=replace(Unit().toolbar, stiffness=5e6, damping=1e5))
    run = cross("waves", replace(TEN, speed=4 * KMH), stiff)
    k = 2 * math.pi / 2.5
    expected = 0.030 * abs(math.cos(k * 2.2))
    middle = run.series["distance"] > 3.0
    assert np.ptp(run.series["toolbar_height"][middle]) / 2 == pytest.approx(expected, rel=0.05)
