"""How the parts of the closed linkage stand and turn with the arm angle: the compiled loop over a run's steps."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel
from sim.hydraulics.accumulator import Fill
from sim.hydraulics.cylinder import cylinder_geometry
from sim.mechanism.linkage import closures
from sim.model import Model, pack
from sim.record import Run


class Turning(NamedTuple):
    """Own line of a part in toolbar axes (not of length 1) and its turning per radian of θ, each (n,)."""

    x: NDArray[np.float64]
    z: NDArray[np.float64]
    by_theta: NDArray[np.float64]  # counter-clockwise [rad/rad]


FOUND = ("cylinder", "rod", "bell_crank", "turnbuckle", "gauge_arm")  # parts that the loop answers for, in order


@kernel
def _turning(m, theta, out):
    """out (n, 5, 3): line x, z and turning by θ of the parts of FOUND."""
    for i in range(theta.size):
        k = closures(m, theta[i])
        c = cylinder_geometry(m, k)
        out[i, 0, 0] = c.ux
        out[i, 0, 1] = c.uz
        out[i, 0, 2] = m.cyl_arm * (c.ux * k.cos - c.uz * k.sin) / c.length
        out[i, 1, 0] = k.rodx
        out[i, 1, 1] = k.rodz
        out[i, 1, 2] = k.eta_t
        out[i, 2, 0] = k.bx
        out[i, 2, 1] = k.bz
        out[i, 2, 2] = k.phi_t
        out[i, 3, 0] = k.tx
        out[i, 3, 1] = k.tz
        out[i, 3, 2] = k.tau_t
        out[i, 4, 0] = k.gx
        out[i, 4, 1] = k.gz
        out[i, 4, 2] = k.beta_t


def linkage_of(run: Run) -> Model:
    """The packed numbers of a run's linkage with its crank where the run held it; the gas is left out."""
    return pack(run.unit, run.soil, run.track.rock, run.settings, Fill(0.0, 0.0, 0.0, True), run.setting.crank_angle)


def turning(run: Run) -> dict[str, Turning]:
    """Parts that move with the arm angle in other ways than the main links do, by name."""
    theta = np.ascontiguousarray(run.series["arm_angle"])
    out = np.empty((theta.size, len(FOUND), 3))
    _turning(linkage_of(run), theta, out)
    return {name: Turning(*out[:, i].T) for i, name in enumerate(FOUND)}
