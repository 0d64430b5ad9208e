"""Readings that belong together, and the numbers that stand for them: how many, their mean, their scatter, places."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.fit.expected.crossed import Cell
from analysis.fit.reading.readings import KINDS, Kind, Reading


@dataclass(frozen=True, eq=False)
class Group:
    """Readings of one kind at one depth setting, oil pressure and speed (or with one wheel on the scale)."""

    kind: Kind
    cell: Cell | None  # where it takes a crossing
    readings: tuple[Reading, ...]
    oil_pressure: float = math.nan  # gauge [Pa], standing
    where: str = ""
    held: str = ""  # the depth setting while it stood; "": not said

    @property
    def n(self) -> int:
        """Single readings."""
        return sum(reading.n for reading in self.readings)

    @property
    def mean(self) -> float:
        """Mean of all single readings [SI]."""
        return sum(reading.n * reading.value for reading in self.readings) / self.n

    @property
    def freedom(self) -> int:
        """Degrees of freedom of `variance`: single readings whose scatter is known, less one."""
        known = [reading for reading in self.readings if reading.n == 1 or not math.isnan(reading.sd)]
        return max(sum(reading.n for reading in known) - 1, 0)

    @property
    def variance(self) -> float:
        """Variance of the single readings about their mean [SI²], from lines of one reading or with their `sd`."""
        known = [reading for reading in self.readings if reading.n == 1 or not math.isnan(reading.sd)]
        count = sum(reading.n for reading in known)
        middle = sum(reading.n * reading.value for reading in known) / count
        within = sum((reading.n - 1) * reading.sd**2 for reading in known if reading.n > 1)
        between = sum(reading.n * (reading.value - middle) ** 2 for reading in known)
        return (within + between) / (count - 1)

    @property
    def places(self) -> NDArray[np.float64] | None:
        """Places along the row [m], where every line is one reading and has its own; else None."""
        if any(reading.n > 1 or math.isnan(reading.at) for reading in self.readings):
            return None
        return np.array([reading.at for reading in self.readings])

    @property
    def values(self) -> NDArray[np.float64]:
        """The readings, line by line [SI]."""
        return np.array([reading.value for reading in self.readings])


def groups_of(readings: Sequence[Reading]) -> tuple[Group, ...]:
    """Groups in the order in which they come. Shares and loads over a length stand each for itself."""
    sorted_out: dict[tuple[object, ...], list[Reading]] = {}
    for number, reading in enumerate(readings):
        sorted_out.setdefault(_key(number, reading), []).append(reading)
    return tuple(_group(tuple(together)) for together in sorted_out.values())


def _key(number: int, reading: Reading) -> tuple[object, ...]:
    if reading.what == "depth_mm":
        return (reading.what, reading.held, reading.oil_pressure, reading.speed)
    if reading.what == "scale_kg":
        return (reading.what, reading.where or "gauge", reading.oil_pressure, reading.held)
    return (reading.what,) if reading.what == "penetrometer_MPa" else (reading.what, number)


def _group(together: tuple[Reading, ...]) -> Group:
    first = together[0]
    kind = KINDS[first.what]
    if kind.crosses:
        return Group(kind, Cell(first.held, first.oil_pressure, first.speed), together)
    where = (first.where or "gauge") if kind.name == "scale_kg" else ""
    return Group(kind, None, together, first.oil_pressure, where, first.held if where else "")
