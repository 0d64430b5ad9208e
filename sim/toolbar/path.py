"""The toolbar's own path over the ground: heave and pitch on two axles, marched before the rows."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import part
from sim.laws.envelope import envelope
from sim.toolbar.parts import parts_per_node, pressed_by, shares_of, toolbar_rates
from sim.toolbar.ride import EIGHT, march_level, ride
from sim.unit import Unit

PATH_STEP = 5e-3  # distance between the points that a wheel's path is read from [m]


def wheel_path(surface: NDArray[np.float64], dx: float, radius: float) -> tuple[NDArray[np.float64], float]:
    """Path of an axle's wheel over a surface sampled every dx [m] → heights and the distance between them [m].

    Of several surfaces (lines, n) all paths alike.

    The envelope is that of all samples; of its points those are kept that lie 5 mm apart. Closer ones would only
    sharpen the kinks where the wheel passes from one crest to the next: its damper makes jumps in the toolbar's
    acceleration of them, and the steps' error follows (class D up to 40 c/m at 10 km/h: 0.008 mm of depth, 0.024 mm
    with points every 1.25 mm).
    """
    every = max(1, math.floor(PATH_STEP / dx + 1e-9))
    return envelope(surface, dx, radius, every), every * dx


def path(
    unit: Unit,
    surface: NDArray[np.float64],
    x0: float,
    dx: float,
    x_start: float,
    speed: float,
    node_step: float,
    nodes: int,
    carried: bool,
    into: NDArray[np.float64] | None = None,
) -> NDArray[np.float64]:
    """Motion of O at `nodes` instants `node_step` [s] apart, from rest at x_start [m] → (nodes, 6).

    Columns z, z′, z″ [m, m/s, m/s²] from the height on flat ground at level 0, and p, p′, p″ [rad …]. The axles
    ride on linear tyres that may pull, over the envelope of their wheel; rows do not react on the toolbar.
    `carried` False: a bench test at constant height. into: room for the result, C-contiguous; None: of its own. Raises
    StepError (`parts_per_node`).
    """
    out = np.empty((nodes, 6)) if into is None else into
    if not carried:
        out[:] = 0.0
        return out
    bar = unit.toolbar
    heights, apart = wheel_path(surface, dx, bar.wheel_radius)
    per_node = parts_per_node(toolbar_rates(bar), node_step)
    step = node_step / per_node
    both = np.ones(2)
    # slopes are read by sample
    moved = ride(pressed_by(bar), bar.stiffness * both, bar.damping * both, shares_of(bar), speed / apart, step)
    front, rear = ((x_start + along - x0) / apart for along in (bar.axle_front, -bar.axle_rear))
    march_level(moved, heights, front, rear, 0.5 * speed * step / apart, per_node, EIGHT, out)
    return out


@part
def quintic(a, va, aa, b, vb, ab, h, u):
    """Quintic Hermite over a step h between (value, rate, acceleration) at both ends, at the share u ∈ [0, 1].

    Returns value, rate and acceleration: the acceleration is the exact second derivative of the motion used.
    """
    d = b - a - h * (va + 0.5 * h * aa)
    e = h * (vb - va - h * aa)
    g = h * h * (ab - aa)
    c3 = 10.0 * d - 4.0 * e + 0.5 * g
    c4 = -15.0 * d + 7.0 * e - g
    c5 = 6.0 * d - 3.0 * e + 0.5 * g
    value = a + u * h * va + 0.5 * (u * h) ** 2 * aa + u * u * u * (c3 + u * (c4 + u * c5))
    rate = va + u * h * aa + u * u * (3.0 * c3 + u * (4.0 * c4 + u * 5.0 * c5)) / h
    acc = aa + u * (6.0 * c3 + u * (12.0 * c4 + u * 20.0 * c5)) / (h * h)
    return value, rate, acc
