"""The toolbar's own path over the ground: heave and pitch on two axles, marched before the rows."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel, part
from sim.laws.contact import envelope, read_table
from sim.toolbar.parts import parts_per_node, toolbar_rates
from sim.toolbar.rk4 import after, fourth, second, third
from sim.unit import Unit

PATH_STEP = 5e-3  # distance between the points that a wheel's path is read from [m]


@part
def _push(table, x0, inverse_dx, x, speed, z, vz, p, vp, front, rear, k, c, by_mass, by_inertia):
    """Heave and pitch acceleration of the toolbar at position x."""
    gf, sf = read_table(table, 0, x0, inverse_dx, x + front)
    gr, sr = read_table(table, 0, x0, inverse_dx, x - rear)
    force_f = k * (gf - z - front * p) + c * (sf * speed - vz - front * vp)
    force_r = k * (gr - z + rear * p) + c * (sr * speed - vz + rear * vp)
    return (force_f + force_r) * by_mass, (front * force_f - rear * force_r) * by_inertia


@kernel
def _march(
    table, x0, inverse_dx, x_start, speed, step, per_node, by_mass, by_inertia, front, rear, k, c, state, first, out
):  # fmt: skip
    """RK4 from node to node; out (n, 6): z, z′, z″, p, p′, p″; state (4): z, z′, p, p′, carried on between calls.

    Node i of `out` is node first + i of the path.
    """
    z, vz, p, vp = state[0], state[1], state[2], state[3]
    n = out.shape[0]
    h2 = 0.5 * step
    for node in range(n):
        for sub in range(per_node):
            x = x_start + speed * ((first + node) * per_node + sub) * step
            a1, b1 = _push(table, x0, inverse_dx, x, speed, z, vz, p, vp, front, rear, k, c, by_mass, by_inertia)
            if sub == 0:
                out[node, 0] = z
                out[node, 1] = vz
                out[node, 2] = a1
                out[node, 3] = p
                out[node, 4] = vp
                out[node, 5] = b1
            xm = x + speed * h2
            z2, v2 = second(z, vz, a1, h2)
            p2, w2 = second(p, vp, b1, h2)
            a2, b2 = _push(
                table, x0, inverse_dx, xm, speed, z2, v2, p2, w2, front, rear, k, c, by_mass, by_inertia
            )  # fmt: skip
            z3, v3 = third(z, vz, a1, a2, h2)
            p3, w3 = third(p, vp, b1, b2, h2)
            a3, b3 = _push(
                table, x0, inverse_dx, xm, speed, z3, v3, p3, w3, front, rear, k, c, by_mass, by_inertia
            )  # fmt: skip
            z4, v4 = fourth(z, vz, a2, a3, h2, step)
            p4, w4 = fourth(p, vp, b2, b3, h2, step)
            a4, b4 = _push(
                table, x0, inverse_dx, x + speed * step, speed, z4, v4, p4, w4, front, rear, k, c, by_mass, by_inertia
            )  # fmt: skip
            z, vz = after(z, vz, a1, a2, a3, a4, h2, step)
            p, vp = after(p, vp, b1, b2, b3, b4, h2, step)
    state[0], state[1], state[2], state[3] = z, vz, p, vp


def wheel_path(surface: NDArray[np.float64], dx: float, radius: float) -> tuple[NDArray[np.float64], float]:
    """Path of an axle's wheel over a surface sampled every dx [m] → heights and the distance between them [m].

    The envelope is that of all samples; of its points those are kept that lie 5 mm apart. Closer ones would only
    sharpen the kinks where the wheel passes from one crest to the next: its damper makes jumps in the toolbar's
    acceleration of them, and the steps' error follows (class D up to 40 c/m at 10 km/h: 0.008 mm of depth, 0.024 mm
    with points every 1.25 mm).
    """
    every = max(1, math.floor(PATH_STEP / dx + 1e-9))
    return envelope(surface, dx, radius)[::every].copy(), every * dx


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
) -> NDArray[np.float64]:
    """Motion of O at `nodes` instants `node_step` [s] apart, from rest at x_start [m] → (nodes, 6).

    Columns z, z′, z″ [m, m/s, m/s²] from the height on flat ground at level 0, and p, p′, p″ [rad …]. The axles
    ride on linear tyres that may pull, over the envelope of their wheel; rows do not react on the toolbar.
    `carried` False: a bench test at constant height. Raises StepError (`parts_per_node`).
    """
    out = np.zeros((nodes, 6))
    if not carried:
        return out
    bar = unit.toolbar
    heights, apart = wheel_path(surface, dx, bar.wheel_radius)
    per_node = parts_per_node(toolbar_rates(bar), node_step)
    _march(
        heights[:, None], x0, 1.0 / apart, x_start, speed, node_step / per_node, per_node, 1.0 / bar.mass,
        1.0 / bar.inertia, bar.axle_front, bar.axle_rear, bar.stiffness, bar.damping, np.zeros(4), 0, out,
    )  # fmt: skip
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
