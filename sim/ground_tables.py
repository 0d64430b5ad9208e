"""Ground tables: tracks as the unit's wheels and disc feel them."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.laws.contact import COLUMN, COLUMNS
from sim.laws.envelope import envelope, put_means
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
    arc = (0.0, math.sqrt(set_depth * (2.0 * disc - set_depth)))  # of the disc, ahead of its lowest point
    contact = (-half, half)
    surface = np.maximum(ground, stone_top)
    tables[:, COLUMN.surface], tables[:, COLUMN.strength] = surface, strength
    put_means(surface, dx, arc, tables, COLUMN.ahead)
    put_means(envelope(surface, dx, unit.gauge_wheel.radius), dx, contact, tables, COLUMN.gauge)
    put_means(envelope(surface, dx, unit.press_wheel.radius), dx, contact, tables, COLUMN.press)
    put_means(strength, dx, contact, tables, COLUMN.wheel_strength)
    tables[:, COLUMN.hard] = ground.min(axis=1, keepdims=True) - (disc + OUT_OF_REACH)
    stones = np.full(ground.shape, -1, dtype=np.int32)
    for j in np.flatnonzero((stone_id >= 0).any(axis=1)):
        tables[j, COLUMN.hard], stones[j] = hard_profile(ground[j], stone_top[j], stone_id[j], dx, disc)
    return stones
