"""Ground tables: tracks as the unit's wheels and disc feel them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel, routine
from sim.arithmetic.simd import WIDTH, as_lanes, lane, load, smallest
from sim.laws.contact import COLUMN, COLUMNS
from sim.laws.envelope import BLOCK, average, circle_of, dilate, level_ends, span_of, steepen
from sim.laws.hard_profile import OUT_OF_REACH, hard_profile
from sim.laws.wheel_soil import CONTACT_LENGTH
from sim.track import Track
from sim.unit import Unit

Values = NDArray[np.float64]


@dataclass(frozen=True)
class GroundTables:
    """Ground as the unit's wheels and disc feel it."""

    table: Values  # (COLUMNS, n): sim.laws.contact.GroundColumns
    stone: NDArray[np.int32]  # (n,)
    x0: float  # [m]
    dx: float  # [m]


def ground_tables(unit: Unit, track: Track, set_depth: float, into: Values | None = None) -> GroundTables:
    """Envelopes of disc, gauge and press wheel over a track; the profile goes on level beyond both ends.

    into: room for the table, (COLUMNS, n), C-contiguous; None: of its own.
    """
    tables = np.empty((1, COLUMNS, track.ground.size)) if into is None else into[None]
    stones = put_tables(
        unit, set_depth, track.dx, track.ground[None], track.stone_top[None], track.stone_id[None],
        track.strength[None], tables,
    )  # fmt: skip
    return GroundTables(tables[0], stones[0], track.x0, track.dx)


def put_tables(
    unit: Unit, set_depth: float, dx: float, ground: Values, stone_top: Values, stone_id: NDArray[np.int32],
    strength: Values, tables: Values,
) -> NDArray[np.int32]:  # fmt: skip
    """Put the tables of rows into `tables` (rows, COLUMNS, n) → the stone that carries the disc (−1: none), (rows, n).

    dx: between samples [m]; ground, stone_top, stone_id, strength: (rows, n) each, as in `sim.track.Track`. The
    wheels' columns are averaged over the length of their contact: with the point's own slope the rate law would count
    waves that are shorter than it.
    """
    disc, half = unit.disc.radius, 0.5 * CONTACT_LENGTH
    leading = math.sqrt(set_depth * (2.0 * disc - set_depth))  # length of the disc's arc in the soil
    gauge, press = (circle_of(wheel.radius, dx) for wheel in (unit.gauge_wheel, unit.press_wheel))
    samples = [np.ascontiguousarray(values) for values in (ground, stone_top, stone_id, strength)]
    stony = np.empty(len(ground), dtype=np.bool_)
    arc, contact = span_of(dx, 0.0, leading), span_of(dx, -half, half)
    lay(*samples, gauge, press, arc, contact, disc + OUT_OF_REACH, tables, stony)
    stones = np.full(ground.shape, -1, dtype=np.int32)
    for j in np.flatnonzero(stony):
        tables[j, COLUMN.hard], stones[j] = hard_profile(ground[j], stone_top[j], stone_id[j], dx, disc)
    return stones


@routine
def _lowest(heights):
    """The lowest of some heights."""
    n = heights.size
    together = as_lanes(heights[0])
    for i in range(0, n - WIDTH + 1, WIDTH):
        together = smallest(together, load(heights, i))
    lowest = lane(together, 0)
    for j in range(1, WIDTH):
        lowest = min(lowest, lane(together, j))
    for i in range(n // WIDTH * WIDTH, n):
        lowest = min(lowest, heights[i])
    return lowest


@kernel
def lay(ground, stone_top, stone_id, strength, gauge, press, arc, contact, below, tables, stony):
    """All columns of ground tables (rows, COLUMNS, n) from samples (rows, n) each, the hard one as without stones.

    gauge, press: Circle · arc, contact: Span, of the disc that leads and of a wheel · below: how far under the lowest
    ground the hard column lies [m] · stony (rows,): whether there are stones.
    """
    rows, n = ground.shape
    pad = max(gauge.cap.size, press.cap.size, arc.weights.size, contact.weights.size)
    size = n + 2 * (pad + BLOCK)
    room, found, steps, steepest = np.empty(size), np.empty(size), np.empty(size), np.empty((size - 1) // BLOCK)
    for j in range(rows):
        table, highest = tables[j], -1
        for i in range(n):
            room[pad + i] = table[COLUMN.surface, i] = max(ground[j, i], stone_top[j, i])
            highest = max(highest, stone_id[j, i])
        stony[j] = highest >= 0
        lowest = _lowest(ground[j])
        for i in range(n):
            table[COLUMN.hard, i] = lowest - below
        level_ends(room, pad, n)
        steepen(room, steepest)
        average(room, pad, n, arc, steps, table[COLUMN.ahead])
        dilate(room, pad, n, gauge, steepest, found)
        level_ends(found, pad, n)
        average(found, pad, n, contact, steps, table[COLUMN.gauge])
        dilate(room, pad, n, press, steepest, found)
        level_ends(found, pad, n)
        average(found, pad, n, contact, steps, table[COLUMN.press])
        for i in range(n):
            room[pad + i] = table[COLUMN.strength, i] = strength[j, i]
        level_ends(room, pad, n)
        average(room, pad, n, contact, steps, table[COLUMN.wheel_strength])
