"""Reads a measured profile from CSV and finds all that is wrong with it at once."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np

from scenarios.format.csv_table import Finds, Form, read_sheet
from scenarios.format.errors import ScenarioError, fault
from scenarios.format.tables import ROOT
from scenarios.ground.profile import Profile

STRENGTH = "strength_MPa"
LARGEST = 200_000_000  # bytes
CLOSEST = 0.001  # least distance between points [m]


def read_profile(path: Path) -> Profile:
    """A measured profile from a CSV file.

    Raises ScenarioError with every fault found: unreadable file, no data, no header, columns missing or twice,
    lines with too few cells, cells that are no finite numbers, strengths out of range, distances that do not rise,
    fewer than four points.
    """
    sheet = read_sheet(path, FORM, largest=LARGEST)
    _check_rising(sheet.lines, sheet.finds)
    faults = sheet.finds.texts()
    if sheet.given < 4:
        faults.append(fault(str(path), f"points: {sheet.given}", "at least 4 points", "a longer profile"))
    if faults:
        raise ScenarioError(faults)
    table = np.array([values for _, values in sheet.lines])
    strength = table[:, 2] * 1e6 if STRENGTH in sheet.columns else None
    return Profile(path, table[:, 0].copy(), table[:, 1].copy(), strength, sheet.ignored)


def _wrong(name: str, value: float) -> tuple[str, str] | None:
    """What is allowed for a value that is not, and what to try."""
    if name == STRENGTH:
        key = ROOT.tables["soil"].keys[STRENGTH]
        if not key.low <= value <= key.high:
            return f"{key.allowed} for {STRENGTH}", "is it in MPa? 1 MPa = 1000 kPa"
    elif abs(value) > 1e6:
        return "-1e6 to 1e6 m", "is it in metres?"
    return None


FORM = Form(
    what="a profile",
    again="export the profile again",
    needed=("distance_m", "height_m"),
    optional=(STRENGTH,),
    unit=", in metres",
    least="a header and at least 4 lines of numbers",
    check=_wrong,
)


def _check_rising(data: list[tuple[int, list[float]]], finds: Finds) -> None:
    """Distances have to rise from line to line, by a millimetre at least."""
    for (_, before), (line, now) in pairwise(data):
        if now[0] - before[0] < CLOSEST:
            given = f"distance_m {now[0]:.10g} after {before[0]:.10g}"
            allowed = f"distances that rise by at least {CLOSEST} m from line to line"
            finds.add(line, given, allowed, "sort by distance and keep one point for each distance")
