"""The cylinder's geometry, said twice: from a unit's parameters and compiled from the packed model."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from every import every
from packed_model import CRANK, packed

from sim.hydraulics.cylinder import (
    cylinder_geometry,
    cylinder_length,
    downforce,
    length_slope,
    lever,
    motion_ratio,
    piston_area,
    swept,
)
from sim.mechanism.linkage import closures
from sim.unit import MainLinks, Unit

ANGLES = (-0.4, -0.05, 0.0, 0.3)
TILTED = replace(Unit(), main_links=replace(MainLinks(), angle_nominal=0.1))


def test_piston_area_of_the_demonstration_unit():
    assert piston_area(Unit()) == pytest.approx(8.04248e-4, rel=1e-6)  # 32 mm, by hand


@every("angle", ANGLES)
def test_slope_is_the_derivative_of_the_length(angle):
    h = 1e-5
    by_difference = (cylinder_length(Unit(), angle + h) - cylinder_length(Unit(), angle - h)) / (2 * h)
    assert length_slope(Unit(), angle) == pytest.approx(by_difference, rel=1e-8)


@every("angle", ANGLES)
def test_the_march_has_the_same_cylinder(angle):
    m = packed(Unit())
    at = cylinder_geometry(m, closures(m, angle))
    assert at.length == pytest.approx(cylinder_length(Unit(), angle), rel=1e-13)
    assert at.length_t == pytest.approx(length_slope(Unit(), angle), rel=1e-12)
    assert math.hypot(at.ux, at.uz) == pytest.approx(1.0, rel=1e-14)
    assert motion_ratio(m, closures(m, angle)) == pytest.approx(abs(lever(Unit(), angle).ratio), rel=1e-12)
    assert m.area == piston_area(Unit())


@every("unit", [Unit(), TILTED], ids=["level", "tilted"])
def test_lever_and_downforce_are_one(unit):
    """Power of a small lift: what the disc does is what the piston does, F_z dz = −p A dL."""
    nominal = unit.main_links.angle_nominal
    at = lever(unit, nominal)
    assert at.height == 0.0
    assert downforce(unit, 60e5) == pytest.approx(60e5 * piston_area(unit) * at.ratio, rel=1e-13)
    h = 1e-5
    up, down = lever(unit, nominal + h), lever(unit, nominal - h)
    assert -(up.length - down.length) / (up.height - down.height) == pytest.approx(at.ratio, rel=1e-8)
    assert (up.ratio - down.ratio) / (up.height - down.height) == pytest.approx(at.ratio_rate, rel=1e-6)
    assert swept(unit, nominal) == 0.0
    assert swept(unit, nominal + 0.1) == pytest.approx(
        piston_area(unit) * (cylinder_length(unit, nominal + 0.1) - at.length), rel=1e-12
    )


def test_a_packed_model_keeps_the_nominal_length():
    assert packed(TILTED, CRANK).cyl_nominal == cylinder_length(TILTED, 0.1)
