"""The generated surface: densities at the ends of the band, streams, strips, period, refining, strength."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from every import every
from scipy import integrate

from scenarios.paddock.surface import rough_surface, strength_surface
from scenarios.paddock.surface_lines import Lines, Travelled, turn, whole_period
from scenarios.spec import Roughness, Variation

CLASS_C = rough_surface(Roughness(letter="C"))
STEP = 0.025


ONE = np.arange(1)  # the only line there is


def lines(period: float = 150.0, spacing: float = 0.25, seed: int = 3, density=CLASS_C) -> Lines:
    return Lines(density, spacing, whole_period(period, STEP), STEP, (seed, 1))


def test_below_the_band_the_density_levels_out():
    c = 256e-6 * 0.01
    edge = float(CLASS_C.line_density(np.array(0.05)))
    assert edge == pytest.approx(c / 0.05**2)
    assert float(CLASS_C.line_density(np.array(1e-6))) == pytest.approx(0.5 * edge, rel=1e-3)
    extra = integrate.quad(lambda n: float(CLASS_C.line_density(np.array(n))), 0.0, 0.05)[0]
    assert extra == pytest.approx((math.pi / 2.0 - 1.0) * c / 0.05, rel=1e-6)


@every("n", [0.0, 0.02, 0.049])
def test_the_level_part_by_integration(n):
    start = math.sqrt(0.05**2 - n**2)
    value = (
        4.0
        * integrate.quad(
            lambda m: float(CLASS_C.plane_density(np.array(n), np.array(m))), start * (1.0 + 1e-12), np.inf, limit=200
        )[0]
    )
    assert float(CLASS_C.line_density(np.array(n))) == pytest.approx(value, rel=1e-6)


def test_no_wave_of_the_surface_is_longer_than_the_band_allows():
    assert float(CLASS_C.plane_density(np.array(0.03), np.array(0.039))) == 0.0
    assert float(CLASS_C.plane_density(np.array(0.03), np.array(0.041))) > 0.0


def test_density_along_a_line_stops_where_it_is_measured():
    below = replace(CLASS_C, longest=0.0, lowest=1.0)
    assert float(below.line_density(np.array(0.99))) == 0.0
    assert float(below.line_density(np.array(2.0))) == float(CLASS_C.line_density(np.array(2.0)))


def test_strength_has_the_wanted_scatter_and_correlation():
    field = strength_surface(Variation(variation_cv=0.25, correlation_length=1.0))
    total = integrate.quad(lambda n: float(field.line_density(np.array(n))), 0.0, 10.0, limit=200)[0]
    assert total == pytest.approx(0.25**2, rel=1e-4)
    made = lines(600.0, density=field).heights(np.arange(40))
    assert made.std() == pytest.approx(0.25, rel=0.03)
    # exp(−r/ℓ) along and across; what lies over 10 c/m is missing, which lifts it by about 1 %
    along = np.mean(made[:, :-20] * made[:, 20:]) / made.var()
    across = np.mean(made[:-2] * made[2:]) / made.var()
    assert [along, across] == pytest.approx([math.exp(-0.5)] * 2, abs=0.035)


def test_a_line_is_the_same_whatever_others_are_asked_for():
    surface = lines()
    some = surface.heights(np.array([2, 70, 300]))
    assert (surface.heights(np.array([70])) == some[1]).all()
    assert (surface.heights(np.array([300, 2]))[0] == some[2]).all()


def test_seeds_give_other_grounds():
    assert np.abs(lines(seed=3).heights(np.array([1])) - lines(seed=4).heights(np.array([1]))).max() > 1e-3


def test_the_surface_repeats_after_its_period_without_a_seam():
    surface = lines()
    travelled = Travelled(surface.heights(np.array([5])).astype(np.float32), 5, 0, False)
    fine = round(surface.period / 0.005)
    assert np.abs(travelled.heights(-100, 200, ONE) - travelled.heights(fine - 100, 200, ONE)).max() < 1e-15
    steps = np.abs(np.diff(travelled.heights(fine - 200, 400, ONE)))
    assert steps.max() < 6.0 * steps.std()


def test_the_surface_goes_on_across_the_borders_of_its_strips():
    """Neighbouring lines share the same in the middle of a strip and at its border (every 8 m, every 64 m)."""
    made = lines(1100.0).heights(np.arange(200, 312))
    spectra = np.fft.rfft(made, axis=1)[:, 200:3000]  # 0.2 to 2.7 c/m
    shared = np.real(np.sum(spectra[:-1].conj() * spectra[1:], axis=1)) / np.sum(np.abs(spectra[:-1]) ** 2, axis=1)
    assert shared.std() < 0.1
    assert shared.min() > 0.6


def test_every_row_has_the_variance_of_its_density():
    surface = lines(600.0)
    n = np.arange(1, round(10.0 * surface.period)) / surface.period
    wanted = np.sum(CLASS_C.line_density(n)) / surface.period
    assert np.mean(surface.heights(np.arange(64)) ** 2) == pytest.approx(wanted, rel=0.1)


@every("factor", [2, 5])
def test_refining_against_the_exact_trigonometric_interpolation(factor):
    made = lines().heights(np.array([7]))
    n = made.shape[1]
    spectrum = np.zeros(n * factor // 2 + 1, dtype=complex)
    spectrum[: n // 2 + 1] = np.fft.rfft(made[0])
    exact = np.fft.irfft(spectrum, n * factor) * factor
    kept = made.astype(np.float32)
    travelled = Travelled(kept, factor, 0, False).heights(0, n * factor, ONE)[0]
    assert np.abs(travelled - exact).max() < 5e-4 * made.std()
    backwards = Travelled(kept, factor, 40, True).heights(-30, 200, ONE)[0]
    assert np.abs(backwards - np.take(exact, 40 * factor + 30 - np.arange(200), mode="wrap")).max() < 5e-4 * made.std()


def test_refining_in_pieces_gives_the_same():
    travelled = Travelled(lines().heights(np.array([7, 8])).astype(np.float32), 5, 0, False)
    both = np.arange(2)
    whole = travelled.heights(-33, 500, both)
    parts = np.concatenate([travelled.heights(-33, 217, both), travelled.heights(184, 283, both)], axis=1)
    assert (whole == parts).all()


def test_numbers_are_turned_as_by_the_complex_exponential():
    """All quarters and their ends, and what lies between; against numpy's."""
    turns = np.concatenate([np.arange(17) / 16, np.nextafter(np.arange(1, 9) / 8, 0.0), np.linspace(0.0, 1.0, 1001)])
    size = np.linspace(0.1, 3.0, turns.size)
    out = np.empty(2 * turns.size)
    turn(size, turns, out)
    expected = size * np.exp(2j * np.pi * turns)
    assert np.abs(out.view(np.complex128) - expected).max() < 3e-15
