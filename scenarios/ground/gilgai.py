"""Gilgai: random humps and hollows in turn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from scenarios.format.described import needed
from scenarios.ground.curves import Values
from scenarios.ground.feature import Surface
from scenarios.ground.synthesis import GILGAI, stream


@dataclass(frozen=True, kw_only=True)
class Gilgai(Surface):
    """Gilgai, random humps and hollows in turn: tops at half the height ± 40 %, half a wavelength ± 30 % apart."""

    kind: ClassVar[str] = "gilgai"
    height: float = needed("m", 0.001, 2.0, "mean height from hollow to hump", edge="mm", example=0.15)
    wavelength: float = needed("m", 0.5, 200.0, "mean distance from hump to hump", example=8.0)

    def heights(self, x: Values, seed: int, number: int) -> Values:
        """Humps and hollows joined by half cosines.

        Their tops and bottoms lie `wavelength`/2·(1 ± 0.3) apart and at ±`height`/2·(1 ± 0.4), both spread evenly.
        Drawn in order of distance: a longer track only adds to a shorter one that begins at the same place.
        """
        rng = stream(seed, GILGAI, number)
        half = 0.5 * self.wavelength
        count = int(np.ceil((x[-1] - x[0]) / (0.7 * half))) + 3
        first = -1.0 if rng.random() < 0.5 else 1.0
        draws = rng.uniform(-1.0, 1.0, (count, 2))
        places = x[0] - 2.0 * half + np.cumsum(half * (1.0 + 0.3 * draws[:, 0]))
        signs = first * np.where(np.arange(count) % 2 == 0, 1.0, -1.0)
        tops = signs * 0.5 * self.height * (1.0 + 0.4 * draws[:, 1])
        i = np.clip(np.searchsorted(places, x, side="right") - 1, 0, count - 2)
        u = np.clip((x - places[i]) / (places[i + 1] - places[i]), 0.0, 1.0)
        return tops[i] + (tops[i + 1] - tops[i]) * 0.5 * (1.0 - np.cos(np.pi * u))
