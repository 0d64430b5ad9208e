"""How far and how fast the two parts of every pin turn against each other.

All parts are told in the toolbar's axes, so the toolbar's pitch p′ drops out: what is carried by it turns with it.
Counter-clockwise positive, as the parts' angles of the model (x forward, z up, seen with travel to the right):
toolbar and carrier do not turn; a main link turns at −θ′ (θ is positive with the rear end up), the press arm at −ψ′;
rod, bell crank, turnbuckle, gauge arm and the cylinder's line at their derivatives to θ times θ′, from the closed
linkage of every instant (`sim.mechanism.linkage.closures`), never from differences between steps. The crank stands
still: its actuator holds it during a crossing.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.pins.duty.turning import turning
from sim.record import PINS, Run

PARTS = (
    "toolbar", "carrier", "link", "cylinder", "crank", "rod", "bell_crank", "turnbuckle", "gauge_arm", "press_arm",
)  # fmt: skip
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


def part_rates(run: Run) -> NDArray[np.float64]:
    """Turning rate of every part against the toolbar, (n, 10) in the order of PARTS, counter-clockwise [rad/s]."""
    arm = run.series["arm_rate"]
    rates = np.zeros((arm.size, len(PARTS)))
    rates[:, PARTS.index("link")] = -arm
    rates[:, PARTS.index("press_arm")] = -run.series["press_rate"]
    for name, found in turning(run).items():
        rates[:, PARTS.index(name)] = found.by_theta * arm
    return rates


def part_lines(run: Run) -> NDArray[np.complex128]:
    """Direction of every part's own line in toolbar axes as x + i·z of size 1, (n, 10) complex, in the order of PARTS.

    The line runs forward on toolbar and carrier, from front to rear pin on links, rod and turnbuckle, from the
    toolbar's pin to the link's on the cylinder, from its pivot to the rod's pin on crank and bell crank, from its
    pivot to the axle on gauge arm and press arm.
    """
    theta, psi = run.series["arm_angle"], run.series["press_angle"]
    lines = np.ones((theta.size, len(PARTS)), dtype=np.complex128)
    lines[:, PARTS.index("link")] = -np.exp(-1j * theta)
    lines[:, PARTS.index("press_arm")] = -np.exp(-1j * psi)
    lines[:, PARTS.index("crank")] = np.exp(1j * run.setting.crank_angle)
    for name, found in turning(run).items():
        line = found.x + 1j * found.z
        lines[:, PARTS.index(name)] = line / np.abs(line)
    return lines


def relative_rates(run: Run) -> NDArray[np.float64]:
    """Turning rate of the second-named part of every pin against the first, (n, 14) [rad/s], counter-clockwise."""
    rates = part_rates(run)
    return rates[:, SECOND] - rates[:, FIRST]
