"""A bar on wheels is linear: its step is one fixed matrix; and the toolbar on two axles, marched from node to node.

With q heave and pitch (and roll, in `roll`), B (coordinates, wheels) by how much a wheel is pressed in per coordinate,
and g the height of the ground under each wheel, S q″ = B [k (g − Bᵀ q) + c (g′ − Bᵀ q′)], S mass and moments of
inertia. Written y′ = M y + E a(t), where y = (q₁, q₁′, q₂, q₂′, …) and a = S⁻¹ B (k g + c g′) is what the ground asks
for, the classical Runge–Kutta step of order 4 is y⁺ = P y + Q₁ a(t) + Q₂ a(t + h/2) + Q₃ a(t + h) with

    P  = 1 + hM + (hM)²/2 + (hM)³/6 + (hM)⁴/24
    Q₁ = h/6 (1 + hM + (hM)²/2 + (hM)³/4) E,   Q₂ = h/6 (4 + 2 hM + (hM)²/2) E,   Q₃ = h/6 E

(derived: the four stages put into each other). So the ground can be read ahead of the march, eight places at once.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel, part
from sim.arithmetic.simd import WIDTH, load, store
from sim.laws.contact import read_samples

Values = NDArray[np.float64]

BLOCK = 128  # steps for which the ground is read at once, in eights: it stays in the first cache
ROOM = BLOCK + WIDTH  # of these and their end
EIGHT = np.arange(float(WIDTH))


class Ride(NamedTuple):
    """A bar's step; m coordinates, w wheels."""

    whole: Values  # P (2m, 2m)
    first: Values  # Q₁ (2m, m)
    middle: Values  # Q₂
    last: Values  # Q₃
    own: Values  # (m, 2m) acceleration by the bar's own state
    by_height: Values  # (m, w) acceleration by a wheel's height over level 0 [1/s² per m, rad/s² per m]
    by_slope: Values  # (m, w) and by its slope: c times the speed


def matrix(pressed: Values, stiffness: Values, damping: Values, shares: Values) -> Values:
    """M (2m, 2m) of y = (q₁, q₁′, q₂, q₂′, …).

    pressed (m, w): by how much a wheel is pressed in per heave [1] and per angle [m] · stiffness and damping of each
    wheel [N/m, N s/m] · shares (m): 1 over mass and moments of inertia.
    """
    found = np.zeros((2 * len(shares), 2 * len(shares)))
    found[0::2, 1::2] = np.eye(len(shares))
    found[1::2, 0::2] = -shares[:, None] * ((pressed * stiffness) @ pressed.T)
    found[1::2, 1::2] = -shares[:, None] * ((pressed * damping) @ pressed.T)
    return found


def ride(pressed: Values, stiffness: Values, damping: Values, shares: Values, speed: float, step: float) -> Ride:
    """The step [s] of a bar at a speed [m/s]; the rest as `matrix`."""
    m = matrix(pressed, stiffness, damping, shares)
    one, h = np.eye(len(m)), step * m
    h2 = h @ h
    h3 = h2 @ h
    asks = np.zeros((len(m), len(shares)))
    asks[1::2] = np.eye(len(shares))
    return Ride(
        whole=one + h + h2 / 2.0 + h3 / 6.0 + h2 @ h2 / 24.0,
        first=step / 6.0 * (one + h + h2 / 2.0 + h3 / 4.0) @ asks,
        middle=step / 6.0 * (4.0 * one + 2.0 * h + h2 / 2.0) @ asks,
        last=step / 6.0 * asks,
        own=np.ascontiguousarray(m[1::2]),
        by_height=shares[:, None] * pressed * stiffness,
        by_slope=shares[:, None] * pressed * (damping * speed),
    )


@part
def line_at(line, u):
    """Value of a line at u samples from its beginning, and its slope by sample."""
    return read_samples(line, 0.0, 0, line.size, u, 1.0)


@part
def _asked(r, line, front, rear):
    """What the ground asks of heave and pitch, its line read at `front` and `rear` samples [m/s², rad/s²]."""
    gf, sf = line_at(line, front)
    gr, sr = line_at(line, rear)
    h, s = r.by_height, r.by_slope
    heave = h[0, 0] * gf + h[0, 1] * gr + (s[0, 0] * sf + s[0, 1] * sr)
    return heave, h[1, 0] * gf + h[1, 1] * gr + (s[1, 0] * sf + s[1, 1] * sr)


@part
def _sum(rows, i, z, vz, p, vp):
    return rows[i, 0] * z + rows[i, 1] * vz + (rows[i, 2] * p + rows[i, 3] * vp)


@part
def forced_by(r, i, j, ask, ask_half, k):
    """What the ground asks of coordinate j adds to state i in eight steps from k on."""
    early, late = r.first[i, j] * load(ask, k), r.last[i, j] * load(ask, k + 1)
    return early + r.middle[i, j] * load(ask_half, k) + late


@kernel
def march_level(r, line, front, rear, advance, per_node, eight, out):
    """The ride from rest, node by node → out (n, 6): heave and pitch, each with rate and acceleration.

    r Ride, its slopes by sample · line (samples) heights [m] · front, rear: samples from its beginning to the wheels at
    node 0, advance: samples passed in half a step · per_node steps from node to node · eight: 0.0 … 7.0.
    """
    heave, pitch, heave_half, pitch_half = np.empty(ROOM), np.empty(ROOM), np.empty(ROOM), np.empty(ROOM)
    forced = np.empty((4, BLOCK))
    z, vz, p, vp = 0.0, 0.0, 0.0, 0.0
    steps = out.shape[0] * per_node
    node, left = 0, 0  # steps to the next node
    for begin in range(0, steps, BLOCK):
        for k in range(0, ROOM, WIDTH):
            on = advance * (2.0 * load(eight, 0) + 2.0 * (begin + k))
            a, b = _asked(r, line, front + on, rear + on)
            store(heave, k, a)
            store(pitch, k, b)
        for k in range(0, BLOCK, WIDTH):
            on = advance * (2.0 * load(eight, 0) + (2.0 * (begin + k) + 1.0))
            a, b = _asked(r, line, front + on, rear + on)
            store(heave_half, k, a)
            store(pitch_half, k, b)
            for i in range(4):
                store(forced[i], k, forced_by(r, i, 0, heave, heave_half, k) + forced_by(r, i, 1, pitch, pitch_half, k))
        for k in range(min(BLOCK, steps - begin)):
            if left == 0:
                out[node, 0], out[node, 1], out[node, 2] = z, vz, heave[k] + _sum(r.own, 0, z, vz, p, vp)
                out[node, 3], out[node, 4], out[node, 5] = p, vp, pitch[k] + _sum(r.own, 1, z, vz, p, vp)
                node, left = node + 1, per_node
            left -= 1
            z, vz, p, vp = (
                forced[0, k] + _sum(r.whole, 0, z, vz, p, vp),
                forced[1, k] + _sum(r.whole, 1, z, vz, p, vp),
                forced[2, k] + _sum(r.whole, 2, z, vz, p, vp),
                forced[3, k] + _sum(r.whole, 3, z, vz, p, vp),
            )
