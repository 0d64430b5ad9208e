"""How likely readings are under trial values, as whitened residuals; the sum of their squares is twice −log posterior.

m numbers y made from the readings (`analysis.fit.expected.statistic`) are predicted as f(x). About that they are taken
as normal with covariance

    V = D + C/G,

D diagonal: what readings are wrong by and that they are few (`Statistic.variance`); C the covariance of the numbers
over grounds, found on twice as many as the G of the prediction, so that C/G is f's own error. All cells are crossed on
the same grounds: it is common to them, and differences between settings are known far better than their levels. (That
the readings' own ground is finite stands in D.) V is taken at one x and held while x is sought: twice, at the start
and again at the first optimum. So the estimate is the root of unbiased equations (each residual has mean zero at the
truth), and no log det V moves it.

The residuals are (L⁻¹ (y − f(x)), w x) with L Lᵀ = V and w the roots of the prior's precision (`Unknowns.weights`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import solve_triangular

from analysis.fit.expected.view import View
from analysis.fit.model import Model

Vector = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Likelihood:
    """Readings and their covariance, taken at one trial."""

    model: Model
    like: View  # the trial
    covariance: Vector  # V, (m, m)
    root: Vector  # L, lower

    @property
    def size(self) -> int:
        """Numbers m made from the readings."""
        return len(self.root)

    def whiten(self, values: Vector) -> Vector:
        """L⁻¹ values, (m,) or (m, k)."""
        return np.asarray(solve_triangular(self.root, values, lower=True)) if self.size else np.asarray(values)

    def residuals(self, x: Vector, predicted: Vector) -> Vector:
        """All residuals, (m + n,)."""
        return np.concatenate([self.whiten(self.model.observed - predicted), self.model.unknowns.weights * x])

    def half_sum(self, x: Vector, predicted: Vector) -> float:
        """−log posterior but for a constant."""
        r = self.residuals(x, predicted)
        return 0.5 * float(r @ r)


def likelihood(model: Model, x: Vector) -> Likelihood:
    """With the covariance of a trial. Raises SimulationError where it cannot be crossed."""
    like = model.textured(x)
    m = len(model.statistics)
    own = np.array([s.variance(like) for s in model.statistics])
    used, wider = len(model.grounds.seeds), len(model.grounds.wider.seeds)
    away = np.zeros((m, wider))
    for i, statistic in enumerate(model.statistics):
        found = statistic.by_ground(like)
        if found is not None:
            away[i] = found
    joint = away @ away.T / ((wider - 1) * used)
    covariance = np.diag(own) + joint
    root: Vector = np.asarray(np.linalg.cholesky(covariance), dtype=np.float64) if m else np.zeros((0, 0))
    return Likelihood(model, like, covariance, root)
