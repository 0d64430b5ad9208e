"""Random series with a given one-sided density of spatial frequency: harmonics with random phases, by FFT."""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray

STEP = 0.005  # grid of ground without waves shorter than 0.1 m; finer grids are whole shares of it [m]

# Purposes of random numbers: each has a stream of its own, so that adding stones does not change the ground.
ROUGHNESS, GILGAI, STONES, STRENGTH, PATCHES, STONE_FIELD, FINE_ROUGHNESS, DOUBT = 1, 2, 3, 4, 5, 6, 7, 8


def stream(seed: int, purpose: int, item: int = 0) -> np.random.Generator:
    """The stream of random numbers for one purpose of one seed (and one item of several with that purpose)."""
    return np.random.default_rng([seed, purpose, item] if item else [seed, purpose])


def smooth_length(least: int) -> int:
    """The smallest even number ≥ `least` without prime factors over 5: a quick length for an FFT.

    >>> smooth_length(67201)
    67500
    """
    half = max((least + 1) // 2, 1)
    odd = [5**i * 3**j for i in range(_powers(5, half)) for j in range(_powers(3, half))]
    return 2 * min(n << ((half - 1) // n).bit_length() for n in odd)  # the least 2^k n ≥ half


def _powers(base: int, most: int) -> int:
    """How many powers of a base, 1 among them, are tried for a length of at most so much.

    As `scipy.fft.next_fast_len(…, real=True)`, which every command would wait 0.2 s for.
    """
    return 1 + math.ceil(math.log(most, base) + 1e-9)


def random_series(
    samples: int,
    dx: float,
    variance_below: Callable[[NDArray[np.float64]], NDArray[np.float64]],
    band: tuple[float, float],
    rng: np.random.Generator,
    *,
    period: float = 0.0,
) -> NDArray[np.float64]:
    """One period of Σ a_k cos(2πn_k x + φ_k) with n_k = k·Δn, Δn = 1/period length and random phases φ_k.

    a_k = √(2·G_k·Δn), where G_k is the one-sided density averaged over the part of [n_k ± Δn/2] that lies in the
    band (given by the integral of the density, `variance_below(n)`). The variance over the period therefore equals
    that of the band exactly, for every seed.

    samples: least length of the result; dx: sampling distance [m]; band: (n1, n2) [c/m]; period: least period [m],
    to hold waves longer than the track. Returns the whole period, shape (≥ samples,), mean zero. A grid finer than
    `STEP` has the period of that one: samples lie between those of the same series, and a band that goes further up
    only adds waves.
    """
    finer = max(1, round(STEP / dx))
    coarse = dx * finer
    whole = smooth_length(max(-(-samples // finer), int(np.ceil(period / coarse))))
    n = whole * finer
    step = 1.0 / (whole * coarse)
    low, high = band
    first = max(1, int(np.floor(low / step + 0.5)))
    last = min(n // 2 - 1, int(np.ceil(high / step + 0.5)))
    k = np.arange(first, last + 1)
    edges = np.clip((np.append(k, last + 1) - 0.5) * step, low, high)
    edges[0] = low  # what lies under the first harmonic counts to it
    amplitude = np.sqrt(2.0 * np.diff(variance_below(edges)))
    spectrum = np.zeros(n // 2 + 1, dtype=np.complex128)
    spectrum[k] = 0.5 * n * amplitude * np.exp(1j * rng.uniform(0.0, 2.0 * np.pi, k.size))
    return np.fft.irfft(spectrum, n)
