"""How the depth drifts as the arm swings, from the geometry of the depth linkage alone."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.errors import LinkageError
from sim.mechanism.linkage import drift
from sim.record import Run
from sim.unit import Unit

OFF_PLACE = 0.001  # how far the crank's pivot is moved for comparison [m]
POINTS = 121


class Swing(NamedTuple):
    """Depth against that at the nominal angle, deeper positive [mm], over the arm's travel; angles in degrees."""

    angle: NDArray[np.float64]  # (POINTS,)
    used: NDArray[np.float64]  # arm angles of the crossing, (n,)
    built: NDArray[np.float64]  # as built, (POINTS,)
    high: NDArray[np.float64] | None  # crank's pivot OFF_PLACE higher; None: the linkage does not close everywhere
    low: NDArray[np.float64] | None  # and lower

    @property
    def most(self) -> float:
        """Largest drift within the angles of the crossing [mm]."""
        inside = (self.angle >= self.used.min()) & (self.angle <= self.used.max())
        return float(np.abs(self.built[inside]).max(initial=0.0))


def swing(run: Run) -> Swing:
    """The drift of a crossing's unit with the wheel held, as built and with the crank's pivot out of place."""
    unit, crank, links = run.unit, run.setting.crank_angle, run.unit.main_links
    angles = np.linspace(links.stop_down, links.stop_up, POINTS)

    def moved(up: float) -> NDArray[np.float64] | None:
        try:
            return drift(_moved(unit, up), crank, angles) * 1e3
        except LinkageError:
            return None

    built = drift(unit, crank, angles) * 1e3
    return Swing(np.degrees(angles), np.degrees(run.series["arm_angle"]), built, moved(OFF_PLACE), moved(-OFF_PLACE))


def _moved(unit: Unit, up: float) -> Unit:
    x, z = unit.depth_linkage.crank_pivot
    return replace(unit, depth_linkage=replace(unit.depth_linkage, crank_pivot=(x, z + up)))
