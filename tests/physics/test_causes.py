"""The five parts of the depth error: they add up, and each moves alone when its own cause is moved.

Parts are read from the kernel's own record of a prescribed state (a march of one sample), so that one thing can be
moved while all else is held.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from every import every
from packed_model import CRANK, packed
from reduced_unit import level_table, march_from

from sim.ground_tables import ground_tables
from sim.laws.contact import COLUMN, read_table
from sim.laws.gas import NITROGEN
from sim.mechanism.kinematics import State
from sim.mechanism.linkage import drift, wheel_over_disc
from sim.record import CAUSES
from sim.unit import DepthLinkage, Settings, Unit

KMH = 1 / 3.6
CROOKED = replace(Unit(), depth_linkage=DepthLinkage(crank_pivot=(0.012, 0.010), turnbuckle=0.520))


@pytest.mark.parametrize("track", ["flat", "class C", "class D", "stony", "drop", "waves"])
@pytest.mark.parametrize("unit", [Unit(), CROOKED], ids=["true", "crooked"])
def test_parts_add_up_at_every_sample(cross, track, unit):
    run = cross(track, Settings(speed=10 * KMH), unit)
    total = sum(run.series[name] for name in CAUSES)
    assert np.abs(run.series["depth"] - run.settings.set_depth - total).max() < 1e-9


def parts(
    unit: Unit | None = None,
    *,
    arm: float = 0.0,
    pitch: float = 0.0,
    height: float = 0.0,
    disc_ground: float = 0.0,
    wheel_ground: float = 0.0,
    deflection: float = 0.005,
    squash_set: float = 0.011,
) -> dict[str, float]:
    """Depth error and its parts [m] of one prescribed state; heights from the reference setting on flat ground."""
    unit = unit or Unit()
    over = wheel_over_disc(unit, CRANK, 0.0)
    m = packed(unit)._replace(squash_set=squash_set, over_set=over, set_depth=over + squash_set)
    table = level_table(0.0)
    table[COLUMN.surface] += disc_ground
    table[COLUMN.ahead] += disc_ground
    table[COLUMN.gauge] += wheel_ground
    # at the reference the wheel's bottom is squash_set under the ground
    z_bar = -squash_set - over - (unit.toolbar.upper_pin[1] + unit.disc.hub[1] - unit.disc.radius) + height
    path = np.zeros((3, 6))
    path[:, 3] = pitch
    y = State(arm, 0.0, -0.27, 0.0, deflection, 0.003, 293.15, 0.0)
    got = march_from(m, NITROGEN, y, step=1e-3, steps=1, z_bar=z_bar, table=table, path=path)
    found = {name: float(got.series[name][0]) for name in CAUSES}
    found["error"] = float(got.series["depth"][0]) - m.set_depth
    assert sum(found[name] for name in CAUSES) == pytest.approx(found["error"], abs=1e-15)
    return found


def moved(a: dict[str, float], b: dict[str, float]) -> dict[str, float]:
    """Names and changes [m] of what differs by more than rounding."""
    return {name: b[name] - a[name] for name in a if abs(b[name] - a[name]) > 1e-14}


def test_reference_has_no_error():
    assert all(abs(value) < 1e-15 for value in parts().values())


def test_ground_under_the_disc_moves_ground_shape_alone():
    change = moved(parts(), parts(disc_ground=0.004))
    assert change == pytest.approx({"ground_shape": 0.004, "error": 0.004})


def test_squash_moves_tyre_and_sinkage_alone():
    """The whole unit 3 mm lower: tyre and soil give 3 mm more."""
    change = moved(parts(), parts(height=-0.003))
    assert change == pytest.approx({"tyre_and_sinkage": 0.003, "error": 0.003})


def test_share_of_tyre_and_soil_in_the_squash_does_not_matter():
    assert moved(parts(), parts(deflection=0.002)) == {}


def test_a_softer_tyre_at_the_setting_moves_tyre_and_sinkage_alone():
    """Another squash at the setting with the same geometry now: the part that refers to it moves, no other."""
    before, after = parts(), parts(squash_set=0.013, height=0.002)
    assert moved(before, after) == pytest.approx({"tyre_and_sinkage": -0.002, "error": -0.002})


def test_arm_travel_of_a_true_linkage_moves_nothing():
    for arm in np.radians([-20.0, 10.0, 25.0]):
        down = 0.55 * math.sin(arm)
        assert moved(parts(), parts(arm=float(arm), height=-down)) == {}


@every("degrees", [-20.0, 10.0, 25.0])
def test_arm_travel_of_a_crooked_linkage_moves_linkage_alone(degrees):
    """Wheel held at its height, arm turned: the error is the linkage's drift."""
    arm = math.radians(degrees)
    drifted = float(drift(CROOKED, CRANK, np.array([arm]))[0])
    change = moved(parts(CROOKED), parts(CROOKED, arm=arm, height=-0.55 * math.sin(arm) - drifted))
    assert abs(drifted) > 1e-3
    assert change == pytest.approx({"linkage": drifted, "error": drifted})


@every("pitch", [-0.03, 0.02])
def test_pitch_moves_toolbar_pitch_alone(pitch):
    """Toolbar turned with the wheel's bottom held: the wheel is behind the disc, so nose up makes it shallower."""
    unit = Unit()
    crank = CRANK
    over = wheel_over_disc(unit, crank, 0.0)
    arm, disc = unit.gauge_wheel, unit.disc
    axle_z = disc.hub[1] - disc.radius + over + arm.radius
    axle_x = arm.arm_pivot[0] - math.sqrt(arm.arm_length**2 - (arm.arm_pivot[1] - axle_z) ** 2)
    u1 = (unit.toolbar.upper_pin[0] - 0.55, unit.toolbar.upper_pin[1])
    wheel = (u1[0] + axle_x, u1[1] + axle_z)
    hub = (u1[0] + disc.hub[0], u1[1] + disc.hub[1])

    def lifted(point):
        return math.sin(pitch) * point[0] + (math.cos(pitch) - 1.0) * point[1]

    change = moved(parts(), parts(pitch=pitch, height=-lifted(wheel)))
    expected = lifted(wheel) - lifted(hub)
    assert change == pytest.approx({"toolbar_pitch": expected, "error": expected}, rel=1e-9)
    assert expected * pitch < 0.0


def test_gap_moves_lift_off_alone():
    """With the wheel in the air a higher unit has a larger gap; the squash stays at its loss of the whole setting."""
    touching = parts(height=0.011 + 1e-12, deflection=0.0)
    flying = parts(height=0.011 + 0.006, deflection=0.0)
    assert touching["tyre_and_sinkage"] == pytest.approx(-0.011, abs=1e-11)
    change = moved(touching, flying)
    assert change == pytest.approx({"lift_off": -0.006, "error": -0.006}, abs=1e-11)
    assert flying["tyre_and_sinkage"] == pytest.approx(-0.011, abs=1e-15)


def test_higher_ground_under_the_wheel_is_shape_against_squash():
    """A unit held still over a rise under its wheel: the shape makes it shallower, the squash by as much deeper."""
    change = moved(parts(), parts(wheel_ground=0.004))
    assert change == pytest.approx({"ground_shape": -0.004, "tyre_and_sinkage": 0.004})


# the same in whole runs


def test_pressure_on_flat_ground_is_all_tyre_and_sinkage(cross):
    run = cross("flat", Settings(oil_pressure=90e5, setting="unchanged"))
    error = run.series["depth"][-1] - run.settings.set_depth
    assert error > 5e-3
    assert run.series["tyre_and_sinkage"][-1] == pytest.approx(error, abs=1e-12)
    for name in ("ground_shape", "linkage", "toolbar_pitch", "lift_off"):
        assert np.abs(run.series[name]).max() < 1e-12


def test_true_linkage_and_level_toolbar_have_no_part_on_any_ground(cross):
    run = cross("class D", Settings(speed=10 * KMH, toolbar="level"))
    assert np.abs(run.series["linkage"]).max() < 1e-13
    assert np.abs(run.series["toolbar_pitch"]).max() < 1e-15
    carried = cross("class D", Settings(speed=10 * KMH))
    assert np.abs(carried.series["linkage"]).max() < 1e-13
    assert carried.series["toolbar_pitch"].std() > 1e-5


def test_linkage_part_is_the_drift_at_the_arm_angle_of_each_sample(cross):
    run = cross("class D", Settings(speed=10 * KMH), CROOKED)
    pick = slice(0, None, 97)
    exact = drift(CROOKED, run.setting.crank_angle, run.series["arm_angle"][pick])
    assert run.series["linkage"][pick] == pytest.approx(exact, abs=1e-12)
    assert np.abs(exact).max() > 1e-4


def test_ground_shape_is_read_from_the_track_at_both_contact_points(cross):
    """h(disc) − h_R(wheel), positions from the recorded toolbar and arm, envelopes and tables afresh."""
    run = cross("class D", Settings(speed=10 * KMH))
    unit, s, track = run.unit, run.series, run.track
    tables = ground_tables(unit, track, run.settings.set_depth).table
    arm, disc = unit.gauge_wheel, unit.disc
    axle_z = disc.hub[1] - disc.radius + run.setting.wheel_over_disc + arm.radius
    axle_x = arm.arm_pivot[0] - math.sqrt(arm.arm_length**2 - (arm.arm_pivot[1] - axle_z) ** 2)
    for i in range(0, s["time"].size, 211):
        p = s["pitch"][i]
        apart = math.cos(p) * (axle_x - disc.hub[0]) - math.sin(p) * (axle_z - disc.hub[1])
        at = s["distance"][i]
        under_disc = read_table(tables, COLUMN.surface, track.x0, 1 / track.dx, at)[0]
        under_wheel = read_table(tables, COLUMN.gauge, track.x0, 1 / track.dx, at + apart)[0]
        assert s["ground_shape"][i] == pytest.approx(under_disc - under_wheel, abs=1e-10)


def test_lift_off_and_gauge_load_exclude_each_other(cross):
    run = cross("class D", Settings(speed=15 * KMH))
    flying = run.series["lift_off"] < 0.0
    assert flying.any()
    assert (run.series["gauge_load"][flying] == 0.0).all()
    assert (run.series["lift_off"][run.series["gauge_load"] > 0.0] == 0.0).all()
