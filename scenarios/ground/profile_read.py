"""Reads a measured profile from CSV and finds all that is wrong with it at once.

Its points stand at distances, or at the latitudes and longitudes of a log (then distances are along its way).
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scenarios.format.csv_table import Column, Finds, Form, read_sheet
from scenarios.format.errors import ScenarioError
from scenarios.format.tables import ROOT
from scenarios.ground.measured.along import BY_DISTANCE, BY_POSITION, along
from scenarios.ground.profile import Profile

LARGEST = 20_000_000  # bytes: a million points, half a gigabyte while they are read
CLOSEST = 0.001  # least distance between points [m]
JUST_APART = CLOSEST * (1.0 - 1e-6)  # the same, written to the millimetre and read with a rounding


def _strength() -> Column:
    key = ROOT.tables["soil"].keys["strength_MPa"]
    return Column(key.name, key.low, key.high, f"{key.allowed} for {key.name}", "is it in MPa? 1 MPa = 1000 kPa")


STRENGTH = _strength()
FORM = Form(
    what="a profile",
    again="export the profile again",
    sets=(BY_DISTANCE, BY_POSITION),
    optional=(STRENGTH,),
    unit=", in metres",
    least="a header and at least 4 lines of numbers",
    fewest=4,
    longer="a longer profile",
)


def read_profile(path: Path) -> Profile:
    """A measured profile from a CSV file.

    Columns distance_m and height_m, or latitude_deg, longitude_deg and elevation_m; perhaps strength_MPa.
    Raises ScenarioError with every fault found: unreadable file, no data, no header, columns missing or twice,
    lines with too few cells, cells that are no finite numbers, strengths out of range, distances that do not rise,
    places that do not go on, fixes lost, fewer than four points; pyproj missing.
    """
    sheet = read_sheet(path, FORM, largest=LARGEST)
    if BY_DISTANCE[0].name in sheet.columns:
        _check_rising(sheet.lines, sheet.finds)
    if faults := sheet.faults():
        raise ScenarioError(faults)
    points = along(sheet)
    if faults := _standing_still(path, sheet.lines, points.distance):
        raise ScenarioError(faults)
    strength = sheet.column(STRENGTH.name) * 1e6 if STRENGTH.name in sheet.columns else None
    return Profile(path, points.distance, points.height, strength, sheet.ignored)


def _check_rising(data: list[tuple[int, list[float]]], finds: Finds) -> None:
    """Distances have to rise from line to line, by a millimetre at least."""
    for (_, before), (line, now) in pairwise(data):
        if now[0] - before[0] < JUST_APART:
            given = f"distance_m {now[0]:.10g} after {before[0]:.10g}"
            allowed = f"distances that rise by at least {CLOSEST} m from line to line"
            finds.add(line, given, allowed, "sort by distance and keep one point for each distance")


def _standing_still(path: Path, lines: list[tuple[int, list[float]]], distance: NDArray[np.float64]) -> list[str]:
    """Faults of places that are those of the line before."""
    finds = Finds(str(path))
    for i in map(int, np.flatnonzero(np.diff(distance) < JUST_APART)):
        given = f"the place of line {lines[i][0]} again"
        finds.add(
            lines[i + 1][0], given, f"places that go on by {CLOSEST * 1e3:g} mm or more", "keep one line for each place"
        )
    return finds.texts()
