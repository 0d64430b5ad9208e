"""What a crossing comes to where the ground is one feature: the slot at its worst, and metres at one place."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import MEASURES, Join
from analysis.rows.crossings import Made
from analysis.window.grid import Window

_KEPT = ("error_max", "error_min", "off_depth_at_one_place", "wheel_off_at_one_place")


class AtFeature(NamedTuple):
    """The worst over all grounds [m]; below zero the slot is out of the ground."""

    deepest: float
    shallowest: float
    off_depth: float  # travel off depth at the place with most of it
    wheel_off: float

    @property
    def worst(self) -> tuple[float, ...]:
        """Four numbers that are the worse the larger they are."""
        return self.deepest, -self.shallowest, self.off_depth, self.wheel_off


def at_cell(window: Window, set_depth: float, i: int, j: int) -> AtFeature:
    """Of one cell (pressure i, speed j)."""
    return _over_grounds(set_depth, {name: window.grids[name][i, j] for name in _KEPT})


def of_rows(made: Sequence[Made], set_depth: float) -> AtFeature:
    """Of rows that were crossed, one on each ground."""
    return _over_grounds(set_depth, {name: np.array([row.measure(MEASURES[name]) for row in made]) for name in _KEPT})


def largest_error(window: Window) -> NDArray[np.float64]:
    """Largest size of the depth error of every cell over all grounds [m], (pressures, speeds)."""
    return np.maximum(window.grids["error_max"], -window.grids["error_min"]).max(axis=2)


def _over_grounds(set_depth: float, found: dict[str, NDArray[np.float64]]) -> AtFeature:
    ends = [float(found[name].min() if MEASURES[name].join is Join.LOWEST else found[name].max()) for name in _KEPT]
    return AtFeature(set_depth + ends[0], set_depth + ends[1], *ends[2:])
