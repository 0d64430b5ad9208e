"""Pressure in one bush, and what its pin bears in bending and shear: closed forms."""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from sim.bushes import Pin


def mean_pressure(load: Any, diameter: float, length: float) -> Any:
    """Load on one bush over its projected area [Pa]; load [N], diameter and length [m]."""
    return load / (diameter * length)


def edge_pressure(load: Any, couple: Any, diameter: float, length: float) -> Any:
    """Highest pressure along a single bush that bears a load [N] and a couple [N m] → [Pa].

    Linear along the bush: F/(dL) + 6M/(dL²) while it touches over its whole length, M ≤ FL/6; beyond, over the length
    3(L/2 − e) with e = M/F: 2F/(3d(L/2 − e)). At e = L/2 it would bear on one edge alone: infinite.
    """
    load, couple = np.asarray(load, dtype=np.float64), np.abs(np.asarray(couple, dtype=np.float64))
    full = load / (diameter * length) + 6.0 * couple / (diameter * length**2)
    with np.errstate(divide="ignore", invalid="ignore"):
        rest = 0.5 * length - couple / load
        part = np.where(rest > 0.0, 2.0 * load / (3.0 * diameter * rest), math.inf)
    found = np.where(couple <= load * length / 6.0, full, part)
    return float(found) if found.ndim == 0 else found


def pin_stress(load: float, couple: float, bush: float, pin: Pin) -> float:
    """Stress in a pin by von Mises [Pa] under a load [N] and a couple [N m]; bush: load on the worse of its bushes [N].

    Beam on two supports, the middles of its bushes, `span` apart; the part between them takes hold in the middle, at a
    point: M = F·span/4 + C/2 (a long boss there would bend it less). With one bush the fork holds the pin at the bush's
    ends and the load is even along it: M = F·L/8, and the couple in full. Shear 4V/(3A) of a round, V the load on the
    worse support.
    """
    if pin.bushes > 1:
        bending, shear = 0.25 * load * pin.span + 0.5 * couple, bush
    else:
        bending, shear = 0.125 * load * pin.length + couple, 0.5 * load + couple / pin.length
    sigma = 32.0 * bending / (math.pi * pin.diameter**3)
    tau = 16.0 * shear / (3.0 * math.pi * pin.diameter**2)
    return math.sqrt(sigma**2 + 3.0 * tau**2)
