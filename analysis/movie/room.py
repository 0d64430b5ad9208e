"""How much of the ground a moving picture shows, and how far its units reach: found once, so that nothing jumps."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from analysis.movie.scene import Scene
from sim.record import Run

SIDE = 0.06  # free beside and above what is drawn [m]
UNDER = 0.16  # of ground under its lowest point, where the scale of the forces stands [m]


@dataclass(frozen=True)
class Room:
    """What is in view at every instant: behind and ahead of the disc's lowest point, and between two heights [m]."""

    behind: float
    ahead: float
    low: float
    high: float

    def filled(self, wide: float, tall: float) -> Room:
        """The same, widened to the shape of axes `wide` × `tall` (any unit): a metre is as long up as along."""
        across, up = self.behind + self.ahead, self.high - self.low
        scale = max(across / wide, up / tall)
        side, over = 0.5 * (scale * wide - across), scale * tall - up
        return Room(self.behind + side, self.ahead + side, self.low - 0.4 * over, self.high + 0.6 * over)


def room_of(run: Run, scenes: Sequence[Scene], metres_a_newton: float) -> Room:
    """What has to be in view over all scenes: unit, tips of the arrows, and the ground under them."""
    unit = run.unit
    behind = ahead = 0.0
    tops, feet = [], []
    for shown in scenes:
        at, p = float(run.series["distance"][shown.step]), shown.points
        tips = [(f.at[0] + f.force[0] * metres_a_newton, f.at[1] + f.force[1] * metres_a_newton) for f in shown.forces]
        places = [*(p[name] for name in p if name != "carrier_centre"), *tips]
        behind = max(behind, at - min(*(x for x, _ in places), p["press_axle"][0] - unit.press_wheel.radius))
        ahead = max(ahead, max(x for x, _ in places) - at)
        tops.append(max(z for _, z in places))
        feet.append(p["disc_hub"][1] - unit.disc.radius)
    way, track = run.series["distance"][[shown.step for shown in scenes]], run.track
    near = (track.x >= way.min() - behind) & (track.x <= way.max() + ahead)
    low = min(*feet, float(track.ground[near].min()))
    high = max(*tops, float(np.maximum(track.ground, track.stone_top)[near].max()))
    return Room(behind + SIDE, ahead + SIDE, low - UNDER, high + SIDE)


def widest(rooms: Sequence[Room]) -> Room:
    """The room that holds all of them."""
    return Room(
        max(room.behind for room in rooms), max(room.ahead for room in rooms), min(room.low for room in rooms),
        max(room.high for room in rooms),
    )  # fmt: skip
