"""Soil strength measured at points, read along the rows."""

from __future__ import annotations

from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scenarios.format.errors import ScenarioError, fault
from scenarios.ground.measured.local_plane import LocalPlane
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.plan_input import LineInput
from scenarios.paddock.plan_input_csv import StrengthPoints
from scenarios.paddock.plan_place import unturned

Values = NDArray[np.float64]
NODE = 1.0  # distance of the places at which the points are read; straight lines between them [m]


class StrengthMap:
    """Strength over the plane: straight between points (Delaunay triangles), beyond them that of the nearest one."""

    def __init__(self, paddock: Paddock, points: StrengthPoints) -> None:
        self.paddock, self.points = paddock, points

    @cached_property
    def _places(self) -> tuple[Values, Values]:
        """Places of the points: in plan, or east and north of a local plane for passes that are measured lines."""
        first, second = self.points.first, self.points.second
        if not self.points.by_position:
            return first, second
        east, north = self._plane.to_plane(first, second)
        return (east, north) if self._along_lines else unturned(east, north, self.paddock.passes.heading)

    @property
    def _along_lines(self) -> bool:
        return self.points.by_position and isinstance(self.paddock.measured, LineInput)

    @cached_property
    def _plane(self) -> LocalPlane:
        passes = self.paddock.passes
        if self._along_lines:
            return LocalPlane(float(self.points.first[0]), float(self.points.second[0]))
        assert passes.latitude is not None
        assert passes.longitude is not None
        return LocalPlane(passes.latitude, passes.longitude)

    @cached_property
    def _readers(self) -> tuple[Any, Any]:
        from scipy.interpolate import LinearNDInterpolator, NearestNDInterpolator  # noqa: PLC0415
        from scipy.spatial import QhullError  # noqa: PLC0415

        places = np.column_stack(self._places)
        try:
            linear = LinearNDInterpolator(places, self.points.strength)
        except QhullError:
            raise ScenarioError(
                [fault(str(self.points.path), "points on one straight line", "points spread over the paddock",
                       "more points")]
            ) from None  # fmt: skip
        return linear, NearestNDInterpolator(places, self.points.strength)

    def at(self, number: int, u: Values, across: Values, x: Values, y: Values) -> Values:
        """Strength [Pa] at travel u (places x) of the rows (places y), (rows, u.size)."""
        nodes = np.arange(np.floor(u[0] / NODE), np.ceil(u[-1] / NODE) + 1.5) * NODE
        if self._along_lines:
            px, py = self._on_line(number, nodes, across)
        else:
            at = x[0] + (nodes - u[0]) * (1.0 if x.size < 2 or x[-1] >= x[0] else -1.0)
            px, py = np.broadcast_arrays(at[None, :], y[:, None])
        linear, nearest = self._readers
        values = linear(px, py)
        missing = ~np.isfinite(values)
        if missing.any():
            values[missing] = nearest(px[missing], py[missing])
        return np.stack([np.interp(u, nodes, row) for row in values])

    def _on_line(self, number: int, u: Values, across: Values) -> tuple[Values, Values]:
        """East and north [m] of rows square to a measured line."""
        measured = self.paddock.measured
        assert isinstance(measured, LineInput)
        found = measured.positions(number, u)
        if found is None:
            raise ScenarioError(
                [fault(str(self.points.path), "strengths by latitude and longitude, passes by distance alone",
                       "both by latitude and longitude, or both in metres", "measured lines with positions")]
            )  # fmt: skip
        east, north = self._plane.to_plane(*found)
        along_e, along_n = np.gradient(east), np.gradient(north)
        size = np.maximum(np.hypot(along_e, along_n), 1e-9)
        left_e, left_n = -along_n / size, along_e / size
        return east + across[:, None] * left_e, north + across[:, None] * left_n
