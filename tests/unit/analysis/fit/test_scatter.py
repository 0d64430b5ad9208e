"""Moments of scatter against samples drawn by the thousand, and against closed forms."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.fit.expected.scatter import heavier, log_sd, log_sd_variance, spread


def test_of_independent_readings_it_is_the_textbook():
    found = spread(np.eye(7) * 3.0)
    assert found.share == pytest.approx(1.0)
    assert found.freedom == pytest.approx(6.0)


def test_of_readings_that_go_together_it_is_what_samples_show():
    rng = np.random.default_rng(3)
    places = np.arange(8) * 0.7
    joint = 4.0 * np.exp(-np.abs(places[:, None] - places[None, :])) + np.eye(8)
    found = spread(joint)
    drawn = rng.standard_normal((100_000, 8)) @ np.linalg.cholesky(joint).T
    sd = np.log(drawn.std(axis=1, ddof=1))
    assert log_sd(5.0 * found.share, found.freedom) == pytest.approx(sd.mean(), abs=0.01)
    assert 1.0 < log_sd_variance(found.freedom) / sd.var() < 1.15  # matched by two moments: a little wide


def test_heavy_tails_take_degrees_of_freedom():
    """Laplace's distribution has an excess kurtosis of 3: Var[S²]/σ⁴ = 2/(n − 1) + 3/n."""
    rng = np.random.default_rng(4)
    squares = rng.laplace(size=(200_000, 20)).var(axis=1, ddof=1) / 2.0
    assert 2.0 / heavier(19.0, 20, 3.0) == pytest.approx(squares.var(), rel=0.05)
