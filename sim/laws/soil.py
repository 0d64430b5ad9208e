"""Soil under the disc, the boot and the wheels."""

from __future__ import annotations

import math

from sim.arithmetic.compiled import part
from sim.arithmetic.elementary import power
from sim.arithmetic.simd import largest, root, smallest


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
    s = -vz * (1.0 / root(vx * vx + vz * vz + 1e-12))
    s = smallest(largest(s, -limit), limit)
    cos_t = root(1.0 - s * s)
    per_length = strength * width * speed_term
    edge = per_length * (chord + radius * s)
    draught = per_length * (depth - radius * (1.0 - cos_t))
    face = face_factor * strength * speed_term * (2.0 / 3.0) * chord * depth
    f_x = -draught - face * (sweep_sin * tilt_cos + friction)
    f_z = edge + face * tilt_sin * sweep_cos
    return f_x, f_z, edge, face, face * tilt_cos * sweep_cos


@part
def wheel_load(sinkage, constant, exponent):
    """Load N = K s^m [N] of a rolling wheel at soil sinkage s [m]; 0 for s ≤ 0.

    Bekker–Wong rolling sinkage z = [3W/((3 − n)(k_c + b k_φ)√D)]^(2/(2n+1)) turned round
    (Wong, Theory of Ground Vehicles).
    """
    return constant * power(sinkage, exponent)


def sinkage_constant(n: float, k_c: float, k_phi: float, width: float, diameter: float) -> tuple[float, float]:
    """Constant K [N/m^m] and exponent m = n + ½ of `wheel_load` from Bekker's n, k_c, k_φ, width b and D [m]."""
    return (3.0 - n) / 3.0 * (k_c + width * k_phi) * math.sqrt(diameter), n + 0.5


@part
def motion_resistance(load, area_strength):
    """Motion-resistance ratio ρ = 0.04 + 1/B_n of a towed wheel (Brixius 1987; ASABE D497).

    area_strength = CI·b·d·(1 + 5δ/h)/(1 + 3b/d) [N], so that B_n = area_strength/W.
    """
    return 0.04 + load / area_strength


def brixius_area(width: float, diameter: float, deflection_ratio: float = 0.2) -> float:
    """b·d·(1 + 5δ/h)/(1 + 3b/d) [m²] of the Brixius wheel number (widths and diameters in m)."""
    return width * diameter * (1.0 + 5.0 * deflection_ratio) / (1.0 + 3.0 * width / diameter)
