"""The depth error along the ground as it is told: five parts, squash and lift-off as one while the wheel is off."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sim.record import CAUSES, Run

Parts = dict[str, NDArray[np.float64]]


def wheel_off(run: Run) -> NDArray[np.bool_]:
    """Where the gauge wheel carries nothing, shape (n,)."""
    return np.asarray(run.series["gauge_load"] <= 0.0)


def told_parts(run: Run) -> Parts:
    """The five parts of the depth error by name, each (n,) [m]; their sum is depth − set depth to rounding.

    While the wheel is off, the squash part reads about −squash at the setting only because tyre and soil have sprung
    back: there it is counted with the lift-off, so that one cause is told and not two.
    """
    off = wheel_off(run)
    parts = {name: run.series[name].copy() for name in CAUSES}
    parts["lift_off"] = np.where(off, parts["lift_off"] + parts["tyre_and_sinkage"], parts["lift_off"])
    parts["tyre_and_sinkage"] = np.where(off, 0.0, parts["tyre_and_sinkage"])
    return parts


def stacked(parts: Parts) -> dict[str, tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Lower and upper edge of each part's layer, (n,) each: what is positive is piled up from zero, the rest down.

    The top of the upper pile plus the bottom of the lower one is the sum of all parts.
    """
    size = next(iter(parts.values())).size
    top, bottom = np.zeros(size), np.zeros(size)
    layers = {}
    for name, part in parts.items():
        up, down = np.maximum(part, 0.0), np.minimum(part, 0.0)
        layers[name] = (np.where(part >= 0.0, top, bottom + down), np.where(part >= 0.0, top + up, bottom))
        top, bottom = top + up, bottom + down
    return layers


def along(run: Run) -> NDArray[np.float64]:
    """Distance of the disc along the track, (n,) [m]: on measured ground that of the file."""
    return run.series["distance"]


def in_whole(values: dict[str, float], step: float) -> dict[str, int]:
    """Values as whole numbers of a step that add up to their sum as a whole number; each within one of its own.

    >>> in_whole({"a": 1.4e-3, "b": 1.4e-3, "c": -0.3e-3}, 1e-3)
    {'a': 1, 'b': 1, 'c': 0}
    """
    total = round(sum(values.values()) / step)
    low = {name: math.floor(value / step) for name, value in values.items()}
    over = sorted(values, key=lambda name: low[name] - values[name] / step)
    up = set(over[: total - sum(low.values())])
    return {name: low[name] + (name in up) for name in values}
