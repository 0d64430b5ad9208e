"""The most likely values: least squares on whitened residuals, twice, the covariance of the readings renewed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from analysis.fit.likelihood import Likelihood, likelihood
from analysis.fit.model import Model
from analysis.fit.slopes import Slopes

Vector = NDArray[np.float64]

FAR = 1e3  # residuals where a crossing cannot be made
STEPS = 12  # least squares' at most, each time
CLOSE = 1e-3  # change of x that is none


@dataclass(frozen=True, eq=False)
class Maximum:
    """The most likely x."""

    x: Vector
    likelihood: Likelihood
    slopes: Slopes
    predicted: Vector  # (m,)


def maximum(model: Model, start: Vector | None = None) -> Maximum:
    """Found from the file's own values (or `start`). Raises SimulationError where those cannot be crossed."""
    x = model.unknowns.start if start is None else start
    for _ in range(2):
        slopes = Slopes(likelihood(model, x))
        if slopes.likelihood.size:
            x = _sought(slopes.likelihood, slopes, x)
    predicted = slopes.value(x)
    assert predicted is not None  # least squares ends where it can be crossed
    return Maximum(x, slopes.likelihood, slopes, predicted)


def _sought(likelihood: Likelihood, slopes: Slopes, start: Vector) -> Vector:
    weights = likelihood.model.unknowns.weights

    def residuals(x: Vector) -> Vector:
        predicted = slopes.value(x)
        if predicted is None:
            return np.full(likelihood.size + x.size, FAR)
        return likelihood.residuals(x, predicted)

    def jacobian(x: Vector) -> Vector:
        return np.concatenate([-likelihood.whiten(slopes.at(x)), np.diag(weights)])

    found = least_squares(
        residuals, start, jac=jacobian, bounds=likelihood.model.unknowns.bounds, method="trf", x_scale=1.0,
        xtol=CLOSE, ftol=1e-4, gtol=1e-4, max_nfev=STEPS,
    )  # fmt: skip
    return np.asarray(found.x)
