"""Seals and fitting as a damper: against closed forms of the describing function and of statistical linearisation."""

from __future__ import annotations

import math

import numpy as np
import pytest

from analysis.modes.drag import drag_of, settled
from sim.linear import linearise
from sim.unit import Cylinder, Settings, Soil, Unit


def drag(**cylinder):
    return drag_of(linearise(Unit(cylinder=Cylinder(**cylinder)), Soil(), Settings()))


def test_friction_takes_as_much_as_its_damper():
    """A force F against all motion: 4F/(πV) of a swing V, √(2/π) F/σ of a random motion σ (both `derived`)."""
    found = drag(seal_force=100.0, seal_factor=0.0, orifice=1.0, line=0.0)
    for speed in (0.2, 0.5):  # far beyond the 5 mm/s over which it turns
        assert found.of_swing(np.array([speed]))[0] == pytest.approx(400.0 / (math.pi * speed), rel=2e-3)
        assert found.of_random(speed) == pytest.approx(math.sqrt(2.0 / math.pi) * 100.0 / speed, rel=1e-2)
    assert found.held == pytest.approx(100.0 / 0.005, rel=1e-4)


def test_the_fitting_takes_as_much_as_its_damper():
    """A drag K V|V|: 8KV/(3π) of a swing, √(8/π) Kσ of a random motion (both `derived`)."""
    unit = Unit(cylinder=Cylinder(seal_force=0.0, seal_factor=0.0))
    linear = linearise(unit, Soil(), Settings())
    found = drag_of(linear)
    square = linear.model.area**3 * 870.0 / (2.0 * (0.65 * math.pi / 4.0 * 0.004**2) ** 2)
    assert found.of_swing(np.array([0.1]))[0] == pytest.approx(8.0 * square * 0.1 / (3.0 * math.pi), rel=2e-3)
    assert found.of_random(0.05) == pytest.approx(math.sqrt(8.0 / math.pi) * square * 0.05, rel=2e-3)


def test_no_drag_is_no_damper():
    assert drag(seal_force=0.0, seal_factor=0.0, orifice=1.0).of_swing(np.array([0.1]))[0] == pytest.approx(
        0.0, abs=1e-2
    )


def test_the_damper_settles_where_motion_and_drag_agree():
    """Speed 1/(1 + rub) and friction 0.5: rub = 0.5 (1 + rub), so 1."""
    rub = settled(lambda speed: 0.5 / speed, lambda rub: 1.0 / (1.0 + rub), np.zeros(1))
    assert rub[0] == pytest.approx(1.0, rel=1e-5)
