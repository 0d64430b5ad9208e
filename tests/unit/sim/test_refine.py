"""Values between samples: waves, levels, and the sums themselves."""

from __future__ import annotations

import numpy as np
import pytest
from every import every

from sim.arithmetic.refine import EXACT_TAPS, TAPS, refine, refiner


@every(("taps", "most"), [(TAPS, 3e-4), (EXACT_TAPS, 1e-11)])
def test_waves_up_to_half_the_limit_come_out_between_samples(taps, most):
    for factor in (2, 5, 8):
        weights = refiner(factor, taps)
        t = np.arange(factor)[:, None] / factor - (np.arange(taps) - (taps // 2 - 1))
        for n in (0.01, 0.1, 0.2, 0.25):
            assert np.abs((weights * np.exp(-2j * np.pi * n * t)).sum(axis=1) - 1.0).max() < most


def test_weights_leave_samples_and_levels_alone():
    for factor in (2, 5):
        weights = refiner(factor)
        assert weights.sum(axis=1) == pytest.approx(np.ones(factor))
        assert np.abs(weights[0]).max() == pytest.approx(1.0, abs=1e-12)


@every("factor", [1, 2, 3, 5, 8])
def test_values_between_samples_as_numpy_adds_them_up(factor):
    """Lines in any order, from any sample on, both ways, beginning between samples, of any number."""
    coarse = np.random.default_rng(1).random((4, 77)).astype(np.float32)
    weights, chosen = refiner(factor), np.array([2, 0])
    for start, way, count in ((5, 1, 1), (-20, 1, 300), (70, -1, 163), (3, -1, 40)):
        for phase in range(factor):
            out = np.empty((2, count))
            refine(coarse, chosen, start, way, weights, phase, out)
            cell, place = np.divmod(np.arange(count) + phase, factor)
            read = coarse[:, (start + way * (cell[:, None] + np.arange(TAPS))) % 77].astype(np.float64)
            np.testing.assert_allclose(out, (read[chosen] * weights[place]).sum(axis=2), atol=1e-14)
