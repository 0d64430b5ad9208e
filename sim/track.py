"""One row's track: ground, stones and soil strength on one uniform grid."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from sim.unit import Rock

NO_STONE = -9.0  # height of the stones' top where there is no stone [m]


@dataclass(frozen=True)
class Track:
    """A track as the simulation reads it. All arrays have one shape (n,), sampled at x0 + i·dx.

    Measures are taken while the disc's lowest point lies in [x_from, x_to]; ahead of x_from lie the flat lead-in
    and the blend into the ground (`scenarios.ground.lay` lays them).
    """

    x0: float  # position of the first sample [m]
    dx: float  # sampling distance, ≤ 0.005 [m]
    ground: NDArray[np.float64]  # height of the soil surface without stones [m]
    stone_top: NDArray[np.float64]  # height of the stones' upper surface, NO_STONE where there is none [m]
    stone_id: NDArray[np.int32]  # number of the stone whose top that is, −1 where none
    strength: NDArray[np.float64]  # soil strength at zero speed [Pa]
    x_from: float  # first position of the disc that is measured [m]
    x_to: float  # last position of the disc that is measured [m]
    rock: Rock = field(default_factory=Rock)

    @property
    def surface(self) -> NDArray[np.float64]:
        """Ground in union with the stones: what wheels ride on and depth is measured from [m]."""
        return np.maximum(self.ground, self.stone_top)

    @property
    def x(self) -> NDArray[np.float64]:
        """Positions of the samples [m]."""
        return self.x0 + self.dx * np.arange(self.ground.size, dtype=np.float64)


def flat_track(length: float, soil_strength: float, *, dx: float = 0.005, rock: Rock | None = None) -> Track:
    """Flat ground without stones, with 30 m ahead of the measures and 6 m behind; lengths [m], strength [Pa]."""
    n = round((length + 36.0) / dx) + 1
    return Track(
        x0=-30.0,
        dx=dx,
        ground=np.zeros(n),
        stone_top=np.full(n, NO_STONE),
        stone_id=np.full(n, -1, dtype=np.int32),
        strength=np.full(n, soil_strength),
        x_from=0.0,
        x_to=length,
        rock=rock or Rock(),
    )
