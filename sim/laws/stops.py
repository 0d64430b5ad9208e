"""Two travel stops on an angle."""

from __future__ import annotations

from sim.arithmetic.compiled import part
from sim.arithmetic.simd import largest, select
from sim.laws.contact import impact_force, impact_rates
from sim.rates import Rates


@part
def stop_couple(angle, rate, up, down, stiffness, damping):
    """Couple of two travel stops on an angle [N m], lost power [W], contact signature."""
    over = angle - up
    under = down - angle
    high = impact_force(over, rate, stiffness, damping)
    low = impact_force(under, -rate, stiffness, damping)
    lost = (high - stiffness * largest(over, 0.0)) * rate - (low - stiffness * largest(under, 0.0)) * rate
    return low - high, lost, select(over > 0.0, 1.0, 0.0) + select(under > 0.0, 1.0, 0.0)


@part
def stop_energy(angle, up, down, stiffness):
    """Work stored in the stops [J]."""
    return 0.5 * stiffness * (max(angle - up, 0.0) ** 2 + max(down - angle, 0.0) ** 2)


def stop_rates(stiffness: float, damping: float, rate: float, inertia: float) -> Rates:
    """Rates of an arm of that moment of inertia [kg m²] that meets a stop at a rate [rad/s]."""
    return impact_rates(stiffness, damping, rate, inertia)
