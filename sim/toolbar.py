"""The toolbar's own path over the ground: heave and pitch on two axles, marched before the rows."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sim.compiled import kernel, part
from sim.contact import envelope, read_table
from sim.unit import Unit

NODE_STEP = 1e-3  # largest step of the toolbar's march [s]


@kernel
def _march(table, x0, inverse_dx, x_start, speed, step, per_node, mass, inertia, front, rear, k, c, nodes_out):
    """RK4 over nodes; nodes_out (n, 6): z, z′, z″, p, p′, p″, z and p from the level position on flat ground."""
    z, vz, p, vp = 0.0, 0.0, 0.0, 0.0
    n = nodes_out.shape[0]
    k1 = np.zeros(4)
    total = np.zeros(4)
    for node in range(n):
        for sub in range(per_node):
            t = (node * per_node + sub) * step
            total[:] = 0.0
            k1[:] = 0.0
            for stage in range(4):
                h = 0.0 if stage == 0 else (step if stage == 3 else 0.5 * step)
                weight = 1.0 if stage in (0, 3) else 2.0
                zs, vzs, ps, vps = z + h * k1[0], vz + h * k1[1], p + h * k1[2], vp + h * k1[3]
                x = x_start + speed * (t + h)
                gf, sf = read_table(table, 0, x0, inverse_dx, x + front)
                gr, sr = read_table(table, 0, x0, inverse_dx, x - rear)
                force_f = k * (gf - zs - front * ps) + c * (sf * speed - vzs - front * vps)
                force_r = k * (gr - zs + rear * ps) + c * (sr * speed - vzs + rear * vps)
                az = (force_f + force_r) / mass
                ap = (front * force_f - rear * force_r) / inertia
                k1[0], k1[1], k1[2], k1[3] = vzs, az, vps, ap
                total += weight * k1
                if stage == 0 and sub == 0:
                    nodes_out[node, 0], nodes_out[node, 1], nodes_out[node, 2] = z, vz, az
                    nodes_out[node, 3], nodes_out[node, 4], nodes_out[node, 5] = p, vp, ap
            z += step / 6.0 * total[0]
            vz += step / 6.0 * total[1]
            p += step / 6.0 * total[2]
            vp += step / 6.0 * total[3]


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
    `carried` False: a bench test at constant height.
    """
    out = np.zeros((nodes, 6))
    if not carried:
        return out
    bar = unit.toolbar
    table = envelope(surface, dx, bar.wheel_radius)[:, None].copy()
    per_node = max(1, math.ceil(node_step / NODE_STEP - 1e-9))
    _march(
        table, x0, 1.0 / dx, x_start, speed, node_step / per_node, per_node, bar.mass, bar.inertia,
        bar.axle_front, bar.axle_rear, bar.stiffness, bar.damping, out,
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
