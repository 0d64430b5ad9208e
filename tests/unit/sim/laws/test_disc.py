"""Soil on the disc and the boot by hand: along level ground, sinking in, and its signs."""

from __future__ import annotations

import math

import pytest
from packed_model import packed

from sim.laws.disc import boot_force, disc_force

STRENGTH, SPEED_TERM, WIDTH, RADIUS, FACE, FRICTION = 1.2e6, 1.4, 0.005, 0.28, 0.04, 0.3
TILT, SWEEP, DEPTH = math.radians(10), math.radians(5), 0.04
CHORD = math.sqrt(DEPTH * (2 * RADIUS - DEPTH))  # from the lowest point ahead to the ground
PER_LENGTH = STRENGTH * WIDTH * SPEED_TERM
ON_FACE = FACE * STRENGTH * SPEED_TERM * 2 / 3 * CHORD * DEPTH


def force(vz: float):
    return disc_force(
        DEPTH, 2.0, vz, STRENGTH, SPEED_TERM, WIDTH, RADIUS, FACE, FRICTION, math.sin(TILT), math.cos(TILT),
        math.sin(SWEEP), math.cos(SWEEP),
    )  # fmt: skip


@pytest.mark.parametrize("vz", [0.0, -0.2, 0.2])
def test_soil_on_the_disc_by_hand(vz):
    """Pressure on the arc from where the motion turns it to the ground ahead: R sin ψ_t further behind when sinking."""
    turned = -vz / math.hypot(2.0, vz)
    edge = PER_LENGTH * (CHORD + RADIUS * turned)
    back = PER_LENGTH * (DEPTH - RADIUS * (1.0 - math.sqrt(1.0 - turned**2)))
    back += ON_FACE * (math.sin(SWEEP) * math.cos(TILT) + FRICTION)
    up = edge + ON_FACE * math.sin(TILT) * math.cos(SWEEP)
    side = ON_FACE * math.cos(TILT) * math.cos(SWEEP)
    assert force(vz) == pytest.approx((-back, up, edge, ON_FACE, side), rel=1e-9)


@pytest.mark.parametrize(("vz", "bears"), [(-1.5, 2.0), (1.5, 0.0)])
def test_motion_steeper_than_the_arc(vz, bears):
    """Sinking, the arc bears on both sides of its lowest point, rising not at all: either way nothing along."""
    assert abs(vz) / math.hypot(2.0, vz) > CHORD / RADIUS
    f_x, _, edge, *_ = force(vz)
    assert edge == pytest.approx(bears * PER_LENGTH * CHORD, abs=1e-9)
    assert f_x == pytest.approx(-ON_FACE * (math.sin(SWEEP) * math.cos(TILT) + FRICTION), rel=1e-12)


def test_a_disc_at_rest_bears_as_one_that_moves_level():
    at_rest = disc_force(DEPTH, 0.0, 0.0, STRENGTH, SPEED_TERM, WIDTH, RADIUS, 0.0, FRICTION, 0.0, 1.0, 0.0, 1.0)
    assert at_rest[:3] == pytest.approx((-PER_LENGTH * DEPTH, PER_LENGTH * CHORD, PER_LENGTH * CHORD), rel=1e-12)


def test_the_boot_is_held_back_and_lifted_by_its_own_constants():
    m = packed()
    assert boot_force(m, 0.04, 0.5 * STRENGTH) == pytest.approx((-3000.0 * 0.02, 2000.0 * 0.02))
