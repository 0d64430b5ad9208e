"""SI → the units of the trade that tables, figures and JSON show."""

from __future__ import annotations

import math

from sim.unit import GRAVITY


def bar(pascal: float) -> float:
    """Pressure [Pa] → [bar], rounded to 1e-9 bar so that a setting reads as it was given.

    >>> bar(60e5)
    60.0
    """
    return round(float(pascal) / 1e5, 9)


def kmh(speed: float) -> float:
    """Speed [m/s] → [km/h], rounded to 1e-9 km/h so that a setting reads as it was given.

    >>> kmh(8 / 3.6)
    8.0
    """
    return round(float(speed) * 3.6, 9)


def mm(length: float) -> float:
    """Length [m] → [mm]."""
    return float(length) * 1e3


def kgf(force: float) -> float:
    """Force [N] → [kgf]."""
    return float(force) / GRAVITY


def finite(value: float) -> float | None:
    """A value as JSON can hold it: None where it is infinite or no number."""
    return value if math.isfinite(value) else None
