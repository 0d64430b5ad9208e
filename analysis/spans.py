"""Stretches of a run in which something holds, counted in steps."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sim.record import Run

ROUNDING = 1e-9  # lengths that differ by less are the same [m]


def spacing(run: Run) -> float:
    """Travel per step [m]: every step stands for this much of the row."""
    return run.settings.speed * run.step


def travelled(run: Run) -> float:
    """Measured length of row [m]: number of steps × travel per step."""
    return run.series["depth"].size * spacing(run)


def stretches(mask: NDArray[np.bool_]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """First step and step after the last of every stretch in which `mask` (n,) is true; two arrays of one shape."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return edges[0::2], edges[1::2]


def bridged(
    starts: NDArray[np.intp], ends: NDArray[np.intp], travel: float, gap: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The same stretches with those joined that lie less than `gap` [m] apart; `travel` per step [m]."""
    if starts.size == 0:
        return starts, ends
    apart = (starts[1:] - ends[:-1]) * travel >= gap - ROUNDING
    return starts[np.concatenate(([True], apart))], ends[np.concatenate((apart, [True]))]


def long_enough(
    starts: NDArray[np.intp], ends: NDArray[np.intp], travel: float, least: float
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Those of the stretches that are at least `least` [m] long."""
    keep = (ends - starts) * travel >= least - ROUNDING
    return starts[keep], ends[keep]
