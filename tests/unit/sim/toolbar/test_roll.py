"""The rolling toolbar against the one that heaves and pitches, closed forms of roll, pieces against the whole."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sim.toolbar.path import PATH_STEP, path
from sim.toolbar.roll import RollingBar, row_paths
from sim.unit import Unit

DX, X0, SPEED, NODE = 0.005, -12.0, 2.2, 0.0018
UNIT = Unit()


def rough(lines: int, seed: int = 2, n: int = 12000) -> np.ndarray:
    """Smooth random ground for each wheel, flat at its start."""
    rng = np.random.default_rng(seed)
    x = np.arange(n) * DX
    waves = sum(0.02 / k * np.sin(k * x[None, :] * 0.7 + 2 * math.pi * rng.random((lines, 1))) for k in range(1, 9))
    return np.clip((x - 12.0) / 6.0, 0.0, 1.0) ** 2 * waves


def bar(front=(-1.5, 1.5), rear=(-3.0, 3.0), roll=2e4, speed=SPEED) -> RollingBar:
    return RollingBar(UNIT, front, rear, roll, speed, NODE, 0.0)


def test_one_ground_for_all_wheels_gives_heave_and_pitch_as_before_and_no_roll():
    line = rough(1)[0]
    plain = path(UNIT, line, X0, DX, 0.0, SPEED, NODE, 6000, True)
    nodes = bar().nodes(np.stack([line] * 4), X0, DX, 6000)
    assert nodes[:, :6] == pytest.approx(plain, abs=1e-10)
    assert np.abs(nodes[:, 6:]).max() < 1e-12


def test_the_front_axle_of_a_machine_stands_in_front():
    """Axles at unlike distances: heave and pitch of the plain toolbar on the same ground."""
    unit = replace(UNIT, toolbar=replace(UNIT.toolbar, axle_front=3.0, axle_rear=1.0))
    line = rough(1)[0]
    rolling = RollingBar(unit, (-1.5, 1.5), (-3.0, 3.0), 2e4, SPEED, NODE, 0.0)
    plain = path(unit, line, X0, DX, 0.0, SPEED, NODE, 6000, True)
    assert rolling.nodes(np.stack([line] * 4), X0, DX, 6000)[:, :6] == pytest.approx(plain, abs=1e-10)


def test_pieces_give_the_same_bits_as_the_whole():
    ground = rough(4)
    whole = bar().nodes(ground, X0, DX, 6000)
    pieces = bar()
    parts = [pieces.nodes(ground, X0, DX, n) for n in (1, 700, 3001, 6000)]
    assert (np.concatenate(parts) == whole).all()


def test_pieces_of_a_finer_grid_give_the_same_motion_as_the_whole():
    """Each piece gets the ground around it alone, from a whole number of the path's points on."""
    dx, start = PATH_STEP / 4, round(X0 / PATH_STEP)
    ground = np.repeat(rough(4), 4, axis=1) + 1e-3 * np.random.default_rng(3).random((4, 48_000))
    whole, pieces = bar().nodes(ground, X0, dx, 6000), bar()
    parts = [pieces.nodes(ground, X0, dx, 2000)]
    for upto in (3001, 6000):
        low = math.floor((pieces.done * NODE * SPEED - 4.0) / PATH_STEP)
        first = 4 * (low - start)
        parts.append(pieces.nodes(ground[:, first:], low * PATH_STEP, dx, upto))
    assert np.concatenate(parts) == pytest.approx(whole, abs=1e-12)


def test_a_step_under_the_left_wheels_rolls_it_to_the_left_wheels_height():
    """At rest again on two levels: z = h/2 and r = h/(2y), whatever the stiffness."""
    x = X0 + DX * np.arange(16000)
    high = 0.08 * np.clip((x - 2.0) / 4.0, 0.0, 1.0)
    low = np.zeros_like(high)
    nodes = bar(front=(-2.0, 2.0), rear=(-2.0, 2.0)).nodes(np.stack([low, high, low, high]), X0, DX, 12000)
    assert nodes[-1, 0] == pytest.approx(0.04, rel=1e-3)
    assert nodes[-1, 6] == pytest.approx(0.08 / 4.0, rel=1e-3)
    left, right = row_paths(nodes[-1:], np.array([2.0, -2.0]))[:, 0, 0]
    assert (left, right) == (pytest.approx(0.08, rel=1e-3), pytest.approx(0.0, abs=1e-4))


def test_roll_swings_at_its_natural_frequency():
    """ω² = Σ k y²/I without damping: a short kick on one side, then free."""
    roll, y = 5e3, 1.5
    x = X0 + DX * np.arange(16000)
    kick = 0.05 * np.exp(-(((x - 4.0) / 0.8) ** 2))
    flat = np.zeros_like(kick)
    nodes = bar(front=(-y, y), rear=(-y, y), roll=roll, speed=6.0).nodes(
        np.stack([flat, kick, flat, kick]), X0, DX, 4000
    )
    passed = math.ceil(7.5 / 6.0 / NODE)  # the wheels are past the kick
    after = nodes[passed:, 6]
    crossings = np.flatnonzero(np.diff(np.sign(after)) > 0)[:4]
    fractions = crossings - after[crossings] / (after[crossings + 1] - after[crossings])
    period = np.diff(fractions).mean() * NODE
    k, c = UNIT.toolbar.stiffness, UNIT.toolbar.damping
    undamped = math.sqrt(2.0 * k * y**2 / roll)
    zeta = c * y / math.sqrt(2.0 * k * roll)
    assert 2.0 * math.pi / period == pytest.approx(undamped * math.sqrt(1.0 - zeta**2), rel=2e-3)


def test_rows_have_the_bars_pitch_and_their_own_heave():
    nodes = bar().nodes(rough(4), X0, DX, 3000)
    paths = row_paths(nodes, np.array([-4.375, 0.0, 4.375]))
    assert (paths[1, :, :3] == nodes[:, :3]).all()
    assert (paths[:, :, 3:] == nodes[:, 3:6]).all()
    assert paths[2, :, :3] - paths[0, :, :3] == pytest.approx(8.75 * nodes[:, 6:], abs=1e-9)
    assert np.abs(nodes[:, 6]).max() > 1e-3


def test_acceleration_is_the_derivative_of_the_rate():
    nodes = bar().nodes(rough(4), X0, DX, 6000)
    for column in (0, 3, 6):
        rate, acceleration = nodes[:, column + 1], nodes[:, column + 2]
        central = (rate[2:] - rate[:-2]) / (2.0 * NODE)
        assert central == pytest.approx(acceleration[1:-1], abs=1e-2 * np.abs(acceleration).max())


@pytest.mark.parametrize("steps", [(4, 8)])
def test_order_of_convergence(steps):
    """Halving the node's parts on smooth ground leaves 1/16 of the error (RK4)."""
    ground = rough(4)

    def last(per_node: int) -> np.ndarray:
        made = RollingBar(UNIT, (-1.5, 1.5), (-3.0, 3.0), 2e4, SPEED, 0.036, 0.0)
        made.per_node = per_node
        return made.nodes(ground, X0, DX, 320)[300, [0, 3, 6]]

    exact = last(128)
    coarse, fine = (np.abs(last(n) - exact).max() for n in steps)
    assert math.log2(coarse / fine) > 3.3
