"""How the depth goes along a crossing: how far it remembers itself, and how heavy its tails are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.fit.expected.crossed import Cell, run_of
from analysis.fit.unknowns import Trial
from analysis.rows.cells import Laid

REACH = 15.0  # lags kept [m]
MOST_KURTOSIS = 10.0

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Texture:
    """Correlation of the depth with itself over a distance, and its excess kurtosis."""

    lags: Floats  # [m]
    correlation: Floats  # at the lags, 1 at the first
    kurtosis: float

    def between(self, places: Floats) -> Floats:
        """Correlation of the depth at places [m] with that at each other, (n, n)."""
        apart = np.abs(places[:, None] - places[None, :])
        return np.asarray(np.interp(apart, self.lags, self.correlation, right=0.0))


def texture(trial: Trial, cell: Cell, laid: Sequence[Laid]) -> Texture:
    """Of a cell, from crossings whose series are kept. Raises SimulationError."""
    runs = [run_of(trial, cell, one) for one in laid]
    step = runs[0].settings.speed * runs[0].step
    many = min(int(REACH / step), min(len(run.series["depth"]) for run in runs) // 2)
    total, fourth, second = np.zeros(many), 0.0, 0.0
    for run in runs:
        away = run.series["depth"] - run.series["depth"].mean()
        n = away.size
        spectrum = np.fft.rfft(away, 2 * n)
        total += np.fft.irfft(np.abs(spectrum) ** 2)[:many] / n  # divided by n at every lag: positive semidefinite
        fourth, second = fourth + float(np.mean(away**4)), second + float(np.mean(away**2))
    count = len(runs)
    kurtosis = (fourth / count) / max((second / count) ** 2, 1e-30) - 3.0
    return Texture(
        step * np.arange(many, dtype=np.float64),
        total / max(total[0], 1e-30),
        float(np.clip(kurtosis, -1.0, MOST_KURTOSIS)),
    )
