"""Latitude and longitude against places on a local plane, by pyproj (extra `maps`)."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from scenarios.format.errors import ScenarioError, fault

Values = NDArray[np.float64]
GEOGRAPHIC = "EPSG:4326"  # WGS 84, latitude and longitude


def maps_module(name: str, wanted: str) -> Any:
    """A module of the extra `maps`; raises ScenarioError that says how to install it."""
    import importlib  # noqa: PLC0415

    try:
        return importlib.import_module(name)
    except ImportError:
        raise ScenarioError(
            [fault(wanted, f"needs the package {name}, which is not installed", "rowbench with its extra maps",
                   "pip install 'rowbench[maps]'")]
        ) from None  # fmt: skip


class LocalPlane:
    """Azimuthal equidistant plane around one point of WGS 84: (east, north) [m], true to 1e-6 over a few km."""

    def __init__(self, latitude: float, longitude: float) -> None:
        pyproj = maps_module("pyproj", "latitudes and longitudes")
        plane = f"+proj=aeqd +lat_0={latitude!r} +lon_0={longitude!r} +datum=WGS84 +units=m"
        self.crs = pyproj.CRS.from_proj4(plane)
        self._forward = pyproj.Transformer.from_crs(GEOGRAPHIC, self.crs, always_xy=True)

    def to_plane(self, latitude: Values, longitude: Values) -> tuple[Values, Values]:
        """East and north [m] of latitudes and longitudes [degrees]."""
        east, north = self._forward.transform(np.asarray(longitude), np.asarray(latitude))
        return np.asarray(east), np.asarray(north)

    def to_degrees(self, east: Values, north: Values) -> tuple[Values, Values]:
        """Latitudes and longitudes [degrees] of places [m]."""
        longitude, latitude = self._forward.transform(np.asarray(east), np.asarray(north), direction="INVERSE")
        return np.asarray(latitude), np.asarray(longitude)

    def transformer(self, other: Any) -> Any:
        """pyproj's transformer from this plane to another reference system, (x, y) order."""
        pyproj = maps_module("pyproj", "a grid of heights")
        return pyproj.Transformer.from_crs(self.crs, other, always_xy=True)
