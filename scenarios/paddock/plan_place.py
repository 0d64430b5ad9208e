"""Places in plan (x along the first pass, y to its left) against east and north."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]


def turned(x: Values, y: Values, heading: float) -> tuple[Values, Values]:
    """Places in plan (x along the first pass, y to its left) → (east, north) [m], heading clockwise from north [rad].

    >>> [round(float(v), 9) for v in turned(np.array(2.0), np.array(0.5), math.pi / 2)]
    [2.0, 0.5]
    """
    s, c = math.sin(heading), math.cos(heading)
    return x * s - y * c, x * c + y * s


def unturned(east: Values, north: Values, heading: float) -> tuple[Values, Values]:
    """(east, north) [m] → places in plan; the way back of `turned`."""
    s, c = math.sin(heading), math.cos(heading)
    return east * s + north * c, north * s - east * c
