"""Natural swings of a unit about steady travel: how fast, how damped, and what moves in each.

From the rates λ of the small motions with the piston's drag as a damper: frequency |λ|/2π (of the swing without its
damping), damping ratio −Re λ/|λ|. A pair that is damped to 1 or more does not swing and is left out, as are warmth and
whatever else only dies out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.linear import Linear

HEAVE, PITCH, BOTH, BOUNCE, PRESS = "heave", "pitch", "heave_and_pitch", "bounce", "press"
SLOWEST, FASTEST = 0.2, 100.0  # of the swings told [Hz]
MIXED = 0.5  # heave and pitch count as one motion where the lesser is at least this share of the other

Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class Mode:
    """One natural swing; what moves in it is complex, with phases; the part that moves most by 1 m."""

    kind: str  # HEAVE, PITCH, BOTH, BOUNCE or PRESS
    frequency: float  # |λ|/2π [Hz]
    damping: float  # −Re λ/|λ| [1]
    heave: complex  # of O [m]
    pitch: complex  # of the toolbar, nose up [rad]
    arm: complex  # arm angle [rad]
    press_arm: complex  # press arm angle [rad]
    tyre: complex  # deflection of the gauge tyre [m]
    soil: complex  # sinkage under the gauge wheel [m]

    def spacing(self, speed: float) -> float:
        """Distance between ridges that meet it at a speed [m/s]; [m]."""
        return speed / self.frequency

    def speed(self, spacing: float) -> float:
        """Speed [m/s] at which ridges so far apart [m] meet it."""
        return spacing * self.frequency


def modes(linear: Linear, rub: float) -> tuple[Mode, ...]:
    """The natural swings with a damper of `rub` [N s/m] in line with the piston, the slowest first."""
    rates, shapes = np.linalg.eig(linear.with_rub(rub).a)
    found = [
        _mode(linear, rate, shapes[:, i])
        for i, rate in enumerate(rates)
        if rate.imag > 1e-9 * abs(rate) and SLOWEST <= abs(rate) / (2.0 * math.pi) <= FASTEST
    ]
    return tuple(sorted(found, key=lambda mode: mode.frequency))


def _mode(linear: Linear, rate: complex, shape: Complex) -> Mode:
    at = dict(zip(linear.states, shape.tolist(), strict=True))
    unit, rest = linear.unit, linear.rest
    z, p = at.get("z", 0j), at.get("p", 0j)
    carrier = unit.main_links.length * math.cos(rest[0]) * at["th"]
    press = carrier + unit.press_wheel.arm_length * math.cos(rest[2]) * at["ps"]
    reach = 0.5 * (unit.toolbar.axle_front + unit.toolbar.axle_rear)
    moved = {HEAVE: z, PITCH: p * reach, BOUNCE: carrier, PRESS: press}
    kind = _kind({name: abs(way) for name, way in moved.items()})
    size = max(moved.values(), key=abs)
    gauge = z + p * linear.places["gauge"] + linear.gauge_per_arm * at["th"]
    share = 1.0 / size
    return Mode(
        kind, abs(rate) / (2.0 * math.pi), -rate.real / abs(rate), z * share, p * share, at["th"] * share,
        at["ps"] * share, at["dg"] * share, (-gauge - at["dg"]) * share,
    )  # fmt: skip


def _kind(moved: dict[str, float]) -> str:
    """What moves most: the toolbar where it does at all (rows do not react on it), else the unit or its press wheel."""
    if max(moved[HEAVE], moved[PITCH]) > 1e-6 * max(moved.values()):
        most, least = max(moved[HEAVE], moved[PITCH]), min(moved[HEAVE], moved[PITCH])
        if least >= MIXED * most:
            return BOTH
        return HEAVE if moved[HEAVE] > moved[PITCH] else PITCH
    return BOUNCE if moved[BOUNCE] >= moved[PRESS] else PRESS
