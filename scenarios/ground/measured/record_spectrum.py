"""Spectrum of a record of heights: one-sided density over spatial frequency, averaged over pieces of the record.

It serves every question about what a record holds in its short waves: noise of the survey
(`scenarios.ground.measured.survey_noise`), or heights that were smoothed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]

PIECE = 256  # longest piece that is transformed at once [points]
SHORTEST = 32  # a run of fewer points says nothing
MOST = 30.0  # pieces that count at most: side by side on a plane they are not independent
EVEN = 0.1  # distances within this share of the median one count as even


@dataclass(frozen=True, eq=False)
class Spectrum:
    """Density of heights: arrays (n,), lowest frequency first; neither the mean nor the highest frequency is there."""

    n: Values  # [c/m]
    density: Values  # one-sided [m³]
    spacing: float  # of the points [m]
    pieces: float  # independent pieces behind each value: its relative SD is 1/√pieces

    @property
    def highest(self) -> float:
        """Highest frequency that the points hold, half of one over their spacing [c/m]."""
        return 0.5 / self.spacing


def spectrum(heights: Values, spacing: float) -> Spectrum | None:
    """Spectrum of evenly spaced heights (points,) or of many lines of them (lines, points); None: too few points.

    Welch's way: pieces of up to 256 points, each less its straight line, under a Hann window, overlapping by half;
    half-overlapped pieces under that window count as 0.53 of an independent one each (Welch 1967; from memory).
    """
    return _averaged([np.atleast_2d(heights)], spacing)


def spectrum_of_points(distance: Values, heights: Values) -> Spectrum | None:
    """Spectrum of the even runs of points in a record (n,); None where none of them is long enough."""
    gaps = np.diff(distance)
    spacing = float(np.median(gaps))
    cuts = np.flatnonzero(np.abs(gaps - spacing) > EVEN * spacing) + 1
    return _averaged([run[None, :] for run in np.split(heights, cuts)], spacing)


def _averaged(runs: list[Values], spacing: float) -> Spectrum | None:
    from scipy.signal import welch  # noqa: PLC0415 (scipy.signal only where a record is looked at)

    size = min(PIECE, max(run.shape[1] for run in runs))
    if size < SHORTEST:
        return None
    total, pieces = np.zeros(size // 2 + 1), 0.0
    n = np.zeros(size // 2 + 1)
    for run in runs:
        if run.shape[1] < size:
            continue
        n, density = welch(run, 1.0 / spacing, "hann", size, detrend="linear", axis=1)
        count = 1.0 + 0.53 * max((run.shape[1] - size) // (size // 2), 0)
        total += count * density.sum(axis=0)
        pieces += count * run.shape[0]
    return Spectrum(n[1:-1], total[1:-1] / pieces, spacing, min(pieces, MOST))
