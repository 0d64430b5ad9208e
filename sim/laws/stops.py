"""Two travel stops on an angle."""

from __future__ import annotations

from sim.arithmetic.compiled import part
from sim.arithmetic.simd import largest, select
from sim.laws.contact import blow_peak, blow_rate, impact_force, impact_rates
from sim.rates import Rates

# Between samples the peak of a blow is read up to 0.025 (h·rate/0.47)^2.6 of it too low (a mass on such a contact, its
# steps at any phase; h·rate from 0.4 to 1). To this on a pin that may be: 2 % of the blow on a main stop of the
# default unit [N]
HELD = 1e3
LOSS, POWER = 0.025, 2.6


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


def stop_rates(stiffness: float, damping: float, rate: float, fastest: float, inertia: float, lever: float) -> Rates:
    """Rates of an arm of that moment of inertia [kg m²] that usually meets a stop at a rate, and at most at `fastest`.

    rate, fastest [rad/s]; lever: the couple of the stop over the force that it brings on a pin [m]. A blow that is too
    small for its peak to matter on any pin is followed less closely.
    """
    most = LOSS * blow_peak(stiffness, damping, fastest, inertia) / lever
    closely = min(1.0, (most / HELD) ** (1.0 / POWER))
    blow = blow_rate(stiffness, damping, fastest, inertia)
    return impact_rates(stiffness, damping, rate, inertia)._replace(struck=closely * blow)
