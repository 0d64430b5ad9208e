"""Smooth curves that shapes of the ground and their borders are made of."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]


def blend(u: Values) -> Values:
    """3u² − 2u³ with u held between 0 and 1: a smooth step from 0 to 1."""
    v = np.clip(u, 0.0, 1.0)
    return v * v * (3.0 - 2.0 * v)


def bell(distance: Values, length: float) -> Values:
    """(1 + cos(2π·distance/length))/2 within half a length, else 0: a raised cosine."""
    u = np.clip(distance / length, -0.5, 0.5)
    return 0.5 * (1.0 + np.cos(2.0 * np.pi * u))
