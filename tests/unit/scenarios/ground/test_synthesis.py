"""Random series as a whole FFT gives them, and lengths for an FFT as scipy gives them."""

from __future__ import annotations

import math

import numpy as np
import pytest
from every import every
from scipy.fft import next_fast_len

from scenarios.ground import synthesis
from scenarios.ground.roughness import rough_heights, rough_period
from scenarios.ground.synthesis import random_series, smooth_length, stream
from scenarios.spec import Roughness

# samples, their distance [m] and the band [c/m]: eighths, fifths and quarters of the samples by FFT, and all of them
SPARSELY = [(9_000, 0.005, (0.05, 2.0)), (12_001, 0.005, (0.05, 10.0)), (30_000, 0.00125, (0.05, 40.0)),
            (4_000, 0.005, (0.1, 60.0))]  # fmt: skip


def test_lengths_are_the_next_even_ones_without_large_primes():
    for least in (*range(1, 3000), *range(10_000, 10_000_000, 99_991)):
        assert smooth_length(least) == 2 * next_fast_len((least + 1) // 2, real=True), least


@every(("samples", "dx", "band"), SPARSELY)
def test_few_samples_by_fft_and_what_lies_between_are_the_whole_series(samples, dx, band, monkeypatch):
    spec = Roughness(letter="D", band=band)
    found = rough_period(spec, samples, dx, 3)
    assert (rough_heights(spec, samples, dx, 3) == found[:samples]).all()
    monkeypatch.setattr(synthesis, "APART", 1)
    whole = rough_period(spec, samples, dx, 3)
    assert np.abs(found - whole).max() < 2e-13
    # steps and bends too: what a wheel feels is the second derivative
    assert np.abs(np.diff(found - whole, 2)).max() < 4e-13


def test_harmonics_are_added_up_as_said():
    """Against the sum itself at single places: density 1 from 1 to 3 c/m."""
    rng = stream(5, 1)
    z = random_series(2_000, 0.005, lambda n: n, (1.0, 3.0), rng, whole=True)
    length = z.size * 0.005
    k = np.arange(round(1.0 * length), math.ceil(3.0 * length + 0.5) + 1)
    edges = np.clip((np.append(k, k[-1] + 1) - 0.5) / length, 1.0, 3.0)
    edges[0] = 1.0
    turned = stream(5, 1).uniform(0.0, 2.0 * np.pi, k.size)
    for i in (0, 1, 7, 1234, z.size - 1):
        waves = np.sqrt(2.0 * np.diff(edges)) * np.cos(2.0 * np.pi * k * (0.005 * i) / length + turned)
        assert z[i] == pytest.approx(waves.sum(), abs=1e-11)


def test_a_wanted_deviation_is_that_of_the_period():
    z = random_series(20_000, 0.005, np.arctan, (0.0, 10.0), stream(2, 1), period=120.0, sd=0.3, whole=True)
    assert z.std() == pytest.approx(0.3, rel=1e-10)
    assert z.mean() == pytest.approx(0.0, abs=1e-12)
