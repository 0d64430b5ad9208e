"""Measured passes and soil strengths from CSV: plain numbers or latitudes and longitudes."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scenarios.format.csv_table import Column, Form, Sheet, read_sheet
from scenarios.format.errors import ScenarioError, fault
from scenarios.ground.profile import Profile
from scenarios.ground.profile_read import CLOSEST, LARGEST, STRENGTH, metres
from scenarios.paddock.fixes import fix_faults
from scenarios.paddock.plan_place import LocalPlane

LATITUDE = Column("latitude_deg", -84.0, 84.0, "-84 to 84 degrees north", "is it in degrees?")
LONGITUDE = Column("longitude_deg", -180.0, 180.0, "-180 to 180 degrees east", "is it in degrees?")
ELEVATION = Column("elevation_m", -1e4, 1e4, "-10000 to 10000 m", "is it in metres?")
LEAST = "a header and at least 4 lines of numbers"

LINE = Form(
    what="a measured pass",
    again="export the pass again",
    sets=((metres("distance_m"), metres("height_m")), (LATITUDE, LONGITUDE, ELEVATION)),
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

    Distances from latitudes and longitudes are those of a local plane through the first point (`plan_place`); places
    that no machine can have come to from the one before are faults (`fixes`).
    Raises ScenarioError with every fault found.
    """
    sheet = _read(path, LINE)
    latitude = longitude = None
    if "distance_m" in sheet.columns:
        distance, height = sheet.column("distance_m"), sheet.column("height_m")
    else:
        latitude, longitude, height = (sheet.column(column.name) for column in LINE.sets[1])
        if faults := fix_faults(path, [line for line, _ in sheet.lines], latitude, longitude, height):
            raise ScenarioError(faults)
        x, y = LocalPlane(float(latitude[0]), float(longitude[0])).to_plane(latitude, longitude)
        distance = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))])
    back = np.flatnonzero(np.diff(distance) < CLOSEST)
    if back.size:
        least = f"{CLOSEST * 1e3:g} mm"
        given = f"{back.size} points no more than {least} on from the one before, the first is point {back[0] + 2}"
        hint = "sort by distance and keep one point for each place"
        raise ScenarioError([fault(str(path), given, "points that go on along the pass", hint)])
    strength = sheet.column(STRENGTH.name) * 1e6 if STRENGTH.name in sheet.columns else None
    return MeasuredLine(Profile(path, distance, height, strength), latitude, longitude)


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
