"""Humps and hollows: raised cosines, up or down."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from scenarios.format.described import needed
from scenarios.ground.curves import Values, bell
from scenarios.ground.feature import Placed, distance


@dataclass(frozen=True, kw_only=True)
class Hump(Placed):
    """One hump, a raised cosine: height·(1 + cos(2π(x − at)/length))/2 within half a length of its top."""

    kind: ClassVar[str] = "hump"
    at: float = distance("distance of its top", example=50.0)
    height: float = needed("m", 0.001, 2.0, "height of its top over the ground beside it", edge="mm", example=0.15)
    length: float = needed("m", 0.1, 200.0, "length from foot to foot", example=3.0)

    def heights(self, x: Values, seed: int, number: int) -> Values:
        return self.height * bell(x - self.at, self.length)


@dataclass(frozen=True, kw_only=True)
class Hollow(Placed):
    """One hollow: a hump upside down."""

    kind: ClassVar[str] = "hollow"
    at: float = distance("distance of its lowest point", example=100.0)
    depth: float = needed("m", 0.001, 2.0, "depth of that point under the ground beside it", edge="mm", example=0.15)
    length: float = needed("m", 0.1, 200.0, "length from edge to edge", example=3.0)

    def heights(self, x: Values, seed: int, number: int) -> Values:
        return -self.depth * bell(x - self.at, self.length)
