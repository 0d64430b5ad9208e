"""Reads a measured profile from CSV and finds all that is wrong with it at once."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from scenarios.format.csv_table import Column, Finds, Form, read_sheet
from scenarios.format.errors import ScenarioError
from scenarios.format.tables import ROOT
from scenarios.ground.profile import Profile

LARGEST = 20_000_000  # bytes: a million points, half a gigabyte while they are read
CLOSEST = 0.001  # least distance between points [m]


def metres(name: str) -> Column:
    """A column of places or heights in metres."""
    return Column(name, -1e6, 1e6, "-1e6 to 1e6 m", "is it in metres?")


def _strength() -> Column:
    key = ROOT.tables["soil"].keys["strength_MPa"]
    return Column(key.name, key.low, key.high, f"{key.allowed} for {key.name}", "is it in MPa? 1 MPa = 1000 kPa")


STRENGTH = _strength()
FORM = Form(
    what="a profile",
    again="export the profile again",
    sets=((metres("distance_m"), metres("height_m")),),
    optional=(STRENGTH,),
    unit=", in metres",
    least="a header and at least 4 lines of numbers",
    fewest=4,
    longer="a longer profile",
)


def read_profile(path: Path) -> Profile:
    """A measured profile from a CSV file.

    Raises ScenarioError with every fault found: unreadable file, no data, no header, columns missing or twice,
    lines with too few cells, cells that are no finite numbers, strengths out of range, distances that do not rise,
    fewer than four points.
    """
    sheet = read_sheet(path, FORM, largest=LARGEST)
    _check_rising(sheet.lines, sheet.finds)
    if faults := sheet.faults():
        raise ScenarioError(faults)
    strength = sheet.column(STRENGTH.name) * 1e6 if STRENGTH.name in sheet.columns else None
    return Profile(path, sheet.column("distance_m"), sheet.column("height_m"), strength, sheet.ignored)


def _check_rising(data: list[tuple[int, list[float]]], finds: Finds) -> None:
    """Distances have to rise from line to line, by a millimetre at least."""
    for (_, before), (line, now) in pairwise(data):
        if now[0] - before[0] < CLOSEST * (1.0 - 1e-6):  # written to the millimetre, read with a rounding
            given = f"distance_m {now[0]:.10g} after {before[0]:.10g}"
            allowed = f"distances that rise by at least {CLOSEST} m from line to line"
            finds.add(line, given, allowed, "sort by distance and keep one point for each distance")
