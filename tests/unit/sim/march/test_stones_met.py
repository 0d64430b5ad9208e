"""Which stone is met: by the disc's own place, each unsunk, and sunk from then on; one row and eight together."""

from __future__ import annotations

import math

import numpy as np
import two_stones
from two_stones import DX, SETTINGS, STEP, STEPS, X0, X_START

from sim.march import loop as kernel
from sim.march.march_rows import ROW_CHANNELS
from sim.march.rows import Case, Grounds, march_group, prepare_group
from sim.record import CHANNELS
from sim.unit import Soil, Unit

NAMES = [channel.name for channel in CHANNELS]
PLACES = SETTINGS.speed * STEP * np.arange(STEPS)  # of the disc: it hardly moves along


def alone(first: bool) -> np.ndarray:
    """Force of the stones on the disc of a row alone [N]."""
    made, y = two_stones.ready()
    out, pins = np.empty((kernel.N_CHANNELS, STEPS)), np.empty((STEPS, kernel.N_PINS))
    checks, sums, info = np.empty((STEPS, kernel.N_CHECKS)), np.zeros(kernel.N_SUMS), np.zeros(kernel.N_INFO)
    status = kernel.march(
        made.model, made.law, two_stones.table(first), two_stones.numbers(), X0, 1.0 / DX, np.zeros((2 * STEPS + 1, 6)),
        made.setting.toolbar_height, X_START, STEP, -math.pi, math.pi, y, out.reshape(-1), pins.reshape(-1),
        checks.reshape(-1), sums, info,
    )  # fmt: skip
    assert status == kernel.OK
    assert np.abs(out[NAMES.index("distance")] - PLACES).max() < 0.005
    return out[NAMES.index("rock_force")]


def test_a_row_alone_meets_each_stone_with_its_disc():
    two_stones.check(PLACES, alone(True), alone(False))


def test_rows_together_meet_each_stone_with_their_discs():
    group = prepare_group(Unit(), Soil(), two_stones.ROCK, [Case(0, SETTINGS), Case(1, SETTINGS)])
    tables = np.stack([two_stones.table(True), two_stones.table(False)])
    stones = np.stack([two_stones.numbers()] * 2)
    grounds = Grounds(tables, stones, X0, DX, np.zeros((2, 2 * STEPS + 3, 6)))
    chunks = [out.copy() for _, out in march_group(group, grounds, X_START, STEP, STEPS)]
    force = np.concatenate(chunks)[:, ROW_CHANNELS.index("rock_force")]
    two_stones.check(PLACES, force[:, 0], force[:, 1])
