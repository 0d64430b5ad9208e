"""Pin reactions from what the engine did to the bodies: Newton's law on its own velocity changes.

The engine tells the size of each pivot's impulse only. The vectors come from momentum: over one step each body's
m Δv/Δt and I Δω/Δt, less the applied forces, are the sums of its pivots' reactions. For nine bodies that is 27
equations for 12 vectors and one strut force; they are solved by least squares, and what is left over, like the
difference from the engine's impulse sizes, says how far the vectors are those that the engine applied.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from sim.rigid.bodies import CRANK, TOOLBAR
from sim.unit import GRAVITY

UNKNOWNS = 25


@njit(error_model="numpy", forceinline=True)
def _lever(pose, body, point):
    c, s = math.cos(pose[body, 2]), math.sin(pose[body, 2])
    return c * point[0] - s * point[1], s * point[0] + c * point[1]


@njit(error_model="numpy", forceinline=True)
def _enter(matrix, body, column, sign, rx, rz):
    """A pivot's force enters a body's three equations."""
    if body == TOOLBAR:
        return
    matrix[3 * body, column] += sign
    matrix[3 * body + 1, column + 1] += sign
    matrix[3 * body + 2, column] -= sign * rz
    matrix[3 * body + 2, column + 1] += sign * rx


@njit(error_model="numpy")
def strut_direction(part, pose):
    """Direction of the depth actuator, toolbar → crank, and its lever about the toolbar's centre (x, z)."""
    bx, bz = _lever(pose, TOOLBAR, part.strut_bar)
    cx, cz = _lever(pose, CRANK, part.strut_crank)
    dx = pose[CRANK, 0] + cx - pose[TOOLBAR, 0] - bx
    dz = pose[CRANK, 1] + cz - pose[TOOLBAR, 1] - bz
    length = math.hypot(dx, dz)
    return dx / length, dz / length, bx, bz, cx, cz


@njit(error_model="numpy")
def _least_squares(matrix, right):
    """x of smallest |A x − b|: normal equations by Cholesky's factors (A is well conditioned: arms of 0.1 to 1 m)."""
    rows, n = matrix.shape
    low = np.zeros((n, n))
    x = np.zeros(n)
    for i in range(n):
        for k in range(rows):
            x[i] += matrix[k, i] * right[k]
        for j in range(i + 1):
            total = 0.0
            for k in range(rows):
                total += matrix[k, i] * matrix[k, j]
            for k in range(j):
                total -= low[i, k] * low[j, k]
            low[i, j] = math.sqrt(total) if i == j else total / low[j, j]
    for i in range(n):
        for k in range(i):
            x[i] -= low[i, k] * x[k]
        x[i] /= low[i, i]
    for i in range(n - 1, -1, -1):
        for k in range(i + 1, n):
            x[i] -= low[k, i] * x[k]
        x[i] /= low[i, i]
    return x


@njit(error_model="numpy")
def reactions(part, pose, change, force, step):
    """Reactions at one instant: ground axes, first body on second [N].

    pose (10, 3) · change (10, 3): velocities after the step less those before · force (10, 3): applied forces and
    torques without gravity · step [s]. Returns (25,) twelve vectors and the strut's push, and the largest residual
    of a force or moment balance [N or N m].
    """
    matrix = np.zeros((27, UNKNOWNS))
    right = np.zeros(27)
    for i in range(9):
        right[3 * i] = part.mass[i] * change[i, 0] / step - force[i, 0]
        right[3 * i + 1] = part.mass[i] * (change[i, 1] / step + GRAVITY) - force[i, 1]
        right[3 * i + 2] = part.inertia[i] * change[i, 2] / step - force[i, 2]
    for j in range(12):
        a, b = part.first[j], part.second[j]
        ax, az = _lever(pose, a, part.on_first[j])
        bx, bz = _lever(pose, b, part.on_second[j])
        _enter(matrix, a, 2 * j, -1.0, ax, az)
        _enter(matrix, b, 2 * j, 1.0, bx, bz)
    ux, uz, _, _, cx, cz = strut_direction(part, pose)
    matrix[3 * CRANK, 24] = ux
    matrix[3 * CRANK + 1, 24] = uz
    matrix[3 * CRANK + 2, 24] = cx * uz - cz * ux
    found = _least_squares(matrix, right)
    worst = 0.0
    for i in range(27):
        left = -right[i]
        for k in range(UNKNOWNS):
            left += matrix[i, k] * found[k]
        worst = max(worst, abs(left))
    return found, worst


@njit(error_model="numpy")
def widest_gap(part, pose):
    """Largest distance between the two places of one pivot [m]."""
    widest = 0.0
    for j in range(12):
        a, b = part.first[j], part.second[j]
        ax, az = _lever(pose, a, part.on_first[j])
        bx, bz = _lever(pose, b, part.on_second[j])
        gap = math.hypot(pose[a, 0] + ax - pose[b, 0] - bx, pose[a, 1] + az - pose[b, 1] - bz)
        widest = max(widest, gap)
    return widest


@njit(error_model="numpy")
def toolbar_power(part, pose, found, force, vx, vz, turn):
    """Power of the toolbar on the unit [W]: four pivots, actuator, cylinder and stops, at the toolbar's velocity."""
    fx, fz, moment = -force[TOOLBAR, 0], -force[TOOLBAR, 1], -force[TOOLBAR, 2]
    for j in range(12):
        if part.first[j] == TOOLBAR:
            rx, rz = _lever(pose, TOOLBAR, part.on_first[j])
            px, pz = found[2 * j], found[2 * j + 1]
            fx += px
            fz += pz
            moment += rx * pz - rz * px
    ux, uz, rx, rz, _, _ = strut_direction(part, pose)
    push = found[24]
    fx += push * ux
    fz += push * uz
    moment += push * (rx * uz - rz * ux)
    return fx * vx + fz * vz + moment * turn


@njit(error_model="numpy")
def moving_energy(part, pose, vel):
    """Kinetic and potential energy of the nine bodies [J]."""
    total = 0.0
    for i in range(9):
        total += 0.5 * part.mass[i] * (vel[i, 0] ** 2 + vel[i, 1] ** 2) + part.mass[i] * GRAVITY * pose[i, 1]
        total += 0.5 * part.inertia[i] * vel[i, 2] ** 2
    return total
