"""The fixed step of a bar on wheels against the four stages of RK4 written out, and against the exact motion."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from every import every
from scipy.linalg import expm

from sim.toolbar.ride import matrix, ride

STEP, SPEED = 1.7e-3, 2.6


def bar(seed):
    """Three coordinates on five wheels, made up: more than the toolbar has, since the formulas hold for any."""
    rng = np.random.default_rng(seed)
    pressed = np.stack([np.ones(5), rng.uniform(-3.0, 3.0, 5), rng.uniform(-4.0, 4.0, 5)])
    return pressed, rng.uniform(1e5, 4e5, 5), rng.uniform(1e3, 2e4, 5), 1.0 / rng.uniform(2e3, 2e4, 3)


@every("seed", range(6))
def test_the_step_is_that_of_the_four_stages(seed):
    pressed, stiffness, damping, shares = bar(seed)
    found = ride(pressed, stiffness, damping, shares, SPEED, STEP)
    rng = np.random.default_rng(100 + seed)
    y = rng.normal(size=6)
    grounds = [(rng.normal(size=5) * 0.05, rng.normal(size=5) * 0.1) for _ in range(3)]  # heights, slopes at 0, h/2, h

    def rates(at, ground):
        """Wheel by wheel, straight from the forces."""
        q, v = at[0::2], at[1::2]
        height, slope = ground
        force = stiffness * (height - pressed.T @ q) + damping * (slope * SPEED - pressed.T @ v)
        out = np.empty(6)
        out[0::2], out[1::2] = v, shares * (pressed @ force)
        return out

    k1 = rates(y, grounds[0])
    k2 = rates(y + 0.5 * STEP * k1, grounds[1])
    k3 = rates(y + 0.5 * STEP * k2, grounds[1])
    k4 = rates(y + STEP * k3, grounds[2])
    expected = y + STEP / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
    asked = [found.by_height @ height + found.by_slope @ slope for height, slope in grounds]
    stepped = found.whole @ y + found.first @ asked[0] + found.middle @ asked[1] + found.last @ asked[2]
    assert stepped == pytest.approx(expected, rel=1e-12, abs=1e-13)
    assert found.own @ y + asked[0] == pytest.approx(k1[1::2], rel=1e-12, abs=1e-9)


@every("seed", range(3))
def test_without_ground_the_error_of_a_step_falls_as_its_fifth_power(seed):
    wheels = bar(seed)
    m = matrix(*wheels)
    errors = [np.abs(ride(*wheels, SPEED, h).whole - expm(h * m)).max() for h in (2e-3, 1e-3, 5e-4)]
    assert [a / b for a, b in pairwise(errors)] == pytest.approx([32.0, 32.0], rel=0.2)
