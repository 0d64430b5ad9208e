"""Whether strengths measured at points lie where the passes run, looked at before anything is computed."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from scenarios.format.errors import fault
from scenarios.ground.measured.local_plane import LocalPlane
from scenarios.paddock.extent import Extent, points_fault
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.plan_input import LineInput
from scenarios.paddock.plan_place import unturned

NEAR = 200.0  # points this far from all passes still belong to the paddock [m] (assumed)
NEAR_DEGREES = 0.002  # about that


def strength_faults(paddock: Paddock, passes: Extent) -> Iterator[str]:
    """Points that lie nowhere near the passes, that lie on one line, or that cannot be placed beside them."""
    points, measured = paddock.strengths, paddock.measured
    if points is None:
        return
    file = str(points.path)
    if not points.by_position:
        found = points_fault(file, points.first, points.second, passes, NEAR)
    elif not isinstance(measured, LineInput):
        assert paddock.passes.latitude is not None
        assert paddock.passes.longitude is not None
        plane = LocalPlane(paddock.passes.latitude, paddock.passes.longitude)
        x, y = unturned(*plane.to_plane(points.first, points.second), paddock.passes.heading)
        found = points_fault(file, x, y, passes, NEAR)
    elif not paddock.placed:
        found = fault(file, "strengths by latitude and longitude, passes by distance alone",
                      "both by latitude and longitude, or both in metres", "measured lines with positions")  # fmt: skip
    else:
        latitude, longitude = (
            np.concatenate([getattr(line, name) for line in measured.lines]) for name in ("latitude", "longitude")
        )
        around = Extent(latitude.min(), latitude.max(), longitude.min(), longitude.max())
        found = points_fault(file, points.first, points.second, around, NEAR_DEGREES, "latitude and longitude")
    if found is not None:
        yield found
