"""Contour banks."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from scenarios.format.described import needed, optional
from scenarios.format.edge_units import number_text
from scenarios.format.errors import fault
from scenarios.ground.curves import Values, blend
from scenarios.ground.feature import Placed, Stretch, crossing_angle, distance


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
