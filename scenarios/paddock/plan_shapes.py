"""Shapes, ruts, stone patches and zones in plan: what they add at places (x, y)."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.curves import bell, blend
from scenarios.paddock.spec import PlanBank, PlanHump, Ruts, StonePatch, Zone

Values = NDArray[np.float64]
FADE = 0.5  # length over which the strength changes at the border of a zone [m]


def hump_heights(hump: PlanHump, x: Values, y: Values) -> Values:
    """Heights [m] of a hump at places of the shapes (n,) along and (lines,) across → (lines, n)."""
    return hump.height * bell(y - hump.at[1], hump.width)[:, None] * bell(x - hump.at[0], hump.length)[None, :]


def bank_heights(bank: PlanBank, x: Values, y: Values) -> Values:
    """Heights [m] of a bank at places (n,) along and (lines,) across → (lines, n)."""
    (x0, y0), (x1, y1) = bank.start, bank.end
    length = max(math.hypot(x1 - x0, y1 - y0), 1e-9)
    ex, ey = (x1 - x0) / length, (y1 - y0) / length
    dx, dy = x[None, :] - x0, y[:, None] - y0
    along, square = dx * ex + dy * ey, dy * ex - dx * ey
    round_end = 0.5 * bank.base
    ends = blend((along + 0.5 * round_end) / round_end) * blend((length + 0.5 * round_end - along) / round_end)
    return bank.height * bell(square, bank.base) * ends


def rut_share(ruts: Ruts, offset: Values) -> Values:
    """How far into a rut places across the machine lie, (lines,): 1 over its middle half, 0 beside it."""
    share = np.zeros(offset.size)
    for track in ruts.tracks:
        share = np.maximum(share, blend((0.5 * ruts.width - np.abs(offset - track)) / (0.25 * ruts.width)))
    return share


def in_patch(patch: StonePatch, x: Values, y: Values) -> NDArray[np.bool_]:
    """Whether places (same shape) lie in the ellipse of a stone patch."""
    u, v = (x - patch.at[0]) / (0.5 * patch.length), (y - patch.at[1]) / (0.5 * patch.width)
    return np.asarray(u * u + v * v <= 1.0)


def zone_share(zone: Zone, x: Values, y: Values) -> Values:
    """1 inside a zone, 0 outside, smooth over 0.5 m at its border; (n,) along, (lines,) across → (lines, n)."""
    return _inside(y, zone.start[1], zone.end[1])[:, None] * _inside(x, zone.start[0], zone.end[0])[None, :]


def _inside(values: Values, one: float, other: float) -> Values:
    low, high = min(one, other), max(one, other)
    return blend((values - low) / FADE + 0.5) * blend((high - values) / FADE + 0.5)


def zone_number(zones: tuple[Zone, ...], x: Values, y: Values) -> NDArray[np.int64]:
    """Number of the zone that places lie in (same shapes), from 1, the later of two; 0: in none."""
    number = np.zeros(np.broadcast(x, y).shape, dtype=np.int64)
    for i, zone in enumerate(zones, start=1):
        (x0, y0), (x1, y1) = zone.start, zone.end
        inside = (x >= min(x0, x1)) & (x < max(x0, x1)) & (y >= min(y0, y1)) & (y < max(y0, y1))
        number[inside] = i
    return number
