"""Measured passes and soil strengths from CSV: plain numbers or latitudes and longitudes."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scenarios.format.csv_table import Form, Sheet, read_sheet
from scenarios.format.errors import ScenarioError, fault
from scenarios.ground.measured.along import BY_DISTANCE, BY_POSITION, LATITUDE, LONGITUDE, along, metres
from scenarios.ground.profile import Profile
from scenarios.ground.profile_read import CLOSEST, JUST_APART, LARGEST, STRENGTH

LEAST = "a header and at least 4 lines of numbers"

LINE = Form(
    what="a measured pass",
    again="export the pass again",
    sets=(BY_DISTANCE, BY_POSITION),
    optional=(STRENGTH,),
    least=LEAST,
    fewest=4,
    loose=True,
)
STRENGTHS = Form(
    what="soil strengths",
    again="export the strengths again",
    sets=((metres("x_m"), metres("y_m"), STRENGTH), (LATITUDE, LONGITUDE, STRENGTH)),
    least=LEAST,
    fewest=4,
    loose=True,
)


@dataclass(frozen=True, eq=False)
class MeasuredLine:
    """One measured pass: its profile, and where its points lie if that is known."""

    profile: Profile
    latitude: NDArray[np.float64] | None  # (n,) [degrees]
    longitude: NDArray[np.float64] | None

    def without_waves(self, shortest: float) -> MeasuredLine:
        """The same line without waves shorter than `shortest` [m]; its places go with its points."""
        profile, old = self.profile.without_waves(shortest), self.profile.distance
        latitude, longitude = (
            None if place is None else np.interp(profile.distance, old, place)
            for place in (self.latitude, self.longitude)
        )
        return MeasuredLine(profile, latitude, longitude)


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

    Distances from latitudes and longitudes: `ground.measured.along`.
    Raises ScenarioError with every fault found.
    """
    sheet = _read(path, LINE)
    points = along(sheet)
    distance = points.distance
    back = np.flatnonzero(np.diff(distance) < JUST_APART)
    if back.size:
        least = f"{CLOSEST * 1e3:g} mm"
        given = f"{back.size} points no more than {least} on from the one before, the first is point {back[0] + 2}"
        hint = "sort by distance and keep one point for each place"
        raise ScenarioError([fault(str(path), given, "points that go on along the pass", hint)])
    strength = sheet.column(STRENGTH.name) * 1e6 if STRENGTH.name in sheet.columns else None
    return MeasuredLine(Profile(path, distance, points.height, strength), points.latitude, points.longitude)


def read_strengths(path: Path) -> StrengthPoints:
    """Soil strengths at points: x_m, y_m or latitude_deg, longitude_deg, and strength_MPa. Errors as `read_line`."""
    sheet = _read(path, STRENGTHS)
    first, second, strength = (sheet.column(name) for name in sheet.columns)
    return StrengthPoints(path, first, second, strength * 1e6, LATITUDE.name in sheet.columns)


def _read(path: Path, form: Form) -> Sheet:
    sheet = read_sheet(path, form, largest=LARGEST)
    if faults := sheet.faults():
        raise ScenarioError(faults)
    return sheet
