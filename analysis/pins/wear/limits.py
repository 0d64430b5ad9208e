"""What is asked of a bush and its pin against what they bear: pressure, sliding, P·V, strength of the pin."""

from __future__ import annotations

from typing import NamedTuple

from analysis.pins.bush.bushes import BushDuty
from analysis.pins.wear.materials import MATERIALS

WEAR = "wear"


class Asked(NamedTuple):
    """One thing that is asked: its name, how much, and how much may be; `share` of it."""

    name: str
    value: float
    limit: float

    @property
    def share(self) -> float:
        """1 where nothing is left."""
        return self.value / self.limit


def asked(duty: BushDuty, speed: float, strength: float) -> tuple[Asked, ...]:
    """All that has a limit, the nearest to it first; travel speed [m/s], yield strength of the pin [Pa].

    Peak pressure (along the edge of a single bush with a couple) against what is borne now and then, root mean square
    against what is borne while it turns, sliding speed and the mean of P·V each by itself; the pin's worst stress
    against its yield strength, without any factor of safety.
    """
    of = MATERIALS[duty.pin.material]
    found = [
        ("peak pressure", max(duty.pressure_peak, duty.edge), of.static),
        ("pressure", duty.pressure_rms, of.dynamic),
        ("sliding speed", duty.velocity, of.speed),
        ("P·V", duty.pressure_velocity(speed), of.pressure_speed),
        ("pin's strength", duty.stress, strength),
    ]
    made = [Asked(name, value, limit) for name, value, limit in found if limit is not None]
    return tuple(sorted(made, key=lambda one: -one.share))
