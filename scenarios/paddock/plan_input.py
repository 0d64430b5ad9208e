"""Measured ground under the passes of a machine: lines (CSV), a grid of heights, or a surface along one line.

Every kind gives the same: how many passes there are and how long, heights at nodes along each pass for any places
across, the shortest wave that it holds, and positions where they are known. Along a pass travel u counts from where
its measured stretch begins: the first point of a line or a surface, which are measured to their last. The lead-in lies
ahead of that; lines and surfaces go on straight beyond both ends (`measured.beyond`), a grid as it lies.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any, Protocol

import numpy as np
from numpy.typing import NDArray

from scenarios.format.errors import ScenarioError, fault
from scenarios.ground.lay import BLEND, SETTLE
from scenarios.ground.measured.beyond import beyond, end_slopes
from scenarios.ground.measured.local_plane import LocalPlane, maps_module
from scenarios.ground.measured.low_pass import low_passed
from scenarios.ground.measured.record_spectrum import Spectrum, spectrum
from scenarios.ground.resample import resample
from scenarios.paddock.plan_input_csv import MeasuredLine
from scenarios.paddock.plan_place import turned

Values = NDArray[np.float64]
AHEAD = BLEND + SETTLE  # from the head of the blend to where the measures begin [m]


@dataclass(frozen=True, eq=False)
class Nodes:
    """Measured heights under one pass: at travel `u` (k,) for each place across, `heights` (1 or lines, k) [m].

    One row of heights stands for all places across. The mean height at the head of the blend counts as 0. Before the
    first node and behind the last one all lines go on straight, at `slopes` [m per m].
    """

    u: Values
    heights: Values
    strength: Values | None = None  # (k,) [Pa]
    slopes: tuple[float, float] = (0.0, 0.0)

    def at(self, u: Values, lines: NDArray[np.int64]) -> Values:
        """Heights on some lines (from 0) at travel u (rising, evenly spaced), (lines, u.size): a cubic through the
        nodes (`resample`).
        """
        first, stop = np.searchsorted(self.u, (u[0], u[-1]))
        part = slice(max(int(first) - 4, 0), int(stop) + 4)
        if self.u[part].size < 4:
            part = slice(max(self.u.size - 4, 0), None) if first > 0 else slice(0, 4)
        on = beyond(u, (float(self.u[0]), float(self.u[-1])), self.slopes)
        of_all = len(self.heights) == 1
        rows = [resample(self.u[part], row[part], u) + on for row in (self.heights if of_all else self.heights[lines])]
        return np.broadcast_to(rows[0], (lines.size, u.size)) if of_all else np.stack(rows)


class PlanInput(Protocol):
    """Measured ground under all passes."""

    plane: bool  # measured in two directions; else along lines

    def length(self, number: int) -> float:
        """Measured length of a pass [m]."""

    def shortest_wave(self, number: int) -> float:
        """Shortest wave that the measured ground holds there [m]."""

    def nodes(self, number: int, across: Values, centre: float, backwards: bool, reach: float) -> Nodes:
        """Heights under the places `across` the machine [m], `reach` [m] beyond the end of the pass."""


@dataclass(frozen=True, eq=False)
class LineInput:
    """Measured lines, one for each pass: all places across have the height under the middle."""

    lines: tuple[MeasuredLine, ...]
    plane = False

    def length(self, number: int) -> float:
        distance = self.lines[number].profile.distance
        return _whole_steps(float(distance[-1] - distance[0]))

    def shortest_wave(self, number: int) -> float:
        return self.lines[number].profile.shortest_wavelength

    def nodes(self, number: int, across: Values, centre: float, backwards: bool, reach: float) -> Nodes:
        del across, centre, backwards, reach
        profile = self.lines[number].profile
        return _line_nodes(profile.distance, profile.height[None, :], profile.strength)

    def positions(self, number: int, u: Values) -> tuple[Values, Values] | None:
        """Latitude and longitude [degrees] of the machine's middle at travel u; None where they are not known."""
        line = self.lines[number]
        if line.latitude is None or line.longitude is None:
            return None
        at = line.profile.distance - line.profile.distance[0]
        return np.interp(u, at, line.latitude), np.interp(u, at, line.longitude)


@dataclass(frozen=True, eq=False)
class GridInput:
    """A grid of heights under straight passes, read as a cubic spline through its cells.

    Lead-in and run-out lie on it too as far as it reaches, and hold its border's height beyond.
    """

    path: Path
    heights: Values  # (rows, columns) [m], gaps filled
    inverse: tuple[float, ...]  # affine: reference system → (column, row), cell middles at whole numbers
    cell: float  # size of a cell [m]
    crs: str
    origin: tuple[float, float]  # latitude and longitude of place (0, 0) [degrees]
    heading: float
    pass_length: float
    used: tuple[slice, slice] = (slice(None), slice(None))  # rows and columns under the passes
    kept: float = 0.0  # shortest wave that a filter left [m]
    plane = True

    def length(self, number: int) -> float:
        del number
        return self.pass_length

    def shortest_wave(self, number: int) -> float:
        del number
        return max(2.0 * self.cell, self.kept)

    @cached_property
    def coefficients(self) -> Values:
        """Spline coefficients of the heights, (rows, columns)."""
        from scipy.ndimage import spline_filter  # noqa: PLC0415

        return np.asarray(spline_filter(self.heights, order=3), dtype=np.float64)

    @property
    def spectrum(self) -> Spectrum | None:
        """Spectrum of the heights under the passes along the longer side of the grid there."""
        under = self.heights[self.used]
        return spectrum(under if under.shape[1] >= under.shape[0] else under.T, self.cell)

    def without_waves(self, shortest: float) -> GridInput:
        """The same grid without waves shorter than `shortest` [m] along either side."""
        along = low_passed(self.heights, self.cell, shortest)
        return replace(self, heights=low_passed(along.T, self.cell, shortest).T, kept=shortest)

    def cells(self, x: Values, y: Values) -> tuple[Values, Values]:
        """(row, column) of places in plan, cell middles at whole numbers."""
        plane = LocalPlane(*self.origin)
        east, north = plane.transformer(self.crs).transform(*turned(x, y, self.heading))
        a, b, c, d, e, f = self.inverse
        return d * east + e * north + f, a * east + b * north + c

    def nodes(self, number: int, across: Values, centre: float, backwards: bool, reach: float) -> Nodes:
        del number
        from scipy.ndimage import map_coordinates  # noqa: PLC0415

        step = 0.5 * self.cell
        u = np.arange(-AHEAD - 4.0 * step, self.pass_length + reach + 4.0 * step, step)
        x = self.pass_length - u if backwards else u
        side = -1.0 if backwards else 1.0
        heights = []
        for offset in across:
            place = self.cells(x, np.full(x.size, centre + side * offset))
            heights.append(map_coordinates(self.coefficients, place, order=3, prefilter=False, mode="nearest"))
        table = np.stack(heights)
        return Nodes(u, table - table[:, 0].mean())


@dataclass(frozen=True, eq=False)
class SurfaceInput:
    """A measured surface along one line, heights at its own nodes: one pass."""

    path: Path
    road: Any
    kept: float = 0.0  # shortest wave along the line that a filter left [m]
    plane = True

    def length(self, number: int) -> float:
        del number
        return _whole_steps(float(self.road.u_end - self.road.u_start))

    def shortest_wave(self, number: int) -> float:
        del number
        return max(2.0 * self.spacing, self.kept)

    @property
    def spacing(self) -> float:
        """Distance of points along the line [m]."""
        return float(self.road.u_inc)

    @property
    def spectrum(self) -> Spectrum | None:
        """Spectrum of the heights along the line."""
        return spectrum(np.asarray(self.road.z, dtype=np.float64).T, self.spacing)

    def nodes(self, number: int, across: Values, centre: float, backwards: bool, reach: float) -> Nodes:
        del number, centre, backwards, reach
        along = np.asarray(self.road.u, dtype=np.float64)
        heights = np.stack([np.asarray(self.road.uv_to_z(along, float(v)), dtype=np.float64) for v in across])
        return _line_nodes(along, low_passed(heights, self.spacing, self.kept) if self.kept else heights)


def _whole_steps(length: float) -> float:
    """The length [m] in whole 25 mm (the steps of `scenarios.paddock.paddock.COARSE`), none longer."""
    return math.floor(length / 0.025 + 1e-6) * 0.025


def _line_nodes(distance: Values, heights: Values, strength: Values | None = None) -> Nodes:
    """Nodes from the first point on; travel counts from it."""
    mean = heights.mean(axis=0)
    slopes = end_slopes(distance, mean)
    return Nodes(distance - distance[0], heights - mean[0] + AHEAD * slopes[0], strength, slopes)


def read_grid(
    path: Path, band: int, origin: tuple[float, float], heading: float, length: float, width: float
) -> GridInput:
    """A GeoTIFF of heights under passes that start at `origin` and cover length × width [m].

    Raises ScenarioError: no file or none of its kind, no reference system, passes that leave it, cells without data.
    """
    from scipy.ndimage import distance_transform_edt  # noqa: PLC0415

    rasterio = maps_module("rasterio", str(path))
    wanted = "a GeoTIFF of heights with a reference system"
    try:
        with rasterio.open(path) as source:
            if source.crs is None or not 1 <= band <= source.count:
                given = "no reference system" if source.crs is None else f"bands: {source.count}, band {band} asked for"
                raise ScenarioError([fault(str(path), given, wanted, "another file or band")])
            data = source.read(band, masked=True).astype(np.float64)
            back = ~source.transform
            inverse = (back.a, back.b, back.c - 0.5, back.d, back.e, back.f - 0.5)
            crs = source.crs.to_wkt()
    except rasterio.errors.RasterioIOError as error:
        raise ScenarioError([fault(str(path), f"cannot be read ({error})", wanted, "check the path")]) from None
    found = GridInput(path, data, inverse, 1.0, crs, origin, heading, length)
    corners = np.array([0.0, length, 0.0, length]), np.array([0.0, 0.0, width, width])
    row, column = found.cells(*corners)
    if row.min() < 0 or column.min() < 0 or row.max() > data.shape[0] - 1 or column.max() > data.shape[1] - 1:
        given = f"passes of {length:g} × {width:g} m that leave its {data.shape[0]} × {data.shape[1]} cells"
        hint = "check latitude, longitude and heading_deg of [passes]"
        raise ScenarioError([fault(str(path), given, "passes within the grid", hint)])
    under = slice(int(row.min()), int(row.max()) + 2), slice(int(column.min()), int(column.max()) + 2)
    used = data[under]
    if np.ma.count_masked(used) or not np.isfinite(used.filled(0.0)).all():
        raise ScenarioError([fault(str(path), f"{np.ma.count_masked(used)} cells without data under the passes",
                                   "heights everywhere", "fill the gaps first")])  # fmt: skip
    missing = np.ma.getmaskarray(data) | ~np.isfinite(data.filled(0.0))
    nearest = distance_transform_edt(missing, return_distances=False, return_indices=True)
    filled = data.filled(0.0)[tuple(nearest)]
    return replace(found, heights=filled, cell=_cell_size(found), used=under)


def _cell_size(grid: GridInput) -> float:
    """Size of a cell [m], from how many cells 100 m take in either direction."""
    row, column = grid.cells(np.array([0.0, 100.0, 0.0]), np.array([0.0, 0.0, 100.0]))
    cells = max(np.hypot(row[1] - row[0], column[1] - column[0]), np.hypot(row[2] - row[0], column[2] - column[0]))
    return 100.0 / float(cells)


def read_surface(path: Path, half_width: float) -> SurfaceInput:
    """An OpenCRG file. Raises ScenarioError: unreadable, narrower than the machine, heights missing."""
    crg = maps_module("pyopencrg", str(path))
    wanted = "an OpenCRG file"
    try:
        road = crg.read(str(path))
    except Exception as error:  # the reader raises many kinds
        raise ScenarioError([fault(str(path), f"cannot be read ({error})", wanted, "check the file")]) from None
    low, high = float(road.v_min), float(road.v_max)
    if low > -half_width or high < half_width:
        raise ScenarioError([fault(str(path), f"a surface from {low:g} to {high:g} m across",
                                   f"at least ±{half_width:g} m for the machine", "fewer rows")])  # fmt: skip
    if not np.isfinite(np.asarray(road.z)).all():
        raise ScenarioError([fault(str(path), "heights are missing", "heights everywhere", "fill the gaps first")])
    return SurfaceInput(path, road)
