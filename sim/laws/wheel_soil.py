"""Soil under a rolling wheel: its load, what the soil keeps of the work, and the rolling resistance.

The whole law stands here, so that another one is a change of this file: two constants of the pair of soil and wheel
(`sinkage_constant`), the load over the sinkage and its turning round (`wheel_load`, `sinkage_at`), the energy stored
(`soil_energy`), the balance with a tyre at rest (`settled`), the tyre in series (`tyre_rate`, `tyre_energy`) and what
the rolling wheel loses (`motion_resistance`, `rolling`). Sinkage s counts from the touch of an unloaded tyre.
"""

from __future__ import annotations

import math

from numba import njit

from sim.arithmetic.compiled import ARITHMETIC, part
from sim.arithmetic.elementary import power
from sim.unit import Soil


@part
def wheel_load(sinkage, constant, exponent):
    """Load N = K s^m [N] of a rolling wheel at soil sinkage s [m]; 0 for s ≤ 0.

    Bekker–Wong rolling sinkage z = [3W/((3 − n)(k_c + b k_φ)√D)]^(2/(2n+1)) turned round
    (Wong, Theory of Ground Vehicles).
    """
    return constant * power(sinkage, exponent)


@part
def sinkage_at(load, constant, exponent):
    """Soil sinkage s [m] that carries a load [N]: `wheel_load` turned round; 0 without load."""
    if load > 0.0:
        return (load / constant) ** (1.0 / exponent)
    return 0.0


@part
def soil_energy(load, sinkage, exponent):
    """Work stored in the soil under a wheel [J], ∫N ds = N s/(m + 1) for s > 0."""
    return load * max(sinkage, 0.0) / (exponent + 1.0)


@part
def sinkage(height, z, radius, deflection):
    """Soil sinkage s = h_R − (z − R) − δ [m] of a wheel whose axle stands at z [m]; negative in the air."""
    return height - (z - radius) - deflection


@part
def tyre_rate(load, deflection, stiffness, softness):
    """Rate of a tyre's deflection δ [m/s] in series with soil that carries `load` [N]; softness = 1/c [m/(N s)]."""
    return (load - stiffness * deflection) * softness


@part
def tyre_energy(deflection, stiffness):
    """Work stored in a tyre [J]."""
    return 0.5 * stiffness * deflection**2


@part
def rolling(load, slope, resistance, vx, vz):
    """Force of sloping ground on a towed wheel (x, z) [N] and the power lost [W] at its axle's velocity [m/s]."""
    f_x = -load * (slope + resistance)
    f_z = load * (1.0 - resistance * slope)
    return f_x, f_z, resistance * load * (vx + slope * vz)


@njit(**ARITHMETIC)
def settled(q, tyre_k, soil_k, soil_m):
    """Tyre deflection δ [m] at rest with total squash q [m]: k δ = K (q − δ)^m, to rounding.

    Newton's step where it stays between the ends of the bracket, else their middle.
    """
    if q <= 0.0:
        return 0.0
    low, high = 0.0, q
    d = 0.5 * q
    for _ in range(100):
        load = soil_k * (q - d) ** soil_m
        over = tyre_k * d - load
        if over < 0.0:
            low = d
        else:
            high = d
        step = over / (tyre_k + soil_m * load / max(q - d, 1e-300))
        nearer = d - step
        if not (low < nearer < high):
            nearer = 0.5 * (low + high)
        if abs(nearer - d) <= 1e-16 * q:
            break
        d = nearer
    return d


def sinkage_constant(n: float, k_c: float, k_phi: float, width: float, diameter: float) -> tuple[float, float]:
    """Constant K [N/m^m] and exponent m = n + ½ of `wheel_load` from Bekker's n, k_c, k_φ, width b and D [m]."""
    return (3.0 - n) / 3.0 * (k_c + width * k_phi) * math.sqrt(diameter), n + 0.5


@part
def motion_resistance(load, area_strength):
    """Motion-resistance ratio ρ = 0.04 + 1/B_n of a towed wheel (Brixius 1987; ASABE D497).

    area_strength = CI·b·d·(1 + 5δ/h)/(1 + 3b/d) [N], so that B_n = area_strength/W.
    """
    return 0.04 + load / area_strength


def soil_constants(soil: Soil, width: float, radius: float) -> tuple[float, float]:
    """`sinkage_constant` of a soil under a wheel of this width and radius [m]."""
    return sinkage_constant(soil.sinkage_exponent, soil.cohesive_modulus, soil.frictional_modulus, width, 2.0 * radius)


def brixius_area(width: float, diameter: float, deflection_ratio: float = 0.2) -> float:
    """b·d·(1 + 5δ/h)/(1 + 3b/d) [m²] of the Brixius wheel number (widths and diameters in m)."""
    return width * diameter * (1.0 + 5.0 * deflection_ratio) / (1.0 + 3.0 * width / diameter)
