"""Heave, pitch and roll of a wide toolbar over its own wheels, marched ahead of the rows and carried on in pieces.

A rigid bar on upright springs: wheel i at (x_i ahead of O, y_i to the left) presses with
F_i = k_i(g_i − z − x_i p − y_i r) + c_i(g_i′v − z′ − x_i p′ − y_i r′), g_i the envelope of the ground under it;
m z″ = Σ F, I_p p″ = Σ x_i F, I_r r″ = Σ y_i F, all from rest on flat ground. Small angles: exact to the second order.
Linear, so that a step is the fixed matrix of `ride`.
p > 0 nose up, r > 0 left side up. Rows do not react on the bar. A row y to the left of the middle has its own height
of O, z + y·r, with its rates, and the bar's pitch; that a rolled unit leans is left out.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel, part
from sim.arithmetic.simd import WIDTH, as_lanes, load, store
from sim.toolbar.parts import bar_rates, parts_per_node
from sim.toolbar.path import wheel_path
from sim.toolbar.ride import BLOCK, EIGHT, ROOM, forced_by, line_at, ride
from sim.unit import Unit

Values = NDArray[np.float64]


@part
def _asked(r, lines, starts, on):
    """What the ground asks of heave, pitch and roll, read under all wheels `on` samples further than at node 0."""
    heave = pitch = roll = as_lanes(0.0)
    for w in range(lines.shape[0]):
        height, slope = line_at(lines[w], starts[w] + on)
        heave = heave + (r.by_height[0, w] * height + r.by_slope[0, w] * slope)
        pitch = pitch + (r.by_height[1, w] * height + r.by_slope[1, w] * slope)
        roll = roll + (r.by_height[2, w] * height + r.by_slope[2, w] * slope)
    return heave, pitch, roll


@part
def _put_asked(asked, k, values):
    for j in range(3):
        store(asked[j], k, values[j])


@kernel
def march_roll(r, lines, starts, advance, per_node, eight, state, first, out):
    """The ride from node to node; out (n, 9): z, z′, z″, p, p′, p″, r, r′, r″ at nodes first … first + n.

    r Ride of heave, pitch and roll, its slopes by sample · lines (wheels, samples) heights [m] · starts (wheels):
    samples from their beginning to each wheel at node 0, advance: samples passed in half a step · per_node steps from
    node to node · eight: 0.0 … 7.0 · state (6): z, z′, p, p′, r, r′, carried on between calls (those of node
    first + n when done).
    """
    asked, asked_half, forced = np.empty((3, ROOM)), np.empty((3, BLOCK)), np.empty((6, BLOCK))
    y, after = state.copy(), np.empty(6)
    steps = out.shape[0] * per_node
    node, left = 0, 0  # steps to the next node
    for begin in range(0, steps, BLOCK):
        here = min(BLOCK, steps - begin)
        for k in range(0, here + 1, WIDTH):
            on = advance * (2.0 * load(eight, 0) + 2.0 * (first * per_node + begin + k))
            _put_asked(asked, k, _asked(r, lines, starts, on))
        for k in range(0, here, WIDTH):
            on = advance * (2.0 * load(eight, 0) + (2.0 * (first * per_node + begin + k) + 1.0))
            _put_asked(asked_half, k, _asked(r, lines, starts, on))
            for i in range(6):
                total = forced_by(r, i, 0, asked[0], asked_half[0], k)
                for j in range(1, 3):
                    total = total + forced_by(r, i, j, asked[j], asked_half[j], k)
                store(forced[i], k, total)
        for k in range(here):
            if left == 0:
                for j in range(3):
                    out[node, 3 * j], out[node, 3 * j + 1] = y[2 * j], y[2 * j + 1]
                    own = asked[j, k]
                    for i in range(6):
                        own += r.own[j, i] * y[i]
                    out[node, 3 * j + 2] = own
                node, left = node + 1, per_node
            left -= 1
            for i in range(6):
                total = forced[i, k]
                for j in range(3):
                    total += r.whole[i, 2 * j] * y[2 * j] + r.whole[i, 2 * j + 1] * y[2 * j + 1]
                after[i] = total
            y, after = after, y
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
        self.pressed = np.stack([np.ones_like(self.wheel_x), self.wheel_x, self.wheel_y])
        self.per_node = parts_per_node(bar_rates(self.pressed, self.stiffness, self.damping, self.shares), node_step)
        self.state = np.zeros(6)
        self.done = 0

    def nodes(self, heights: Values, x0: float, dx: float, upto: int) -> Values:
        """Motion at nodes done … upto − 1, (n, 9): z, z′, z″ [m …], p, p′, p″, r, r′, r″ [rad …].

        heights (wheels, n): the surface under each wheel, sampled at x0 + i·dx, around all places that the wheels
        pass on the way, a radius more at either end; x0 a whole number of `PATH_STEP`s, so that pieces join.
        """
        paths, apart = wheel_path(heights, dx, self.radius)
        step = self.node_step / self.per_node
        moved = ride(self.pressed, self.stiffness, self.damping, self.shares, self.speed / apart, step)
        starts = (self.x_start + self.wheel_x - x0) / apart
        out = np.empty((upto - self.done, 9))
        march_roll(
            moved, paths, starts, 0.5 * self.speed * step / apart, self.per_node, EIGHT, self.state, self.done, out,
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
