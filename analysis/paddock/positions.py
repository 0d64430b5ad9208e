"""Latitude and longitude of every section of a pass, where they are known."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.paddock.result import middles, section_ends
from scenarios.ground.measured.local_plane import LocalPlane
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.plan_input import LineInput
from scenarios.paddock.plan_place import turned
from scenarios.paddock.rows import Lanes

Values = NDArray[np.float64]


def positions(paddock: Paddock, number: int) -> tuple[Values, Values] | None:
    """Latitude and longitude [degrees] of the middles of a pass's sections, (rows, sections) each; None: not known.

    Rows beside a measured line lie square to it.
    """
    lanes = Lanes(paddock, number)
    middle = middles(section_ends(lanes.length, paddock.passes.section))
    if isinstance(paddock.measured, LineInput):
        return _beside_line(paddock.measured, number, middle, lanes.rows)
    passes = paddock.passes
    if passes.latitude is None or passes.longitude is None:
        return None
    x, y = lanes.places(middle, np.zeros(1))[0], lanes.places(np.zeros(lanes.rows.size), lanes.rows)[1]
    along, across = np.broadcast_arrays(x[None, :], y[:, None])
    east, north = turned(along, across, passes.heading)
    return LocalPlane(passes.latitude, passes.longitude).to_degrees(east, north)


def _beside_line(measured: LineInput, number: int, u: Values, across: Values) -> tuple[Values, Values] | None:
    here, ahead = measured.positions(number, u), measured.positions(number, u + 0.5)
    back = measured.positions(number, u - 0.5)
    if here is None or ahead is None or back is None:
        return None
    plane = LocalPlane(float(here[0][0]), float(here[1][0]))
    east, north = plane.to_plane(*here)
    (e1, n1), (e0, n0) = plane.to_plane(*ahead), plane.to_plane(*back)
    size = np.maximum(np.hypot(e1 - e0, n1 - n0), 1e-9)
    left = -(n1 - n0) / size, (e1 - e0) / size
    return plane.to_degrees(east + across[:, None] * left[0], north + across[:, None] * left[1])
