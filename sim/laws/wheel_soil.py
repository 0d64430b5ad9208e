"""Soil under a rolling wheel: its load, what the soil keeps of the work, and the rolling resistance.

The whole law stands here, so that another one is a change of this file: the constants of the pair of soil and wheel
(`soil_constants`), the load at rest over the sinkage (`static_load`), the energy stored (`soil_energy`), the balance
with a tyre at rest (`settled`), the load of a wheel that sinks or rises, solved together with the tyre in series
(`wheel_on_soil`, `tyre_energy`), and what the rolling wheel loses (`motion_resistance`, `rolling`). Sinkage s counts
from the touch of an unloaded tyre.

At rest the load follows the soil's strength at a given sinkage: N₀ = K (q̄/q_ref) s^m, q_ref the strength at which the
Bekker constants hold, q̄ the strength averaged over the length of the contact. (Load in proportion to cone index:
Maclaurin; Brixius 1987; Janosi.) A wheel that sinks at ṡ presses an arc behind its lowest point that a level one leaves
unloaded: of angle ṡ/v, so it carries p(s)·b·R·ṡ/v = B ṡ/v more, B = R (k_c + b k_φ)(q̄/q_ref) s^n. One that rises leaves
soil that does not follow: N = N₀ + B ṡ/v, held within 0…2 N₀. No parameter is added, and the soil gives nothing back.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from sim.arithmetic.compiled import kernel, part, routine
from sim.arithmetic.elementary import power
from sim.arithmetic.simd import largest, root, smallest
from sim.rates import Complex, Rates, of_matrix
from sim.unit import Soil

CONTACT_LENGTH = 0.06  # along which the surface and the strength under a wheel are averaged, centred [m]


class SoilConstants(NamedTuple):
    """Constants of the pair of soil and wheel at the soil's reference strength."""

    load: float  # K of N₀ = K s^m [N/m^m]
    rate: float  # R (k_c + b k_φ), so that B = rate·s^n [N/m^n]
    exponent: float  # n of Bekker's law; m = n + ½


class WheelLoad(NamedTuple):
    """What a wheel on soil does at one instant."""

    load: Any  # N [N]
    tyre_rate: Any  # δ′ [m/s]
    held: Any  # energy stored in the soil [J]
    kept: Any  # power that the soil keeps [W]: of sinking and rising, and of strength that changes along the way
    tyre_lost: Any  # power lost in the tyre [W]


@part
def static_load(sinkage, constant, exponent):
    """Load N₀ = K s^(n + ½) [N] at rest at soil sinkage s [m]; 0 for s ≤ 0. `constant` is K (q̄/q_ref), `exponent` n.

    Bekker–Wong rolling sinkage z = [3W/((3 − n)(k_c + b k_φ)√D)]^(2/(2n+1)) turned round
    (Wong, Theory of Ground Vehicles).
    """
    return constant * power(sinkage, exponent) * root(largest(sinkage, 0.0))


@part
def soil_energy(static, sinkage, exponent):
    """Work stored in the soil under a wheel [J], ∫N₀ ds = N₀ s/(m + 1) for s > 0, m = n + ½."""
    return static * largest(sinkage, 0.0) * (1.0 / (exponent + 1.5))


@part
def sinkage(height, z, radius, deflection):
    """Soil sinkage s = h̄_R − (z − R) − δ [m] of a wheel whose axle stands at z [m]; negative in the air."""
    return height - (z - radius) - deflection


@part
def wheel_on_soil(s, squash_rate, deflection, strength, strength_rate, soil, tyre_k, tyre_c, softness, speed):
    """A tyre in series with soil → WheelLoad.

    s [m], q̇ = ṡ + δ′ [m/s], δ [m] · strength q̄/q_ref [1] and its rate at the moving wheel [1/s] · soil SoilConstants ·
    tyre's k [N/m], c [N s/m] and 1/c · the toolbar's speed v [m/s].
    With c δ′ = N − k δ and ṡ = q̇ − δ′ the rate law gives N = N₀ + B (q̇ + (k δ − N₀)/c)/(v + B/c): solved, then held
    within 0…2 N₀, which is exact because N rises with ṡ and ṡ falls with N. In the air (s ≤ 0) N₀ = B = 0, so N = 0.
    """
    sunk = largest(s, 0.0)
    grown = power(sunk, soil.exponent)
    full = soil.load * grown * root(sunk)
    static = full * strength
    b = soil.rate * grown * strength
    more = b * (squash_rate + (tyre_k * deflection - static) * softness) / (speed + b * softness)
    load = smallest(largest(static + more, 0.0), 2.0 * static)
    tyre_rate = (load - tyre_k * deflection) * softness
    held = soil_energy(static, s, soil.exponent)
    kept = (load - static) * (squash_rate - tyre_rate) - soil_energy(full * strength_rate, s, soil.exponent)
    return WheelLoad(load, tyre_rate, held, kept, tyre_c * tyre_rate * tyre_rate)


def wheel_rates(
    soil: SoilConstants, tyre_k: float, tyre_c: float, speed: float, mass: float, load: float, strength: float
) -> Rates:
    """Rates of a mass [kg] on tyre and soil about a load at rest [N]; strength q̄/q_ref, the rest as `wheel_on_soil`.

    Small changes of height z, its rate and δ, with ṡ = −z′ − δ′: N as solved there, and, while the wheel sinks so fast
    that the load is held, N = 2 N₀. In the air δ decays at k/c.
    """
    constant, m = soil.load * strength, soil.exponent + 0.5
    s = (load / constant) ** (1.0 / m)
    stiff, b = m * load / s, soil.rate * strength * s**soil.exponent
    softness = 1.0 / tyre_c

    def rates(by_height: float, by_rate: float, by_tyre: float) -> Complex:
        """With the slopes of N to z, z′ and δ."""
        return of_matrix([
            [0.0, 1.0, 0.0],
            [by_height / mass, by_rate / mass, by_tyre / mass],
            [by_height * softness, by_rate * softness, (by_tyre - tyre_k) * softness],
        ])  # fmt: skip

    share = 1.0 / (speed + b * softness)
    solved = rates(-speed * stiff * share, -b * share, (b * tyre_k * softness - speed * stiff) * share)
    return Rates(np.append(solved, -tyre_k * softness), rates(-2.0 * stiff, 0.0, -2.0 * stiff))


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


@routine
def settled(q, tyre_k, soil_k, exponent):
    """Tyre deflection δ [m] at rest with total squash q [m]: k δ = K (q − δ)^(n + ½), to rounding.

    Newton's step where it stays between the ends of the bracket, else their middle.
    """
    if q <= 0.0:
        return 0.0
    m = exponent + 0.5
    low, high = 0.0, q
    d = 0.5 * q
    for _ in range(100):
        load = soil_k * (q - d) ** m
        over = tyre_k * d - load
        if over < 0.0:
            low = d
        else:
            high = d
        step = over / (tyre_k + m * load / max(q - d, 1e-300))
        nearer = d - step
        if not (low < nearer < high):
            nearer = 0.5 * (low + high)
        if abs(nearer - d) <= 1e-16 * q:
            break
        d = nearer
    return d


def sinkage_constant(n: float, k_c: float, k_phi: float, width: float, diameter: float) -> float:
    """Constant K [N/m^(n + ½)] of `static_load` from Bekker's n, k_c, k_φ, width b and diameter D [m]."""
    return (3.0 - n) / 3.0 * (k_c + width * k_phi) * math.sqrt(diameter)


@part
def motion_resistance(load, area_strength):
    """Motion-resistance ratio ρ = 0.04 + 1/B_n of a towed wheel (Brixius 1987; ASABE D497).

    area_strength = CI·b·d·(1 + 5δ/h)/(1 + 3b/d) [N], so that B_n = area_strength/W; below 1 N it counts as 1 N, for
    soil of no strength, which carries nothing.
    """
    return 0.04 + load / largest(area_strength, 1.0)


@kernel
def motion_resistance_at(load, area_strength):
    """`motion_resistance` for callers in Python: kept on disk, where it would else be compiled by every process."""
    return motion_resistance(load, area_strength)


def soil_constants(soil: Soil, width: float, radius: float) -> SoilConstants:
    """Constants of a soil under a wheel of this width and radius [m]."""
    n, k_c, k_phi = soil.sinkage_exponent, soil.cohesive_modulus, soil.frictional_modulus
    return SoilConstants(
        load=sinkage_constant(n, k_c, k_phi, width, 2.0 * radius), rate=radius * (k_c + width * k_phi), exponent=n
    )


def brixius_area(width: float, diameter: float, deflection_ratio: float = 0.2) -> float:
    """b·d·(1 + 5δ/h)/(1 + 3b/d) [m²] of the Brixius wheel number (widths and diameters in m)."""
    return width * diameter * (1.0 + 5.0 * deflection_ratio) / (1.0 + 3.0 * width / diameter)
