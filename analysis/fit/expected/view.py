"""What readings are predicted from: one trial with its crossings, and what does not change between trials."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.fit.expected.crossed import Cell, Crossed
from analysis.fit.expected.texture import Texture
from analysis.fit.unknowns import Trial

Floats = NDArray[np.float64]


class Weighed(NamedTuple):
    """A wheel on a scale at an oil pressure [Pa] and a depth setting ("": not said)."""

    wheel: str
    oil_pressure: float
    held: str


@dataclass(frozen=True, eq=False)
class View:
    """A trial, its crossings by cell, textures by cell, the length of each ground [m], and loads on scales."""

    trial: Trial
    crossed: Mapping[Cell, Crossed]
    textures: Mapping[Cell, Texture]
    metres: float
    loads: Mapping[Weighed, tuple[float, float]] = field(default_factory=dict)  # standing, and how unsure [N]

    def per_metre(self, values: Floats, least: float) -> float:
        """Variance that a mean over 1 m of row would have, from means of whole grounds; at least `least`.

        Means over long stretches vary by one over their length.
        """
        found = float(np.var(values, ddof=1)) if values.size > 1 else 0.0
        return max(found * self.metres, least)
