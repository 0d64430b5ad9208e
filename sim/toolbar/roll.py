"""Heave, pitch and roll of a wide toolbar over its own wheels, marched ahead of the rows and carried on in pieces.

A rigid bar on upright springs: wheel i at (x_i ahead of O, y_i to the left) presses with
F_i = k_i(g_i − z − x_i p − y_i r) + c_i(g_i′v − z′ − x_i p′ − y_i r′), g_i the envelope of the ground under it;
m z″ = Σ F, I_p p″ = Σ x_i F, I_r r″ = Σ y_i F, all from rest on flat ground. Small angles: exact to the second order.
p > 0 nose up, r > 0 left side up. Rows do not react on the bar. A row y to the left of the middle has its own height
of O, z + y·r, with its rates, and the bar's pitch; that a rolled unit leans is left out.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel, part
from sim.laws.contact import read_table
from sim.toolbar.parts import bar_rates, parts_per_node
from sim.toolbar.path import wheel_path
from sim.toolbar.rk4 import after, fourth, second, third
from sim.unit import Unit

Values = NDArray[np.float64]


@part
def _push(table, x0, inverse_dx, x, speed, wheel_x, wheel_y, k, c, z, vz, p, vp, r, vr):
    """Sums of the wheels' forces and of their moments in pitch and roll, O at x."""
    force = 0.0
    pitch = 0.0
    roll = 0.0
    for i in range(wheel_x.size):
        g, s = read_table(table, i, x0, inverse_dx, x + wheel_x[i])
        f = k[i] * (g - z - wheel_x[i] * p - wheel_y[i] * r) + c[i] * (
            s * speed - vz - wheel_x[i] * vp - wheel_y[i] * vr
        )
        force += f
        pitch += wheel_x[i] * f
        roll += wheel_y[i] * f
    return force, pitch, roll


@kernel
def _march_roll(
    table, x0, inverse_dx, x_start, speed, step, per_node, wheel_x, wheel_y, k, c, shares, state, first, out
):  # fmt: skip
    """RK4 from node to node; out (n, 9): z, z′, z″, p, p′, p″, r, r′, r″ at nodes first … first + n of the path.

    shares (3): 1/m, 1/I_p, 1/I_r; state (6): z, z′, p, p′, r, r′, carried on between calls (those of node first + n
    when done).
    """
    y = state.copy()
    at = np.empty(6)
    a = np.empty((4, 3))
    h2 = 0.5 * step
    for node in range(out.shape[0]):
        for sub in range(per_node):
            x = x_start + speed * ((first + node) * per_node + sub) * step
            for stage in range(4):
                for j in range(3):
                    here, rate = y[2 * j], y[2 * j + 1]
                    if stage == 0:
                        at[2 * j], at[2 * j + 1] = here, rate
                    elif stage == 1:
                        at[2 * j], at[2 * j + 1] = second(here, rate, a[0, j], h2)
                    elif stage == 2:
                        at[2 * j], at[2 * j + 1] = third(here, rate, a[0, j], a[1, j], h2)
                    else:
                        at[2 * j], at[2 * j + 1] = fourth(here, rate, a[1, j], a[2, j], h2, step)
                on = 0.0 if stage == 0 else step if stage == 3 else h2
                f, m, q = _push(
                    table, x0, inverse_dx, x + speed * on, speed, wheel_x, wheel_y, k, c, at[0], at[1], at[2], at[3],
                    at[4], at[5],
                )  # fmt: skip
                a[stage, 0], a[stage, 1], a[stage, 2] = f * shares[0], m * shares[1], q * shares[2]
                if stage == 0 and sub == 0:
                    for j in range(3):
                        out[node, 3 * j] = y[2 * j]
                        out[node, 3 * j + 1] = y[2 * j + 1]
                        out[node, 3 * j + 2] = a[0, j]
            for j in range(3):
                y[2 * j], y[2 * j + 1] = after(
                    y[2 * j], y[2 * j + 1], a[0, j], a[1, j], a[2, j], a[3, j], h2, step
                )  # fmt: skip
    for j in range(6):
        state[j] = y[j]


class RollingBar:
    """The toolbar of a machine on its wheels; `nodes` carries its motion on, stretch by stretch.

    front, rear: places of the wheels across [m], left positive; the stiffness of an axle is shared by its wheels.
    roll_inertia [kg m²]; node_step [s] between nodes; x_start [m]: O at node 0, at rest. Raises StepError where the
    bar is too stiff to be followed.
    """

    def __init__(
        self, unit: Unit, front: Sequence[float], rear: Sequence[float], roll_inertia: float, speed: float,
        node_step: float, x_start: float,
    ) -> None:  # fmt: skip
        bar = unit.toolbar
        self.wheel_x = np.array([bar.axle_front] * len(front) + [-bar.axle_rear] * len(rear))
        self.wheel_y = np.array([*front, *rear], dtype=np.float64)
        share = np.array([1.0 / len(front)] * len(front) + [1.0 / len(rear)] * len(rear))
        self.stiffness, self.damping = bar.stiffness * share, bar.damping * share
        self.shares = np.array([1.0 / bar.mass, 1.0 / bar.inertia, 1.0 / roll_inertia])
        self.radius = bar.wheel_radius
        self.speed, self.node_step, self.x_start = speed, node_step, x_start
        pressed = np.stack([np.ones_like(self.wheel_x), self.wheel_x, self.wheel_y])
        self.per_node = parts_per_node(bar_rates(pressed, self.stiffness, self.damping, self.shares), node_step)
        self.state = np.zeros(6)
        self.done = 0

    def nodes(self, heights: Values, x0: float, dx: float, upto: int) -> Values:
        """Motion at nodes done … upto − 1, (n, 9): z, z′, z″ [m …], p, p′, p″, r, r′, r″ [rad …].

        heights (wheels, n): the surface under each wheel, sampled at x0 + i·dx, around all places that the wheels
        pass on the way, a radius more at either end; x0 a whole number of `PATH_STEP`s, so that pieces join.
        """
        paths = [wheel_path(line, dx, self.radius) for line in heights]
        table = np.stack([path for path, _ in paths])
        out = np.empty((upto - self.done, 9))
        _march_roll(
            table, x0, 1.0 / paths[0][1], self.x_start, self.speed,
            self.node_step / self.per_node, self.per_node, self.wheel_x, self.wheel_y, self.stiffness, self.damping,
            self.shares, self.state, self.done, out,
        )  # fmt: skip
        self.done = upto
        return out


@kernel
def _spread(nodes, across, out):
    for j in range(across.size):
        y = across[j]
        for i in range(nodes.shape[0]):
            for k in range(3):
                out[j, i, k] = nodes[i, k] + y * nodes[i, 6 + k]
                out[j, i, 3 + k] = nodes[i, 3 + k]


def row_paths(nodes: Values, across: Values, out: Values | None = None) -> Values:
    """Paths of rows at places `across` [m], left positive, from the bar's motion (n, 9) → (rows, n, 6), into `out`."""
    found = np.empty((across.size, nodes.shape[0], 6)) if out is None else out
    _spread(nodes, across, found)
    return found
