"""Seals and fitting as a damper that takes as much of a motion as they do: equivalent linearisation.

Against a swing V sin ωt of the piston the drag g has the part (2/π)∫₀^π g(V sin t) sin t dt in step with its speed; a
damper of that over V does the same (the describing function). In a random motion of standard deviation σ it is
E[g(σξ)ξ]/σ, ξ normal (Caughey 1963, "Equivalent linearization techniques", from memory). Small motions are held by the
seals, large ones slip through: between those ends the damper falls as the motion grows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.linear import Linear

Values = NDArray[np.float64]

_SPEEDS = np.geomspace(1e-6, 10.0, 321)  # at which the drag is asked for [m/s]
_TURN = (np.arange(64) + 0.5) * np.pi / 128  # a quarter of a swing
_NORMAL = (np.arange(400) + 0.5) * 0.015  # up to six standard deviations
_WEIGHT = np.exp(-0.5 * _NORMAL**2) * 0.015 * 2.0 / np.sqrt(2.0 * np.pi)
ROUNDS, NEAR = 200, 1e-6


@dataclass(frozen=True)
class Drag:
    """Drag of a piston over its speed, as dampers [N s/m]."""

    swing: Values  # of a swing with the amplitudes _SPEEDS
    random: Values  # of a random motion with those standard deviations

    def of_swing(self, speed: Values) -> Values:
        """Damper for amplitudes of the piston's speed [m/s]."""
        return np.interp(np.log(np.maximum(speed, _SPEEDS[0])), np.log(_SPEEDS), self.swing)

    def of_random(self, sd: float) -> float:
        """Damper for a standard deviation of the piston's speed [m/s]."""
        return float(np.interp(np.log(max(sd, _SPEEDS[0])), np.log(_SPEEDS), self.random))

    @property
    def held(self) -> float:
        """Damper for the smallest motions."""
        return float(self.swing[0])


def drag_of(linear: Linear) -> Drag:
    """The drag of a unit's seals and fitting about its running equilibrium."""
    by_speed = linear.piston_drag(_SPEEDS)

    def drag(speeds: Values) -> Values:
        return np.interp(speeds, np.append(0.0, _SPEEDS), np.append(0.0, by_speed))

    swing = 4.0 / np.pi * (drag(_SPEEDS[:, None] * np.sin(_TURN)) * np.sin(_TURN)).sum(axis=1) * np.pi / 128
    random = (drag(_SPEEDS[:, None] * _NORMAL) * _NORMAL * _WEIGHT).sum(axis=1)
    return Drag(swing / _SPEEDS, random / _SPEEDS)


def settled(damper: Callable[[Values], Values], speed: Callable[[Values], Values], start: Values) -> Values:
    """The damper [N s/m] that the motion it leaves asks for, the smallest there is: by turns from none at all.

    damper: by the piston's speed; speed: by the damper. More damper leaves less motion, which asks for more: so the
    turns only rise.
    """
    rub = start
    for _ in range(ROUNDS):
        nearer = damper(speed(rub))
        if np.all(np.abs(nearer - rub) <= NEAR * (1.0 + np.abs(nearer))):
            return nearer
        rub = nearer
    return rub
