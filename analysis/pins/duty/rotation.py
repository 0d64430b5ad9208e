"""How far and how fast the two parts of every pin turn against each other.

All parts are told in the toolbar's axes, so the toolbar's pitch p′ drops out: what is carried by it turns with it.
Counter-clockwise positive, as the parts' angles of the model (x forward, z up, seen with travel to the right):
toolbar and carrier do not turn; a main link turns at −θ′ (θ is positive with the rear end up), the press arm at −ψ′;
rod, bell crank, turnbuckle, gauge arm and the cylinder's line at their derivatives to θ times θ′, from the closed
linkage of every instant (`sim.mechanism.linkage.closures`), never from differences between steps. The crank stands
still: its actuator holds it during a crossing. Nor does a gauge arm turn whose linkage runs parallel to the main links.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.pins.duty.stand_loop import CARRIER, CRANK, PARTS, TOOLBAR, stand
from sim.arithmetic.simd import WIDTH
from sim.hydraulics.accumulator import Fill
from sim.model import Model, pack
from sim.record import PINS, Run

PARTS_OF: dict[str, tuple[str, str]] = {  # the first- and the second-named part of every pin
    "main_upper_front": ("toolbar", "link"),
    "main_upper_rear": ("link", "carrier"),
    "main_lower_front": ("toolbar", "link"),
    "main_lower_rear": ("link", "carrier"),
    "cylinder_frame": ("toolbar", "cylinder"),
    "cylinder_arm": ("cylinder", "link"),
    "crank": ("toolbar", "crank"),
    "rod_front": ("crank", "rod"),
    "rod_rear": ("rod", "bell_crank"),
    "bell_crank": ("carrier", "bell_crank"),
    "turnbuckle_front": ("bell_crank", "turnbuckle"),
    "turnbuckle_rear": ("turnbuckle", "gauge_arm"),
    "gauge_arm": ("carrier", "gauge_arm"),
    "press_arm": ("carrier", "press_arm"),
}
FIRST, SECOND = (np.array([PARTS.index(PARTS_OF[pin][side]) for pin in PINS]) for side in (0, 1))
"""Places in PARTS of the first- and of the second-named part of every pin, (14,)."""


class Standing(NamedTuple):
    """Own line of every part in toolbar axes as x + i·z of size 1, and its turning rate against the toolbar,
    counter-clockwise [rad/s]; both (n, 10) in the order of PARTS.

    The line runs forward on toolbar and carrier, from front to rear pin on links, rod and turnbuckle, from the
    toolbar's pin to the link's on the cylinder, from its pivot to the rod's pin on crank and bell crank, from its
    pivot to the axle on gauge arm and press arm.
    """

    lines: NDArray[np.complex128]
    rates: NDArray[np.float64]


def linkage_of(run: Run) -> Model:
    """The packed numbers of a run's linkage with its crank where the run held it; the gas is left out."""
    return pack(run.unit, run.soil, run.track.rock, run.settings, Fill(0.0, 0.0, 0.0, True), run.setting.crank_angle)


def standing(run: Run) -> Standing:
    """How the parts stand and turn at every step of a run."""
    n = run.series["arm_angle"].size
    room = -(-n // WIDTH) * WIDTH
    series = [np.zeros(room) for _ in range(4)]
    for padded, name in zip(series, ("arm_angle", "arm_rate", "press_angle", "press_rate"), strict=True):
        padded[:n], padded[n:] = run.series[name], run.series[name][-1]
    x, z, rate = (np.zeros((len(PARTS), room)) for _ in range(3))
    x[[TOOLBAR, CARRIER]] = 1.0
    x[CRANK], z[CRANK] = np.cos(run.setting.crank_angle), np.sin(run.setting.crank_angle)
    stand(linkage_of(run), *series, x.reshape(-1), z.reshape(-1), rate.reshape(-1))
    return Standing((x + 1j * z)[:, :n].T, rate[:, :n].T)


def relative_rates(run: Run) -> NDArray[np.float64]:
    """Turning rate of the second-named part of every pin against the first, (n, 14) [rad/s], counter-clockwise."""
    rates = standing(run).rates
    return rates[:, SECOND] - rates[:, FIRST]
