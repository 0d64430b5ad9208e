"""Measured passes and soil strengths from CSV: plain numbers or latitudes and longitudes."""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.format.read import read_text
from scenarios.ground.profile import Profile
from scenarios.paddock.plan_place import LocalPlane

LARGEST = 200_000_000  # bytes
SHOWN = 5  # lines named for one kind of fault
CLOSEST = 0.001  # least distance between points [m]

# column → lowest and highest value, unit
RANGES = {
    "distance_m": (-1e6, 1e6, "m"),
    "height_m": (-1e6, 1e6, "m"),
    "elevation_m": (-1e4, 1e4, "m"),
    "latitude_deg": (-84.0, 84.0, "degrees north"),
    "longitude_deg": (-180.0, 180.0, "degrees east"),
    "x_m": (-1e6, 1e6, "m"),
    "y_m": (-1e6, 1e6, "m"),
    "strength_MPa": (0.05, 10.0, "MPa"),
}


@dataclass(frozen=True, eq=False)
class MeasuredLine:
    """One measured pass: its profile, and where its points lie if that is known."""

    profile: Profile
    latitude: NDArray[np.float64] | None  # (n,) [degrees]
    longitude: NDArray[np.float64] | None


@dataclass(frozen=True, eq=False)
class StrengthPoints:
    """Soil strengths at places in plan (x, y), or at latitudes and longitudes (`by_position`)."""

    path: Path
    first: NDArray[np.float64]  # x [m] or latitude [degrees], (n,)
    second: NDArray[np.float64]  # y [m] or longitude [degrees]
    strength: NDArray[np.float64]  # [Pa]
    by_position: bool


def read_line(path: Path) -> MeasuredLine:
    """A measured pass: distance_m, height_m or latitude_deg, longitude_deg, elevation_m; perhaps strength_MPa.

    Distances from latitudes and longitudes are those of a local plane through the first point (`plan_place`).
    Raises ScenarioError with every fault found.
    """
    data = read_columns(
        path, "a measured pass (CSV)",
        (("distance_m", "height_m"), ("latitude_deg", "longitude_deg", "elevation_m")), ("strength_MPa",),
    )  # fmt: skip
    latitude = longitude = None
    if "distance_m" in data:
        distance, height = data["distance_m"], data["height_m"]
    else:
        latitude, longitude, height = data["latitude_deg"], data["longitude_deg"], data["elevation_m"]
        x, y = LocalPlane(float(latitude[0]), float(longitude[0])).to_plane(latitude, longitude)
        distance = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    back = np.flatnonzero(np.diff(distance) < CLOSEST)
    if back.size:
        least = f"{CLOSEST * 1e3:g} mm"
        given = f"{back.size} points no more than {least} on from the one before, the first is point {back[0] + 2}"
        hint = "sort by distance and keep one point for each place"
        raise ScenarioError([fault(str(path), given, "points that go on along the pass", hint)])
    strength = data["strength_MPa"] * 1e6 if "strength_MPa" in data else None
    return MeasuredLine(Profile(path, distance, height, strength), latitude, longitude)


def read_strengths(path: Path) -> StrengthPoints:
    """Soil strengths at points: x_m, y_m or latitude_deg, longitude_deg, and strength_MPa. Errors as `read_line`."""
    data = read_columns(
        path, "soil strengths (CSV)",
        (("x_m", "y_m", "strength_MPa"), ("latitude_deg", "longitude_deg", "strength_MPa")), (),
    )  # fmt: skip
    by_position = "latitude_deg" in data
    first, second = ("latitude_deg", "longitude_deg") if by_position else ("x_m", "y_m")
    return StrengthPoints(path, data[first], data[second], data["strength_MPa"] * 1e6, by_position)


def read_columns(
    path: Path, what: str, sets: tuple[tuple[str, ...], ...], optional: tuple[str, ...]
) -> dict[str, NDArray[np.float64]]:
    """Columns of numbers by name: those of the first of `sets` that is there whole, and of `optional`.

    Raises ScenarioError with every fault: unreadable, no header, columns missing, cells that are no numbers in range,
    fewer than four lines.
    """
    rows = list(csv.reader(io.StringIO(read_text(path, what, largest=LARGEST))))
    rows = [row for row in rows if any(cell.strip() for cell in row)]
    header = [cell.strip() for cell in rows[0]] if rows else []
    chosen = next((names for names in sets if set(names) <= set(header)), None)
    if chosen is None:
        allowed = " or ".join(",".join(names) for names in sets)
        given = f"columns {', '.join(header)[:80]}" if header else "an empty file"
        raise ScenarioError([fault(f"{path}: line 1", given, f"a header with {allowed}", f'"{",".join(sets[0])}"')])
    names = [*chosen, *(name for name in optional if name in header)]
    faults: list[str] = []
    values = np.full((len(names), len(rows) - 1), np.nan)
    for i, row in enumerate(rows[1:]):
        for k, name in enumerate(names):
            place = header.index(name)
            cell = row[place].strip() if place < len(row) else ""
            values[k, i] = _number(cell, name, f"{path}: line {i + 2}", faults)
    if len(rows) - 1 < 4:
        faults.append(fault(str(path), f"points: {len(rows) - 1}", "at least 4 points", "a longer file"))
    if faults:
        more = [f"{path}: {len(faults) - SHOWN} more faults"] if len(faults) > SHOWN else []
        raise ScenarioError([*faults[:SHOWN], *more])
    return dict(zip(names, values, strict=True))


def _number(cell: str, name: str, where: str, faults: list[str]) -> float:
    low, high, unit = RANGES[name]
    try:
        value = math.nan if "_" in cell else float(cell)
    except ValueError:
        value = math.nan
    if not low <= value <= high:
        faults.append(fault(where, f"{name} {shown(cell)}", f"a number, {low:g} to {high:g} {unit}", "mend or drop it"))
    return value
