"""Depth: error, share on depth, and what caused the error.

Every step of a run stands for the same travel of the toolbar's origin (constant speed, constant step), so all steps
weigh the same: shares and moments are over distance. The disc's own ground position runs a few millimetres ahead or
behind as the arm swings; that is left out of the weights.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.record import CAUSES, Run

STILL = 1e-7  # an error that scatters by less has no causes to share out [m]


class DepthMeasures(NamedTuple):
    """Depth over a run [m]; error = depth − set depth, positive = deeper."""

    mean: float
    error_mean: float
    error_sd: float
    error_p05: float
    error_p95: float
    on_depth_share: float  # share of travel with |error| ≤ tolerance
    error_max: float
    error_min: float


class Cause(NamedTuple):
    """One part of the depth error [m] and its share of the error's variance (None where there is none)."""

    mean: float
    sd: float
    share_of_variance: float | None


class Causes(NamedTuple):
    """The five parts of the depth error by name, and the largest size of (sum − error) [m]."""

    parts: dict[str, Cause]
    sum_residual: float


def depth_error(run: Run) -> NDArray[np.float64]:
    """Depth − set depth at every step, shape (n,) [m], positive = deeper."""
    return run.series["depth"] - run.settings.set_depth


def on_depth_share(run: Run, tolerance: float) -> float:
    """Share of travel with |depth error| ≤ tolerance [m]."""
    return float(np.mean(np.abs(depth_error(run)) <= tolerance))


def depth_measures(run: Run, tolerance: float) -> DepthMeasures:
    """Mean, scatter (population SD), 5 % and 95 % points, share on depth and the worst of a run; tolerance [m]."""
    error = depth_error(run)
    low, high = np.percentile(error, (5.0, 95.0))
    mean = float(error.mean())
    share = float(np.mean(np.abs(error) <= tolerance))
    return DepthMeasures(
        mean + run.settings.set_depth, mean, float(error.std()), float(low), float(high), share,
        float(error.max()), float(error.min()),
    )  # fmt: skip


def causes(run: Run) -> Causes:
    """The five parts of the depth error, each with share = cov(part, error)/var(error); the shares add up to 1.

    A share may be negative (a part that works against the error) or above 1.
    """
    error = depth_error(run)
    centred = error - error.mean()
    variance = float(np.mean(centred * centred))
    total = np.zeros_like(error)
    parts = {}
    for name in CAUSES:
        part = run.series[name]
        total += part
        share = float(np.mean(part * centred)) / variance if variance > STILL**2 else None
        parts[name] = Cause(float(part.mean()), float(part.std()), share)
    return Causes(parts, float(np.abs(total - error).max()))
