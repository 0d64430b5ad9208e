"""Ground that goes up or down and stays there: a smooth drop, a straight ramp, a sharp edge."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from scenarios.format.described import needed
from scenarios.ground.curves import Values, blend
from scenarios.ground.feature import Placed, distance

ROUNDED = 0.1  # share of a ramp's run that is rounded at either end


@dataclass(frozen=True, kw_only=True)
class Drop(Placed):
    """The ground falls, smoothly as 3u² − 2u³, and stays down: the edge of a bank or a gully."""

    kind: ClassVar[str] = "drop"
    at: float = distance("distance at which the fall begins", example=150.0)
    depth: float = needed("m", 0.001, 2.0, "how far the ground falls", edge="mm", example=0.3)
    length: float = needed("m", 0.1, 200.0, "length over which it falls", example=2.0)

    def heights(self, x: Values, seed: int, number: int) -> Values:
        return -self.depth * blend((x - self.at) / self.length)


@dataclass(frozen=True, kw_only=True)
class Ramp(Placed):
    """The ground rises (or falls) along a straight slope and stays there; a tenth of the run is rounded at each end."""

    kind: ClassVar[str] = "ramp"
    at: float = distance("distance at which the slope begins", example=130.0)
    rise: float = needed("m", -20.0, 20.0, "how far the ground rises; negative: falls", edge="mm", example=0.5)
    run: float = needed("m", 0.5, 1000.0, "length of the slope along the row", example=10.0)

    def heights(self, x: Values, seed: int, number: int) -> Values:
        """0 before the run, `rise` after it, straight between but for parabolas over `ROUNDED` at either end."""
        r = ROUNDED
        v = np.clip((x - self.at) / self.run, 0.0, 1.0)
        parts = [0.5 * v**2 / r, 1.0 - r - 0.5 * (1.0 - v) ** 2 / r]
        return self.rise * (np.select([v < r, v > 1.0 - r], parts, default=v - 0.5 * r) / (1.0 - r))


@dataclass(frozen=True, kw_only=True)
class Edge(Placed):
    """A step up (or down): a straight face over a short run, unrounded."""

    kind: ClassVar[str] = "edge"
    at: float = distance("distance at which the face begins", example=140.0)
    step: float = needed("m", -0.5, 0.5, "height of the step; negative: down", edge="mm", example=0.06)
    run: float = needed("m", 0.02, 2.0, "length of the face along the row", example=0.1)

    def heights(self, x: Values, seed: int, number: int) -> Values:
        return self.step * np.clip((x - self.at) / self.run, 0.0, 1.0)
