"""A disc that comes upon two weak stones, one behind the other, over ground that is flat for all else.

The first stone is sunk by what it is pressed, further on it lies lower; the second one lies as low and is met unsunk.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sim.run import LEAD_IN, prepare, start_position, start_state
from sim.unit import Rock, Settings, Soil, Unit

STRENGTH = 600.0  # half of what rests on the gauge wheel: the disc hardly rises [N]
ROCK = Rock(give_way=STRENGTH)
SETTINGS = Settings(speed=2.0, reference_speed=2.0, toolbar="level")
STEP, STEPS = 2.5e-3, 240
X0, DX, N = -2.0, 0.005, 1200
FIRST, LOWER, SECOND = (0.265, 0.40), (0.43, 0.49), (0.60, 0.63)  # where the disc stands on them [m]
BORDER = 0.555  # what lies beyond belongs to the second stone; the gauge wheel comes there 0.08 m later [m]
AWAY = -0.08  # nothing to touch [m]
HIGH, LOW = -0.015, -0.030  # of 0.040 m that the disc works deep
X_START = start_position(Unit(), 0.0) + LEAD_IN  # of O, with the disc at 0 [m]


def hard(first: bool = True) -> NDArray[np.float64]:
    """Height of the stones for the disc [m]; first: both stones, else the second alone."""
    x = X0 + DX * np.arange(N)
    points = {0.20: AWAY, FIRST[0]: HIGH, FIRST[1]: HIGH, LOWER[0]: LOW, LOWER[1]: LOW, 0.54: AWAY} if first else {}
    points |= {0.55: AWAY, SECOND[0]: LOW, SECOND[1]: LOW, 0.68: AWAY}
    return np.interp(x, list(points), list(points.values()))


def table(first: bool = True) -> NDArray[np.float64]:
    """Ground table (columns, n): flat but for the stones."""
    made = np.zeros((7, N))
    made[2] = hard(first)
    made[5:] = Soil().strength
    return made


def numbers() -> NDArray[np.int32]:
    """Number of the stone at each sample."""
    return np.where(X0 + DX * np.arange(N) < BORDER, 0, 1).astype(np.int32)


def ready():
    """The unit made ready, and its state at rest."""
    made = prepare(Unit(), Soil(), ROCK, SETTINGS)
    return made, start_state(Unit(), Soil(), made)


def check(distance: NDArray[np.float64], both: NDArray[np.float64], alone: NDArray[np.float64]) -> None:
    """Forces of the stones on the disc [N] by its place [m]: of both, and of the second alone."""

    def on(part: tuple[float, float]) -> NDArray[np.bool_]:
        return (distance >= part[0]) & (distance <= part[1])

    assert both[on(FIRST)].max() >= 0.99 * STRENGTH
    assert both[on(LOWER)].max() == 0.0  # it was pressed deeper than it lies here
    assert alone[on(SECOND)].max() >= 0.99 * STRENGTH
    assert both[on(SECOND)].max() >= 0.99 * STRENGTH
    assert both[distance < 0.20].max() == 0.0
