"""The generated surface against the spectral form of ISO 8608 in every direction and the theory of isotropic ground.

Sources and status: form and class means of ISO 8608 as in test_ground_roughness; that a road is isotropic and what
follows for two parallel tracks: idea of Dodds & Robson 1973, J. Sound Vib. 31(2) 175–183 (value from memory), the
formulae derived in `scenarios.paddock.surface`; Bessel functions and integrals by scipy (computed).
"""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from every import every
from scipy import fft, integrate, signal
from scipy.special import kv

from scenarios.paddock.surface import rough_surface
from scenarios.paddock.surface_lines import Lines, whole_period
from scenarios.spec import Roughness

ISO = "ISO 8608:2016"
DERIVED = "derived"
SPACING, STEP = 0.25, 0.025
CLASS_D = rough_surface(Roughness(letter="D"))
ROWS = 96


@cache
def ground(seed: int = 4) -> np.ndarray:
    """96 rows of 1,100 m of class D."""
    lines = Lines(CLASS_D, SPACING, whole_period(1100.0, STEP), STEP, (seed, 1))
    return lines.heights(np.arange(ROWS))


@cache
def pieces(length: int) -> tuple[np.ndarray, np.ndarray]:
    """Spatial frequencies, and the spectra of half-overlapping windowed pieces of all rows, (rows, pieces, n).

    Scaled so that the mean of their squared sizes is the one-sided density.
    """
    starts = np.arange(0, ground().shape[1] - length + 1, length // 2)
    window = signal.get_window("hann", length).astype(np.float32)
    cut = ground().astype(np.float32)[:, starts[:, None] + np.arange(length)[None, :]]
    cut = (cut - cut.mean(axis=2, keepdims=True)) * window
    return np.fft.rfftfreq(length, STEP), fft.rfft(cut, axis=2) * math.sqrt(2.0 * STEP / np.sum(window**2))


def by_octaves(n: np.ndarray, values: np.ndarray, edges: np.ndarray) -> np.ndarray:
    """Mean of spectral values within each band."""
    return np.array([values[(n >= a) & (n < b)].mean() for a, b in pairwise(edges)])


@every(("w", "n"), [(1.24, 0.05), (1.24, 4.0), (2.0, 0.3), (2.6, 0.3)])
def test_plane_density_gives_the_line_density_by_integration(w, n, published):
    surface = rough_surface(Roughness(letter="D", waviness=w))
    across = integrate.quad(
        lambda t: float(surface.plane_density(np.array(n), np.array(n * math.tan(t)))) * n / math.cos(t) ** 2,
        0.0, math.pi / 2.0, limit=200,
    )[0]  # fmt: skip
    published(f"Gd({n:g} c/m) from the plane density, class D, w = {w:g}", source=ISO, status=DERIVED,
              value=1024e-6 * (n / 0.1) ** -w, ours=4.0 * across, unit="m³", rel=1e-5)  # fmt: skip


@every("w", [1.24, 2.0, 2.6])
@every("n", [0.1, 0.7])
def test_coherence_is_the_cosine_transform_of_the_plane_density(w, n):
    surface = rough_surface(Roughness(letter="D", waviness=w))
    apart = 0.25
    shared = integrate.quad(
        lambda m: float(surface.plane_density(np.array(n), np.array(m))), 0.0, np.inf, weight="cos",
        wvar=2.0 * math.pi * apart, limlst=200,
    )[0]  # fmt: skip
    assert float(surface.coherence(np.array(n), apart)) == pytest.approx(
        4.0 * shared / float(surface.line_density(np.array(n))), rel=2e-4
    )


def test_coherence_for_w_2_is_x_times_k1(published):
    for n in (0.2, 1.0):
        x = 2.0 * math.pi * n * 0.25
        ours = float(CLASS_D.coherence(np.array(n), 0.25))
        published(f"coherence of rows 0.25 m apart at {n:g} c/m, w = 2: x·K1(x)", source="isotropic ground",
                  status=DERIVED, value=x * kv(1, x), ours=ours, rel=1e-9)  # fmt: skip


def test_spectrum_along_the_rows():
    n, spectra = pieces(8000)
    density = np.mean(np.abs(spectra) ** 2, axis=(0, 1))
    edges = np.array([0.05, 0.1, 0.2, 0.4, 0.8, 1.6, 3.2, 6.4, 9.5])
    ours, form = (by_octaves(n, values, edges) for values in (density, 1024e-6 * (n / 0.1 + 1e-9) ** -2.0))
    assert ours[1:] == pytest.approx(form[1:], rel=0.06)
    assert ours[0] == pytest.approx(form[0], rel=0.25)  # few long waves in 24 m of width: scatter


def test_variance_of_a_row_is_that_of_its_density():
    n = np.arange(1, round(10.0 * 1125)) / 1125.0
    assert np.mean(ground() ** 2) == pytest.approx(np.sum(CLASS_D.line_density(n)) / 1125.0, rel=0.02)


@every(("degrees", "dx", "dy"), [(90.0, 0, 1), (45.0, 1, 1), (26.6, 2, 1), (63.4, 1, 2)])
def test_spectrum_in_other_directions(degrees, dx, dy):
    """Samples on a line across the rows, at an angle: their spectrum is the same, folded at their own distance."""
    del degrees
    cells = round(SPACING / STEP)
    count = (ROWS - 1) // dy + 1
    start = np.arange(0, 45000 - count * dx * cells, 40)
    along = start[:, None] + dx * cells * np.arange(count)[None, :]
    heights = ground()[dy * np.arange(count)[None, :], along]
    apart = SPACING * math.hypot(dx, dy)
    n, density = signal.periodogram(heights, fs=1.0 / apart, window="hann", detrend="linear", axis=1)
    ours = density.mean(axis=0)
    folds = np.arange(-40, 41) / apart
    # the row's band ends at 10 c/m; lines at an angle see the same surface
    folded = np.array([np.sum(1024e-6 * (np.abs(k + folds) / 0.1) ** -2.0) for k in n[1:]])
    here = (n[1:] > 0.25) & (n[1:] < 0.5 / apart)
    ratio = ours[1:][here] / folded[here]
    assert ratio.mean() == pytest.approx(1.0, abs=0.07)
    assert np.polyfit(np.log(n[1:][here]), np.log(ratio), 1)[0] == pytest.approx(0.0, abs=0.1)


@every("lag", [1, 2, 4, 8])
def test_coherence_of_rows_against_theory(lag):
    n, spectra = pieces(4000)
    power = np.mean(np.abs(spectra) ** 2, axis=(0, 1))
    cross = np.mean(spectra[:-lag].conj() * spectra[lag:], axis=(0, 1))
    ours = cross.real / power
    theory = CLASS_D.coherence(n, lag * SPACING)
    edges = np.array([0.1, 0.2, 0.3, 0.45, 0.6, 0.8, 1.1, 1.5, 2.0, 3.0, 4.0, 6.0])
    assert by_octaves(n, ours, edges) == pytest.approx(by_octaves(n, theory, edges), abs=0.045)
    assert np.abs(cross.imag / power)[(n > 0.5) & (n < 9.5)].max() < 0.1


def test_neighbouring_rows_share_nothing_worth_keeping_where_they_are_drawn_apart():
    assert float(CLASS_D.coherence(np.array(1.0 / SPACING), SPACING)) < 0.01
