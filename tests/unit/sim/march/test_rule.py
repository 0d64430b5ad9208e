"""The rule of a step against closed forms: its order, what it integrates exactly, and from where on it is unstable.

A state of one number, the linear equation y' = λy + g(t); stages and weights are those of the marches.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from sim.march.rule import ahead, foreseen, middle, reach, stages, trial, weight
from sim.mechanism.kinematics import State

ONE = len(State._fields)


def state(number):
    """A State of one number in all its places."""
    return State(*[number] * ONE)


def marched(slope, y, h, steps, *, linked):
    """y after so many steps of y' = slope(t, y), and where its slope was read last; the first step begins anew."""
    y = seen = state(y)
    before = None
    for i in range(steps):
        going = linked and before is not None
        t = i * h
        at_start = mid = begun = state(slope(t, seen.th))
        total = ahead(y, at_start, h / 6.0 * weight(0, False, going))
        ys = middle(y, seen, at_start, before, h) if going else trial(y, at_start, begun, 1, False, h)
        for stage in range(1, stages(False, going)):
            now = state(slope(t + h * reach(stage, False), ys.th))
            total = ahead(total, now, h / 6.0 * weight(stage, False, going))
            if stage == 1:
                mid = now
            ys = trial(y, now, begun, stage + 1, False, h)
        if going:
            seen = foreseen(y, at_start, before, mid, h)
            y = ahead(total, state(slope(t + h, seen.th)), h / 6.0)
        else:
            y = seen = total
        before = mid
    return y.th, seen.th


@pytest.mark.parametrize("linked", [False, True])
def test_order_three(linked):
    """y' = −3y + 2cos(5t) over a second: errors fall by 2³ with each halving, of foreseen states too."""

    def exact(t):
        # particular solution (6cos5t + 10sin5t)/34, the rest decays
        return (6.0 * math.cos(5.0 * t) + 10.0 * math.sin(5.0 * t)) / 34.0 + (1.0 - 6.0 / 34.0) * math.exp(-3.0 * t)

    def slope(t, y):
        return -3.0 * y + 2.0 * math.cos(5.0 * t)

    found = [marched(slope, 1.0, 1.0 / n, n, linked=linked) for n in (512, 1024)]
    for coarse, fine in zip(*found, strict=True):
        assert math.log2(abs(coarse - exact(1.0)) / abs(fine - exact(1.0))) == pytest.approx(3.0, abs=0.15)


@pytest.mark.parametrize("linked", [False, True])
def test_what_hangs_on_time_alone_is_weighed_as_by_simpsons_rule(linked):
    """A cubic is integrated to rounding, in steps of any length."""
    got, _ = marched(lambda t, _: 4.0 * t**3 - 6.0 * t + 1.0, 0.0, 0.7, 5, linked=linked)
    assert got == pytest.approx(3.5**4 - 3.0 * 3.5**2 + 3.5, rel=1e-13)


@pytest.mark.parametrize(("contact", "linked"), [(True, False), (False, False), (False, True)])
def test_weights_of_a_step_add_up(contact, linked):
    counted = sum(weight(stage, contact, linked) for stage in range(stages(contact, linked)))
    assert counted + (1.0 if linked else 0.0) == 6.0
    assert all(weight(stage, contact, linked) == 0.0 for stage in range(stages(contact, linked), 4))


def left_over(z):
    """By what a linked step of y' = λy multiplies at most what stands before it; z = hλ."""

    def step(y, seen, before):
        y, seen, before = state(y), state(seen), state(before)
        begun = state(z * seen.th)
        mid = state(z * middle(y, seen, begun, before, 1.0).th)
        end = foreseen(y, begun, before, mid, 1.0)
        return (y.th + (begun.th + 4.0 * mid.th + z * end.th) / 6.0, end.th, mid.th)

    once = np.array([step(*row) for row in np.eye(3, dtype=complex)])
    return np.abs(np.linalg.eigvals(once)).max()


def test_how_stiff_a_linked_step_may_be():
    """Bounds that `sim.step` builds on: a decay is gone in a few steps, a swing does not grow."""
    assert left_over(-2.33) < 1.0 < left_over(-2.35)
    assert left_over(-2.0) == pytest.approx(0.55, abs=0.005)
    assert max(left_over(-z) for z in np.linspace(0.8, 1.8, 21)) < 0.4
    for turned in np.linspace(90.0, 180.0, 19):
        z = np.exp(1j * math.radians(turned))
        assert max(left_over(size * z) for size in np.linspace(0.02, 1.17, 24)) < 1.0
    assert left_over(1.2j) > 1.0


def test_without_a_step_before_the_middle_is_half_a_step_on():
    y, begun = state(0.3), state(-1.7)
    assert middle(y, y, begun, begun, 0.25) == pytest.approx(trial(y, begun, begun, 1, False, 0.25), rel=1e-15)
