"""A rolling wheel's load on soil as the second engine finds it: the two unsolved equations, and their root by cases.

The load N is that of the soil at rest, N₀ = K (q̄/q_ref) s^m, and B ṡ/v more, B = R(k_c + b k_φ)(q̄/q_ref) sⁿ: while
the wheel sinks at ṡ it also presses the arc behind its lowest point, ψ = ṡ/v wide, as the disc does. The soil pulls
nothing, and the arc behind carries no more than the one ahead: 0 ≤ N ≤ 2N₀. The tyre in series creeps at
δ′ = (N − kδ)/c, the soil at ṡ = q̇ − δ′. Squash q = δ + s [m], soil strength q̄ (`firm`) [Pa], constants
sim.rigid.laws.Wheel.
"""

from __future__ import annotations

import math

from numba import njit


@njit(error_model="numpy")
def _still(sink, firm, wheel):
    """Load N₀ [N] of a wheel that neither sinks nor rises, at sinkage s."""
    return wheel.soil * firm * max(sink, 0.0) ** wheel.exponent


@njit(error_model="numpy", forceinline=True)
def _surplus(load, still, arc, rate, bent, wheel):
    """What a load has over the soil's answer to it, times v [W]: N − N₀ − B ṡ/v; rises with the load."""
    bending = (load - wheel.stiffness * bent) / wheel.damping
    return wheel.speed * (load - still) - arc * (rate - bending)


@njit(error_model="numpy")
def wheel_load(sink, rate, bent, firm, wheel):
    """Load N [N] at sinkage s, rate of squash q̇ [m/s] and tyre deflection δ.

    The surplus is straight in N. If none of the loads allowed, 0…2N₀, makes it vanish, the nearer end holds.
    """
    if sink <= 0.0:
        return 0.0
    still = _still(sink, firm, wheel)
    arc = wheel.arc * firm * sink**wheel.arc_exponent
    least = _surplus(0.0, still, arc, rate, bent, wheel)
    if least >= 0.0:
        return 0.0
    most = _surplus(2.0 * still, still, arc, rate, bent, wheel)
    if most <= 0.0:
        return 2.0 * still
    return 2.0 * still * least / (least - most)


@njit(error_model="numpy", forceinline=True)
def _bending(squash, rate, bent, firm, wheel):
    """Rate of the tyre's deflection δ′ [m/s]."""
    return (wheel_load(squash - bent, rate, bent, firm, wheel) - wheel.stiffness * bent) / wheel.damping


@njit(error_model="numpy")
def deflection_after(start, q0, q1, firm0, firm1, step, wheel):
    """Tyre deflection δ [m] after a step in which squash and soil strength go evenly from q0, firm0 to q1, firm1.

    RK4 in steps that are short beside the fastest change of δ, (k + dN₀/ds)/c.
    """
    if step <= 0.0:
        return start
    rate, firming = (q1 - q0) / step, (firm1 - firm0) / step
    deep = max(q0, q1, 1e-6)
    stiff = wheel.stiffness + wheel.exponent * _still(deep, max(firm0, firm1), wheel) / deep
    n = max(1, math.ceil(2.0 * step * stiff / wheel.damping))
    h = step / n
    d = start
    for i in range(n):
        qa, fa = q0 + rate * i * h, firm0 + firming * i * h
        qb, fb = qa + 0.5 * rate * h, fa + 0.5 * firming * h
        qc, fc = qa + rate * h, fa + firming * h
        k1 = _bending(qa, rate, d, fa, wheel)
        k2 = _bending(qb, rate, d + 0.5 * h * k1, fb, wheel)
        k3 = _bending(qb, rate, d + 0.5 * h * k2, fb, wheel)
        k4 = _bending(qc, rate, d + h * k3, fc, wheel)
        d += h / 6.0 * (k1 + 2.0 * (k2 + k3) + k4)
    return d


@njit(error_model="numpy")
def held_by(sink, firm, wheel):
    """Energy that the soil under a wheel holds [J]: ∫N₀ ds."""
    return _still(sink, firm, wheel) * max(sink, 0.0) / (wheel.exponent + 1.0)


@njit(error_model="numpy")
def sunk_by(load, sink, sinking, firm, firming, wheel):
    """Power lost in the soil [W] at sinking speed ṡ: the part of the load beyond N₀, and what held energy differs by
    where the soil changes along the way, q̄ at `firming` [Pa/s] (either sign)."""
    return (load - _still(sink, firm, wheel)) * sinking - held_by(sink, firming, wheel)
