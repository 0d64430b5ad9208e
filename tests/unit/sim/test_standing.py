"""The unit on scales, against moments worked out by hand for the demonstration unit."""

from __future__ import annotations

import math

import pytest

from sim.hydraulics.cylinder import downforce
from sim.run import prepare
from sim.standing import seal_hold, standing
from sim.unit import GRAVITY, Rock, Settings, Soil, Unit

UNIT, SETTINGS = Unit(), Settings()


def weighed(bar: float):
    crank = prepare(UNIT, Soil(), Rock(), SETTINGS).setting.crank_angle
    return standing(UNIT, Soil(), SETTINGS, crank, bar * 1e5)


@pytest.mark.parametrize("bar", [0.0, 20.0, 40.0, 60.0])
def test_both_wheels_carry_the_weight_and_the_downforce(bar):
    """With the arm level all that hangs on it counts whole, links and rod by half: 95 + 14 + 9 + 2 + 1.2 kg, and half
    of 2 × 10 and of 2 kg; 0.3 % for the arm's angle, which is not quite level.
    """
    found = weighed(bar)
    weight = (95.0 + 14.0 + 9.0 + 2.0 + 1.2 + 10.0 + 1.0) * GRAVITY
    assert found.gauge + found.press == pytest.approx(weight + downforce(UNIT, bar * 1e5), rel=3e-3)


@pytest.mark.parametrize("bar", [0.0, 40.0])
def test_press_wheel_balances_about_its_pivot(bar):
    """N L cos ψ = T₀ + k (ψ − ψ₀) + m g s cos ψ, with the unit's 0.35 m, 70 N m, 150 N m/rad, −16°, 9 kg at 0.28 m."""
    found = weighed(bar)
    psi = found.press_angle
    spring = 70.0 + 150.0 * (psi - math.radians(-16.0))
    assert found.press == pytest.approx(
        (spring + 9.0 * GRAVITY * 0.28 * math.cos(psi)) / (0.35 * math.cos(psi)), rel=1e-6
    )


def test_pressure_is_that_of_the_gauge_whatever_the_precharge():
    crank = math.radians(97.6)
    low, high = (standing(UNIT, Soil(), Settings(precharge=precharge), crank, 40e5).gauge for precharge in (10e5, 60e5))
    assert low == pytest.approx(high, rel=1e-9)


def test_seal_friction_holds_by_its_force_times_the_motion_ratio():
    """40 N and 3 % of 40 bar on 804 mm², times the ratio that makes 139 kgf of 40 bar."""
    force = 40e5 * math.pi / 4.0 * 0.032**2
    ratio = downforce(UNIT, 40e5) / force
    assert seal_hold(UNIT, 40e5) == pytest.approx((40.0 + 0.03 * force) * ratio, rel=1e-9)
