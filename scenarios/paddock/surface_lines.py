"""A random isotropic surface on parallel lines: made line by line for any lines asked for, never kept whole.

The surface is defined on lines `spacing` apart, without end across, and repeats along them after `period`. Along a
line it is a sum of harmonics n_k = k/period; their complex amplitudes go on from line to line as the density asks:

- n < NEAR and NEAR ≤ n < 1/spacing: amplitudes by FFT across strips of lines, from the plane density folded on the
  lines' spacing (all that lies between the lines is folded in, so the values on the lines are exact). Strips overlap
  by half and are blended by cos and sin, which keeps the density along each line exact and makes the surface go on
  without end: strips of 128 m for waves over 2 m, of 16 m for the shorter ones. Blending takes 1 − cos(π b/2W) of
  the coherence between lines b apart (W half a strip): 2e-5 at 0.25 m and 2.4 % at 9 m for the long waves.
- n ≥ 1/spacing: neighbouring lines have less than 1 % in common (w = 2: γ = 0.6 %): each line draws its own.

Amplitudes have fixed size and random phase, so every line's mean density is exactly that of `Isotropic`. The same
seed, spacing and period give the same values on a line, whatever other lines are asked for.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.synthesis import smooth_length
from scenarios.paddock.surface import Isotropic
from sim.arithmetic.compiled import kernel
from sim.arithmetic.elementary import sincos
from sim.arithmetic.refine import TAPS, refine, refiner

NEAR = 0.5  # [c/m]: waves over 2 m and shorter ones are laid in strips of different width
WIDE, NARROW = 64.0, 8.0  # half the width of a strip [m]
FOLDS = 6  # copies of the plane density that are folded in on either side
AT_ONCE = 128  # harmonics of a strip that are laid at once: what they take stays in the second cache
BLENDED, OWN = 0, 1  # kinds of random streams

Complex = NDArray[np.complex128]


@dataclass(frozen=True)
class Lines:
    """A surface on parallel lines; `seed`: the random stream's key, whole numbers."""

    density: Isotropic
    spacing: float  # between lines [m]
    period: float  # along the lines [m]
    step: float  # sampling distance along the lines [m], below half the shortest wave
    seed: tuple[int, ...]

    @property
    def samples(self) -> int:
        """Samples of one period."""
        return round(self.period / self.step)

    def heights(self, lines: NDArray[np.int64]) -> NDArray[np.float64]:
        """Values on some lines (whole numbers ≥ 0; their place across is number × spacing), (lines, samples)."""
        spectrum = self._amplitudes(lines)
        values = spectrum.view(np.float64)[:, : self.samples]  # where a line's amplitudes stood: half the memory
        for of_line, amplitudes in zip(values, spectrum, strict=True):
            of_line[:] = np.fft.irfft(amplitudes, self.samples)
        return values

    def _amplitudes(self, lines: NDArray[np.int64]) -> Complex:
        """Spectra for irfft, (lines, samples//2 + 1)."""
        result = np.zeros((lines.size, self.samples // 2 + 1), dtype=np.complex128)
        last = min(math.floor(self.density.highest * self.period + 1e-9), self.samples // 2 - 1)
        near = min(math.ceil(NEAR * self.period), last + 1)
        apart = min(max(math.ceil(self.period / self.spacing), near), last + 1)
        for band, (first, stop, half) in enumerate(((1, near, WIDE), (near, apart, NARROW))):
            if stop > first:
                self._blend(result[:, first:stop], np.arange(first, stop), lines, half, band)
        if last >= apart:
            self._own(result[:, apart : last + 1], np.arange(apart, last + 1), lines)
        return result

    def _blend(self, out: Complex, k: NDArray[np.int64], lines: NDArray[np.int64], half: float, band: int) -> None:
        """Amplitudes of the harmonics k on the lines, blended from the strips that cover them."""
        wide = max(4, math.ceil(half / self.spacing))  # lines in half a strip
        across = _folded(self, int(k[0]), int(k[-1]) + 1, 2 * wide)
        for strip in range(int(lines.min()) // wide, int(lines.max()) // wide + 2):
            # strip s covers the lines (s − 1)·wide … (s + 1)·wide
            place = lines - (strip - 1) * wide
            inside = (place >= 0) & (place < 2 * wide)
            if not inside.any():
                continue
            rng = np.random.default_rng([*self.seed, BLENDED, band, strip])
            weight = np.cos(0.5 * np.pi * (place[inside] - wide) / wide)
            for first in range(0, k.size, AT_ONCE):
                part = slice(first, first + AT_ONCE)
                waves = np.fft.ifft(_turned(across[part], rng.random(across[part].shape)), axis=1)
                out[inside, part] += (2 * wide) * weight[:, None] * waves[:, place[inside]].T

    def _own(self, out: Complex, k: NDArray[np.int64], lines: NDArray[np.int64]) -> None:
        """Amplitudes of the harmonics that each line draws for itself."""
        size = 0.5 * self.samples * np.sqrt(2.0 * self.density.line_density(k / self.period) / self.period)
        for place, line in enumerate(lines):
            rng = np.random.default_rng([*self.seed, OWN, int(line)])
            out[place] = _turned(size, rng.random(k.size))


def _turned(size: NDArray[np.float64], turns: NDArray[np.float64]) -> Complex:
    """Complex numbers of a size, turned from the real axis by a share of a turn in [0, 1], shapes alike."""
    found = np.empty(turns.shape, dtype=np.complex128)
    turn(size.reshape(-1), turns.reshape(-1), found.view(np.float64).reshape(-1))
    return found


@kernel
def turn(size, turns, out):
    """Numbers of a size (n,) turned by a share of a turn in [0, 1] (n,) → real and imaginary parts in turn, (2n,)."""
    for i in range(turns.size):
        quarters = 4.0 * turns[i]
        nearest = float(int(quarters + 0.5))  # 0 … 4
        sine, cosine = sincos((quarters - nearest) * (0.5 * np.pi))
        upright = (nearest == 1.0) | (nearest == 3.0)
        back = (nearest == 1.0) | (nearest == 2.0)
        under = (nearest == 2.0) | (nearest == 3.0)
        along = sine if upright else cosine
        across = cosine if upright else sine
        out[2 * i] = size[i] * (-along if back else along)
        out[2 * i + 1] = size[i] * (-across if under else across)


@lru_cache(maxsize=8)  # every pass over one surface needs the same
def _folded(surface: Lines, first: int, stop: int, count: int) -> NDArray[np.float64]:
    """Sizes of the plane waves (harmonic along, harmonic across), (stop − first, count), in the scale of `irfft`.

    Size² of all waves of one harmonic adds up to 2·G·Δn, as along a single line; numbers across in FFT order.
    """
    n: NDArray[np.float64] = np.arange(first, stop, dtype=np.float64)[:, None] / surface.period
    m: NDArray[np.float64] = np.fft.fftfreq(count, surface.spacing)[None, :].astype(np.float64)
    folded = np.zeros((stop - first, count))
    for fold in range(-FOLDS, FOLDS + 1):
        folded += surface.density.plane_density(n, m + fold / surface.spacing)
    wanted = 2.0 * surface.density.line_density(n) / surface.period
    share = folded / np.maximum(folded.sum(axis=1, keepdims=True), 1e-300)
    return 0.5 * surface.samples * np.sqrt(wanted * share)


def whole_period(least: float, step: float) -> float:
    """A period [m] of at least `least` that holds a quick number of samples for an FFT."""
    return smooth_length(math.ceil(least / step - 1e-9)) * step


@dataclass(frozen=True)
class Travelled:
    """Lines as a machine travels them: fine steps from the place of travel 0, perhaps backwards."""

    coarse: NDArray[np.float32]  # (lines, samples), periodic; rounded to 6e-8 of themselves, a few nanometres
    factor: int
    begin: int  # coarse sample at travel 0
    backwards: bool

    def heights(self, first: int, count: int, lines: NDArray[np.int64]) -> NDArray[np.float64]:
        """Values of lines (from 0) at the fine steps first … first + count of travel, (lines, count)."""
        cell, phase = divmod(first, self.factor)
        way, behind = -1 if self.backwards else 1, cell - (TAPS // 2 - 1)
        out = np.empty((lines.size, count))
        refine(self.coarse, lines, self.begin + way * behind, way, refiner(self.factor), phase, out)
        return out
