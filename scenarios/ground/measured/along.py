"""Where the points of a measured line stand: distances as given, or along the places of a satellite receiver's log."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scenarios.format.csv_table import Column, Sheet
from scenarios.format.errors import ScenarioError
from scenarios.ground.measured.fixes import fix_faults
from scenarios.ground.measured.local_plane import LocalPlane

Values = NDArray[np.float64]


def metres(name: str) -> Column:
    """A column of places or heights in metres."""
    return Column(name, -1e6, 1e6, "-1e6 to 1e6 m", "is it in metres?")


LATITUDE = Column("latitude_deg", -84.0, 84.0, "-84 to 84 degrees north", "is it in degrees?")
LONGITUDE = Column("longitude_deg", -180.0, 180.0, "-180 to 180 degrees east", "is it in degrees?")
ELEVATION = Column("elevation_m", -1e4, 1e4, "-10000 to 10000 m", "is it in metres?")
BY_DISTANCE = (metres("distance_m"), metres("height_m"))
BY_POSITION = (LATITUDE, LONGITUDE, ELEVATION)


@dataclass(frozen=True, eq=False)
class Along:
    """Points of a line, each array of shape (n,)."""

    distance: Values  # [m], as in the file, or along the way from its first place
    height: Values  # [m]
    latitude: Values | None = None  # [degrees]
    longitude: Values | None = None


def along(sheet: Sheet) -> Along:
    """The points of a sheet that holds BY_DISTANCE or BY_POSITION.

    Distances from latitudes and longitudes are those of a local plane through the first point, summed from point to
    point. Raises ScenarioError for places that no machine can have come to from the one before (`fixes`), and where
    pyproj is missing.
    """
    if BY_DISTANCE[0].name in sheet.columns:
        return Along(*(sheet.column(column.name) for column in BY_DISTANCE))
    latitude, longitude, height = (sheet.column(column.name) for column in BY_POSITION)
    if faults := fix_faults(sheet.path, [line for line, _ in sheet.lines], latitude, longitude, height):
        raise ScenarioError(faults)
    x, y = LocalPlane(float(latitude[0]), float(longitude[0])).to_plane(latitude, longitude)
    steps = np.hypot(np.diff(x), np.diff(y))
    return Along(np.concatenate([[0.0], np.cumsum(steps)]), height, latitude, longitude)
