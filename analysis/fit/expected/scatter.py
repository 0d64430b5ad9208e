"""Moments of the scatter of readings that may go together by their places.

Of n readings with covariance Σ the sample variance S² is a quadratic form: with H = I − 11ᵀ/n, E[S²] = tr(HΣ)/(n − 1),
and it varies as that times χ²_ν/ν with ν = tr(HΣ)²/tr((HΣ)²) (Satterthwaite 1946; exact where Σ is a multiple of I).
Then E[log S] = ½ (log E[S²] + ψ(ν/2) − log(ν/2)) and Var[log S] = ¼ ψ₁(ν/2), ψ digamma and ψ₁ trigamma.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.special import polygamma, psi

Floats = NDArray[np.float64]


class Spread(NamedTuple):
    """How a sample variance comes out: its mean over the variance of one reading, and its degrees of freedom."""

    share: float
    freedom: float


def spread(covariance: Floats) -> Spread:
    """Of readings with a covariance (n, n) whose diagonal is constant."""
    n = len(covariance)
    centred = covariance - covariance.mean(axis=0)
    first, second = float(np.trace(centred)), float(np.sum(centred * centred.T))
    return Spread(first / (n - 1) / float(covariance[0, 0]), first**2 / second)


def heavier(freedom: float, n: int, kurtosis: float) -> float:
    """Degrees of freedom where the readings have an excess kurtosis: Var[S²]/σ⁴ = 2/ν + κ/n."""
    return 2.0 / max(2.0 / freedom + kurtosis / n, 1e-6)


def log_sd(variance: float, freedom: float) -> float:
    """E[log S] of a sample whose variance is expected to be `variance`."""
    return float(0.5 * (np.log(variance) + psi(0.5 * freedom) - np.log(0.5 * freedom)))


def log_sd_variance(freedom: float) -> float:
    """Var[log S]."""
    return float(0.25 * polygamma(1, 0.5 * freedom))
