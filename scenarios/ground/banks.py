"""Lines in the field that the row crosses at an angle: contour banks and wheel ruts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from scenarios.format.described import needed, optional
from scenarios.format.edge_units import number_text
from scenarios.format.errors import fault
from scenarios.ground.curves import Values, bell, blend
from scenarios.ground.feature import Placed, Stretch, crossing_angle, distance
from sim.unit import quantity


@dataclass(frozen=True, kw_only=True)
class Bank(Placed):
    """Contour bank: up, perhaps a level crest, and down again, each slope a smooth 3u² − 2u³."""

    kind: ClassVar[str] = "bank"
    at: float = distance("distance of its middle", example=120.0)
    height: float = needed("m", 0.01, 2.0, "height over the ground beside it", edge="mm", example=0.35)
    base: float = needed("m", 0.3, 100.0, "width from toe to toe, square to the bank", example=6.0)
    batter: float | None = optional(
        "1", 0.3, 50.0, "metres across per metre up where a slope is steepest; left out: the slopes meet in the crest",
        example=4.0,
    )  # fmt: skip
    angle: float = crossing_angle("angle between the bank and the direction of travel; 90: crossed square")

    @property
    def slope(self) -> float:
        """Width of each slope, square to the bank [m]: 3u² − 2u³ is 3/2 as steep in its middle as on the whole."""
        return 0.5 * self.base if self.batter is None else 1.5 * self.batter * self.height

    def heights(self, x: Values, seed: int, number: int) -> Values:
        """Both slopes smooth, from the toes inwards, measured square to the bank."""
        across = np.abs(x - self.at) * np.sin(self.angle)
        return self.height * blend((0.5 * self.base - across) / self.slope)

    def faults(self, where: str, stretch: Stretch) -> Iterator[str]:
        yield from Placed.faults(self, where, stretch)
        if self.slope > 0.5 * self.base * (1.0 + 1e-9):
            most = self.base / (3.0 * self.height)
            yield fault(
                f"{where}.batter",
                f"given {number_text(self.batter or 0.0)}, so slopes of {self.slope:.3g} m each",
                f"up to {most:.3g}: both slopes within base_m, {self.base:g} m",
                "a wider base_m, or leave batter out",
            )


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
