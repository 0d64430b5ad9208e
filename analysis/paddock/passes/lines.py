"""The rows that are crossed at once, of one pass or of several, and the ground under them stretch by stretch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import groupby
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from scenarios.paddock.paddock import Paddock
from scenarios.paddock.rows import Lanes
from sim.arithmetic.simd import WIDTH
from sim.ground_tables import put_tables
from sim.laws.contact import COLUMNS
from sim.laws.wheel_soil import CONTACT_LENGTH
from sim.march.rows import Grounds

ROOM = 0.3  # the unit's contact points swing by less than this beyond where they stand [m]


class Line(NamedTuple):
    """A row of one of the passes that are crossed at once."""

    of: int  # its pass, by its place among them
    row: int


def blocks_of(rows: Sequence[int], passes: int) -> list[list[Line]]:
    """The lines whose ground is made at once: eight rows of a pass, then what is left of all passes, eight by eight."""
    whole = len(rows) // WIDTH * WIDTH
    full = [[Line(k, j) for j in rows[i : i + WIDTH]] for k in range(passes) for i in range(0, whole, WIDTH)]
    left = [Line(k, j) for k in range(passes) for j in rows[whole:]]
    return full + [left[i : i + WIDTH] for i in range(0, len(left), WIDTH)]


class Part(NamedTuple):
    """The lines of a block that are of one pass."""

    of: int
    rows: list[int]
    inside: slice  # where they stand in the block


def by_pass(lines: Sequence[Line]) -> list[Part]:
    """A block's lines, which come pass by pass."""
    parts: list[Part] = []
    for k, some in groupby(lines, key=lambda line: line.of):
        rows = [line.row for line in some]
        begin = parts[-1].inside.stop if parts else 0
        parts.append(Part(k, rows, slice(begin, begin + len(rows))))
    return parts


class Room:
    """Arrays that every stretch fills anew: memory taken once costs less than taken afresh each time.

    Stretches differ by a sample or two: what is taken has some room to spare, or the first would soon be there twice.
    """

    def __init__(self) -> None:
        self._tables, self._paths = np.empty(0), np.empty(0)

    def tables(self, rows: int, samples: int) -> NDArray[np.float64]:
        """Room for ground tables, (rows, COLUMNS, samples)."""
        size = rows * COLUMNS * samples
        self._tables = _at_least(size, self._tables)
        return self._tables[:size].reshape(rows, COLUMNS, samples)

    def paths(self, rows: int, nodes: int) -> NDArray[np.float64]:
        """Room for the rows' paths, (rows, nodes, 6)."""
        size = rows * nodes * 6
        self._paths = _at_least(size, self._paths)
        return self._paths[:size].reshape(rows, nodes, 6)


def _at_least(size: int, taken: NDArray[np.float64]) -> NDArray[np.float64]:
    """The array that is taken, or a new one where it is too small."""
    return taken if taken.size >= size else np.empty(size + size // 16)


def around(paddock: Paddock) -> tuple[float, float]:
    """How far behind and ahead of O a row's contact points may come [m]."""
    unit = paddock.unit
    front = unit.toolbar.upper_pin[0]
    points = (
        unit.disc.hub[0],
        unit.gauge_wheel.arm_pivot[0] - unit.gauge_wheel.arm_length,
        unit.gauge_wheel.arm_pivot[0] + unit.gauge_wheel.arm_length,
        unit.press_wheel.pivot[0] - unit.press_wheel.arm_length,
    )
    nearest = math.cos(max(abs(unit.main_links.stop_down), abs(unit.main_links.stop_up)) + 0.15)
    back = -(front - unit.main_links.length + min(points)) + ROOM
    ahead = front - unit.main_links.length * nearest + max(points) + ROOM
    return back, max(ahead, ROOM)


def grounds(
    paddock: Paddock, lanes: Sequence[Lanes], parts: Sequence[Part], low: float, high: float, room: Room
) -> tuple[Grounds, NDArray[np.float64] | None]:
    """Ground tables of a block's lines between two places [m] (no paths yet), and the stones' heights over the ground.

    No heights where no line has a stone.
    """
    unit, depth, dx = paddock.unit, paddock.settings.set_depth, lanes[0].dx
    chord = math.sqrt(depth * (2.0 * unit.disc.radius - depth))
    wheels = max(unit.gauge_wheel.radius, unit.press_wheel.radius) + 0.5 * CONTACT_LENGTH
    reach = max(unit.disc.radius, wheels, chord)
    margin = math.ceil(reach / dx) + 4
    first, last = math.floor(low / dx) - 4 - margin, math.ceil(high / dx) + 4 + margin
    tables = room.tables(parts[-1].inside.stop, last - first)
    laid = [lanes[k].row_ground(first, last - first, rows) for k, rows, _ in parts]
    stones = [
        put_tables(unit, depth, dx, it.ground, it.stone_top, it.stone_id, it.strength, tables[part.inside])
        for it, part in zip(laid, parts, strict=True)
    ]
    heights = None
    if any((ground.stone_id >= 0).any() for ground in laid):
        heights = _joined([np.maximum(ground.stone_top - ground.ground, 0.0) for ground in laid])
    return Grounds(tables, _joined(stones), first * dx, dx, np.empty((0, 0, 6))), heights


def _joined(arrays: list[NDArray[Any]]) -> NDArray[Any]:
    """Arrays one behind the other; a single one as it is."""
    return arrays[0] if len(arrays) == 1 else np.concatenate(arrays)
