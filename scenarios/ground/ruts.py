"""Wheel ruts that the row crosses."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from scenarios.format.described import needed
from scenarios.ground.curves import Values, bell, blend
from scenarios.ground.feature import Placed, crossing_angle, distance
from sim.unit import quantity


@dataclass(frozen=True, kw_only=True)
class Rut(Placed):
    """Wheel rut that the row crosses: flat over the middle half, sides 3u² − 2u³, perhaps a shoulder on either side."""

    kind: ClassVar[str] = "rut"
    at: float = distance("distance of its middle", example=160.0)
    depth: float = needed("m", 0.005, 0.6, "depth under the ground beside it", edge="mm", example=0.08)
    width: float = needed("m", 0.1, 3.0, "width from lip to lip, square to the rut", example=0.6)
    shoulder: float = quantity(
        0.0, "m", 0.0, 0.3, "height of the soil pushed up on either side, a quarter of the width wide", edge="mm"
    )
    angle: float = crossing_angle("angle between the rut and the direction of travel; a row that all but runs in it: 2")

    def heights(self, x: Values, seed: int, number: int) -> Values:
        """Square to it: flat for |u| ≤ 1/2, up to the lip at |u| = 1, a shoulder up to |u| = 3/2; u in half widths."""
        u = np.abs(x - self.at) * np.sin(self.angle) / (0.5 * self.width)
        return self.shoulder * bell(u - 1.25, 0.5) - self.depth * blend(2.0 * (1.0 - u))
