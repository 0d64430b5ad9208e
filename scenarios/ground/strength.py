"""Soil strength along the track: constant, random with a correlation length, or measured."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.synthesis import STRENGTH, random_series, stream
from scenarios.spec import Variation

LOWEST, HIGHEST = 0.2, 2.5  # the field is clipped to these shares of the mean
FINEST = 10.0  # [c/m]: the arc on which the disc bears, some 0.1 m, evens out anything finer


def strength_shares(variation: Variation, samples: int, dx: float, seed: int) -> NDArray[np.float64]:
    """Strength as a share of its mean, shape (samples,), random with exponential correlation exp(−|Δx|/ℓ).

    One-sided density S(n) = 4ℓσ²/(1 + (2πnℓ)²), whose integral is (2σ²/π)·atan(2πnℓ), up to 10 c/m (2/ℓ if that is
    more); scaled by its own sample SD over its period to the wanted coefficient of variation, then clipped to
    0.2–2.5 of the mean. The period is at least the track and at least 20 ℓ.
    """
    if variation.variation_cv == 0.0:
        return np.ones(samples)
    reach = variation.correlation_length

    def variance_below(n: NDArray[np.float64]) -> NDArray[np.float64]:
        return 2.0 / np.pi * np.arctan(2.0 * np.pi * n * reach)

    band = (0.0, max(FINEST, 2.0 / reach))
    shares = random_series(
        samples, dx, variance_below, band, stream(seed, STRENGTH), period=20.0 * reach, sd=variation.variation_cv
    )
    shares += 1.0
    return np.clip(shares, LOWEST, HIGHEST, out=shares)
