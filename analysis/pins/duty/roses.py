"""Where the load on each part of a pin points, as a rose."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.pins.duty.gathered import STILL, Gathered
from analysis.pins.duty.rotation import PARTS_OF
from sim.record import PINS


class Rose(NamedTuple):
    """Directions of the force on one part of a pin: sectors of 10°, the first about the
    part's own line (−5 to 5°), on counter-clockwise, (36,).

    The pin presses on the hole's wall where the force points to: there a bush that sits in this part wears. A pin that
    is fixed in this part wears on the side opposite.
    """

    part: str
    time: NDArray[np.float64]  # shares of time
    worn: NDArray[np.float64]  # shares of ∫F|dθ|; all 0 where the parts do not turn against each other


def roses(over: Gathered, pin: str) -> tuple[Rose, Rose]:
    """The roses of a pin's first- and second-named part."""
    i = PINS.index(pin)
    still = over.turned[i] < STILL * over.distance
    first, second = (
        Rose(part, _shares(over.rose_time[i, side]), _shares(over.rose_worn[i, side] * (not still)))
        for side, part in enumerate(PARTS_OF[pin])
    )
    return first, second


def _shares(sums: NDArray[np.float64]) -> NDArray[np.float64]:
    total = sums.sum()
    return sums / total if total > 0.0 else np.zeros(sums.size)


class Narrowest(NamedTuple):
    """The fewest sectors side by side that hold a share of a rose."""

    width: float  # [rad]
    middle: float  # from the part's own line, counter-clockwise [rad]


def narrowest(shares: NDArray[np.float64], held: float = 0.9) -> Narrowest | None:
    """Within which angle a share of a rose (36,) lies; None for a rose of nothing."""
    if not shares.any():
        return None
    sector = 2.0 * math.pi / shares.size
    for width in range(1, shares.size + 1):
        sums = np.convolve(np.concatenate([shares, shares[: width - 1]]), np.ones(width), "valid")
        if sums.max() >= held * (1.0 - 1e-12):
            return Narrowest(width * sector, (int(sums.argmax()) + 0.5 * (width - 1)) * sector)
    return Narrowest(2.0 * math.pi, 0.0)
