"""Random series with a given one-sided density of spatial frequency: harmonics with random phases, by FFT.

Ground has twenty samples in its shortest wave, four would hold it: the FFT gives so few, and what lies between them
is laid by a windowed sinc (`sim.arithmetic.refine`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

SPARSE = 4  # samples in the shortest wave that are enough for it
APART = 8  # of so many samples one is given by the FFT, at the most

STEP = 0.005  # grid of ground without waves shorter than 0.1 m; finer grids are whole shares of it [m]

# Purposes of random numbers: each has a stream of its own, so that adding stones does not change the ground.
ROUGHNESS, GILGAI, STONES, STRENGTH, PATCHES, STONE_FIELD, FINE_ROUGHNESS, DOUBT = 1, 2, 3, 4, 5, 6, 7, 8


def stream(seed: int, purpose: int, item: int = 0) -> np.random.Generator:
    """The stream of random numbers for one purpose of one seed (and one item of several with that purpose)."""
    return np.random.default_rng([seed, purpose, item] if item else [seed, purpose])


@lru_cache(maxsize=64)
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
    sd: float | None = None,
    whole: bool = False,
) -> NDArray[np.float64]:
    """Samples of Σ a_k cos(2πn_k x + φ_k) with n_k = k·Δn, Δn = 1/period length and random phases φ_k.

    a_k = √(2·G_k·Δn), where G_k is the one-sided density averaged over the part of [n_k ± Δn/2] that lies in the
    band (given by the integral of the density, `variance_below(n)`). The variance over the period therefore equals
    that of the band exactly, for every seed.

    samples: wanted of it; dx: sampling distance [m]; band: (n1, n2) [c/m]; period: least period [m], to hold waves
    longer than the track; sd: standard deviation over the period, in place of the band's; whole: the whole period is
    wanted, shape (≥ samples,), mean zero. A grid finer than `STEP` has the period of that one: samples lie between
    those of the same series, and a band that goes further up only adds waves.
    """
    finer = max(1, round(STEP / dx))
    coarse = dx * finer
    length = smooth_length(max(-(-samples // finer), int(np.ceil(period / coarse))))
    n = length * finer
    step = 1.0 / (length * coarse)
    low, high = band
    first = max(1, int(np.floor(low / step + 0.5)))
    last = min(n // 2 - 1, int(np.ceil(high / step + 0.5)))
    edges = np.clip((np.arange(first, last + 2) - 0.5) * step, low, high)
    edges[0] = low  # what lies under the first harmonic counts to it
    amplitude = np.sqrt(2.0 * np.diff(variance_below(edges)))
    if sd is not None:
        amplitude *= sd / np.sqrt(0.5 * np.sum(amplitude**2))
    every = next(m for m in range(APART, 0, -1) if n % m == 0 and (m == 1 or SPARSE * m * last <= n))
    spectrum = np.zeros(n // every // 2 + 1, dtype=np.complex128)
    turned = rng.uniform(0.0, 2.0 * np.pi, amplitude.size)
    amplitude *= 0.5 * (n // every)
    harmonics = spectrum[first : last + 1]
    harmonics.real, harmonics.imag = amplitude * np.cos(turned), amplitude * np.sin(turned)
    series = np.fft.irfft(spectrum, n // every)
    wanted = n if whole else samples
    if every == 1:
        return series[:wanted].copy()
    from sim.arithmetic.refine import EXACT_TAPS, refine, refiner  # noqa: PLC0415 (the compiler: half a second)

    found = np.empty((1, wanted))
    refine(series[None], np.zeros(1, dtype=np.int64), 1 - EXACT_TAPS // 2, 1, refiner(every, EXACT_TAPS), 0, found)
    return found[0]
