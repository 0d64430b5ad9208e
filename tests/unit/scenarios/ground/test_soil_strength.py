"""The random field of soil strength against its law."""

from __future__ import annotations

import numpy as np
import pytest
from every import every
from scipy import signal

from scenarios.ground.strength import strength_shares
from scenarios.spec import Variation

DX = 0.005


def test_mean_and_coefficient_of_variation():
    """Scaled by its own sample SD: over the period the mean is 1 and the CV the wanted one but for clipping."""
    shares = strength_shares(Variation(), 200_000, DX, 3)
    assert np.mean(shares) == pytest.approx(1.0, abs=0.002)
    assert np.std(shares) == pytest.approx(0.25, rel=0.01)


@every("reach", [0.5, 1.0, 3.0])
def test_correlation_falls_exponentially(reach):
    """exp(−τ/ℓ), the transform of S = 4ℓσ²/(1 + (2πnℓ)²) (derived)."""
    z = strength_shares(Variation(variation_cv=0.1, correlation_length=reach), round(2000 * reach / DX), DX, 5) - 1.0
    z -= z.mean()
    for lag in (0.5, 1.0, 2.0):
        shift = round(lag * reach / DX)
        r = np.mean(z[:-shift] * z[shift:]) / np.mean(z * z)
        assert r == pytest.approx(np.exp(-lag), abs=0.035)


def test_density():
    """Welch against S(n) = 4ℓσ²/(1 + (2πnℓ)²), one-sided."""
    z = strength_shares(Variation(variation_cv=0.1), 400_000, DX, 2) - 1.0
    n, s = signal.welch(z, fs=1.0 / DX, nperseg=round(40.0 / DX))
    inside = (n > 0.1) & (n < 5.0)
    wanted = 4.0 * 0.1**2 / (1.0 + (2.0 * np.pi * n[inside]) ** 2)
    assert np.exp(np.mean(np.log(s[inside] / wanted))) == pytest.approx(1.0, abs=0.05)
    slope = np.polyfit(np.log(n[n > 1.0][:160]), np.log(s[n > 1.0][:160]), 1)[0]
    assert slope == pytest.approx(-2.0, abs=0.15)


def test_clipped_between_a_fifth_and_two_and_a_half_times():
    shares = strength_shares(Variation(variation_cv=0.6), 400_000, DX, 1)
    assert shares.min() == 0.2
    assert shares.max() == 2.5
    assert np.mean((shares == 0.2) | (shares == 2.5)) < 0.2


def test_no_variation_is_constant():
    assert np.all(strength_shares(Variation(variation_cv=0.0), 100, DX, 1) == 1.0)


def test_long_correlation_needs_a_longer_period_than_the_track():
    """With ℓ of twice the track the field hardly changes along it: it is a piece of a longer one."""
    shares = strength_shares(Variation(correlation_length=100.0), 10_000, DX, 4)
    assert shares.shape == (10_000,)
    assert np.std(shares) < 0.2
