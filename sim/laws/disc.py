"""What the disc and the boot meet: soil on the arc and the face, soil on the boot, and stones."""

from __future__ import annotations

import numpy as np

from sim.arithmetic.compiled import part
from sim.arithmetic.simd import largest, magnitude, root, select, smallest
from sim.laws.contact import impact_force, impact_rates
from sim.rates import Rates


@part
def disc_force(
    depth,
    vx,
    vz,
    strength,
    speed_term,
    width,
    radius,
    face_factor,
    friction,
    tilt_sin,
    tilt_cos,
    sweep_sin,
    sweep_cos,
):
    """Soil force on the disc: uniform pressure on the leading arc that advances into soil, and on the face.

    depth [m] in 0…radius, hub velocity (vx, vz) [m/s], strength [Pa], speed_term f_v = 1 + a_v·S.
    Returns (F_x forward, F_z up, edge part of F_z, face normal force N_f, side load Y), all [N].
    The arc runs from the bottom to c = √(2Rh − h²) ahead; motion down by ψ_t turns the bearing part of it.
    """
    chord = root(depth * (2.0 * radius - depth))
    limit = chord * (1.0 / radius)
    forward = largest(magnitude(vx), 1e-12)  # at rest: as if it moved level
    speed = root(forward * forward + vz * vz)
    s = -vz / speed
    # steeper than the arc's end: all of it bears or nothing, R(1 − cos ψ_c) = h
    lost = select(magnitude(s) < limit, radius * (1.0 - forward / speed), depth)
    s = smallest(largest(s, -limit), limit)
    per_length = strength * width * speed_term
    edge = per_length * (chord + radius * s)
    draught = per_length * (depth - lost)
    face = face_factor * strength * speed_term * (2.0 / 3.0) * chord * depth
    f_x = -draught - face * (sweep_sin * tilt_cos + friction)
    f_z = edge + face * tilt_sin * sweep_cos
    return f_x, f_z, edge, face, face * tilt_cos * sweep_cos


@part
def boot_force(m, depth, strength):
    """Soil force on the boot (x, z) [N] at the disc's depth [m] and a strength [Pa]."""
    share = depth * strength * m.q_share
    return -m.boot_kx * share, m.boot_kz * share


_SINKING = 1.0 - 1e-9  # of rock_limit: penetration − (penetration − rock_limit) is it but for rounding


@part
def stone_force(m, penetration, rate, sunk):
    """Upward force of a stone on the disc [N], how far it is pressed [m], whether it gives way (1, else 0), and the
    powers lost in the contact and, by its sinking, to the soil [W].

    It bears F_s = k·rock_limit. The whole force, with its damping factor, is held there: that is giving way. Pressed
    by more than rock_limit the stone sinks; `sunk` [m] is how far: the largest of penetration − rock_limit so far.
    """
    strength = m.rock_k * m.rock_limit
    pressed = smallest(penetration - sunk, m.rock_limit)
    pushed = impact_force(pressed, rate, m.rock_k, m.rock_d)
    rock = smallest(pushed, strength)
    sinking = (pressed > _SINKING * m.rock_limit) & (rate > 0.0)
    elastic = select(sinking, rock, m.rock_k * largest(pressed, 0.0))
    w_sunk = select(sinking, rock * rate, 0.0)
    return rock, pressed, select(pushed >= strength, 1.0, 0.0), (rock - elastic) * rate, w_sunk


@part
def stone_energy(m, penetration, sunk):
    """Work stored in the contact with a stone [J]."""
    return 0.5 * m.rock_k * min(max(penetration - sunk, 0.0), m.rock_limit) ** 2


def stone_rates(stiffness: float, damping: float, give_way: float, rate: float, mass: float) -> Rates:
    """Rates of a mass [kg] on a stone that is met at a rate [m/s] and gives way at a force [N]."""
    return impact_rates(stiffness, damping, rate, mass, give_way / stiffness)


def disc_rates(per_length: float, radius: float, speed: float, mass: float) -> Rates:
    """Rates of a mass [kg] on the disc: the arc that its sinking turns damps it by q w f_v R/v; per_length: q w f_v."""
    return Rates(np.array([-per_length * radius / (speed * mass)], dtype=np.complex128))
