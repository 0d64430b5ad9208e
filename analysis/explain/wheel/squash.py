"""Why tyre and soil give way more or less at one instant than when the depth was set: more load, or softer soil."""

from __future__ import annotations

from typing import NamedTuple

from analysis.present.edge import mm
from sim.laws.envelope import averaged
from sim.laws.wheel_soil import CONTACT_LENGTH, soil_constants
from sim.record import Run


class Squash(NamedTuple):
    """Parts of the error's part "tyre and sinkage" [m], and the strength behind one of them; the parts add up to it."""

    load: float  # what the change of the load gives on the soil of this place, at rest
    soil: float  # what soil of another strength gives under the load as set, at rest
    moving: float  # the rest: the wheel sinks or rises, and has not come to rest
    strength: float  # of the soil under the wheel, as a share of that at the setting

    def to_dict(self) -> dict[str, float]:
        """JSON form."""
        return {
            "by_load": mm(self.load), "by_soil": mm(self.soil), "by_motion": mm(self.moving),
            "strength_share": self.strength,
        }  # fmt: skip


def squash_split(run: Run, step: int, behind: float) -> Squash | None:
    """The squash at a step against that at the setting; `behind`: how far the wheel's axle is behind the disc's [m].

    Tyre and soil at rest: N/k + (N/(K q/q_ref))^(1/m) (`sim.laws.wheel_soil`). None where the wheel carries nothing or
    the soil under it has no strength.
    """
    track, wheel, soil = run.track, run.unit.gauge_wheel, run.soil
    half = 0.5 * CONTACT_LENGTH
    under = averaged(track.strength, track.dx, -half, half)
    at = float(run.series["distance"][step]) - behind
    strength = float(under[min(max(round((at - track.x0) / track.dx), 0), under.size - 1)])
    load, when_set = float(run.series["gauge_load"][step]), run.setting.gauge_load
    if load <= 0.0 or strength <= 0.0 or when_set <= 0.0:
        return None
    constants = soil_constants(soil, wheel.width, wheel.radius)

    def rest(n: float, q: float) -> float:
        firm = constants.load * q / soil.reference_strength
        return n / wheel.tyre_stiffness + (n / firm) ** (1.0 / (constants.exponent + 0.5))

    softer = rest(when_set, strength) - rest(when_set, soil.strength)
    more = rest(load, strength) - rest(when_set, strength)
    whole = float(run.series["tyre_and_sinkage"][step])
    return Squash(more, softer, whole - more - softer, strength / soil.strength)
