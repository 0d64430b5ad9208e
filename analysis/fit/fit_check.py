"""Whether the readings fit the model at all, and which of them fits worst.

Were everything normal, twice −log posterior at its least would be χ² with as many degrees of freedom as there are
numbers made from readings, less the depth settings (of which nothing is believed beforehand). About what is expected,
a number varies by V − J C Jᵀ after the fit: residuals are told over its root.
"""

from __future__ import annotations

import numpy as np
from scipy.stats import chi2

from analysis.fit.fitted import FitCheck, Residual
from analysis.fit.posterior import Posterior

LEAST = 0.02  # share of a number's variance that is left to it at least


def fit_check(found: Posterior) -> FitCheck:
    """Twice −log posterior at its least, and how often chance alone gives more."""
    like = found.maximum.likelihood
    statistic = 2.0 * like.half_sum(found.x, found.predicted)
    freedom = max(like.size - like.model.unknowns.free, 0)
    return FitCheck(statistic, freedom, float(chi2.sf(statistic, freedom)) if freedom else 1.0)


def residuals_of(found: Posterior) -> tuple[Residual, ...]:
    """Every number made from readings against the fit, in their order."""
    like = found.maximum.likelihood
    if not like.size:
        return ()
    model = like.model
    before = model.predict_all([_own(found)], like.like)[0]
    own = np.diag(like.covariance)
    left = np.maximum(own - np.diag(found.slopes @ found.covariance @ found.slopes.T), LEAST * own)
    away = (model.observed - found.predicted) / np.sqrt(left)
    told = []
    for k, statistic in enumerate(model.statistics):
        y, f, sd = float(model.observed[k]), float(found.predicted[k]), float(np.sqrt(own[k]))
        width = 0.5 * abs(statistic.edge(f + sd) - statistic.edge(f - sd))
        first = float("nan") if before is None else statistic.edge(float(before[k]))
        told.append(Residual(statistic, statistic.edge(y), statistic.edge(f), first, width, float(away[k])))
    return tuple(told)


def _own(found: Posterior):
    """The file's own values, the depth settings where they were found."""
    unknowns = found.maximum.likelihood.model.unknowns
    x = np.zeros(unknowns.size)
    first = unknowns.size - len(unknowns.held)
    x[first:] = found.x[first:]
    return x
