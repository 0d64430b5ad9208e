"""The shortest wave that a height record holds, whatever its spacing: a record may be dense and yet smoothed.

Ground's density falls with spatial frequency as n^−w, w about 2, at the steepest 3 over some octaves (ISO 8608 takes
2). A filter, a wide wheel or a drawn curve takes the short waves out: from some frequency on the density lies far
below what any stretch of longer waves lets expect at w = 3, over octaves. A single strong wave (ridges) lifts no
expectation, since three neighbouring bands have to agree on it. The limits below were tried on made ground of class A
to D with w 1.5 to 3 (none told), the same through usual filters of 0.5 and 1 m (nearly all told), and real records.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

STEEPEST = 3.0  # waviness that ground itself may have over octaves
MISSING = 5.0  # factor below expectation from which a band counts as missing …
FADED = 2.0  # … and from which the waves of a missing stretch are fading out
RUN = 3  # neighbouring bands that have to be missing
BAND = math.sqrt(2.0)  # ratio of a band's ends: half an octave
FEWEST_POINTS, FEWEST_LINES = 100, 4  # of a record, and of the spectrum in a band
LONGEST = 80.0  # piece of the record that a spectrum is taken of [m]


def smooth_below(distance: Floats, height: Floats) -> float | None:
    """Length of wave [m] below which a record (n,) [m] is smooth against its own longer waves; None where it is not.

    Of a record too short to tell, None as well.
    """
    spacing = float(np.median(np.diff(distance)))
    samples = int((distance[-1] - distance[0]) / spacing) + 1
    if samples < FEWEST_POINTS:
        return None
    even = np.interp(distance[0] + spacing * np.arange(samples), distance, height)
    frequency, level = _bands(even, spacing)
    lacking = _lacking(frequency, level)
    first = _first_run(lacking > math.log10(MISSING))
    if first is None:
        return None
    while first > 0 and lacking[first - 1] > math.log10(FADED):
        first -= 1
    return float(math.sqrt(BAND) / frequency[first])


def _bands(height: Floats, dx: float) -> tuple[Floats, Floats]:
    """Middle frequencies [c/m], rising, of half-octave bands up to the highest, and log10 of density × n² there [m].

    Mean over half overlapping pieces with a Hann window, each less its straight line (Welch 1967).
    """
    size = min(height.size, max(height.size // 4, FEWEST_POINTS, round(LONGEST / dx)))
    window, along = np.hanning(size), np.arange(size)
    power = np.zeros(size // 2 + 1)
    starts = range(0, height.size - size + 1, max(size // 2, 1))
    for start in starts:
        piece = height[start : start + size]
        piece = piece - np.polynomial.Polynomial.fit(along, piece, 1)(along)
        power += np.abs(np.fft.rfft(window * piece)) ** 2
    n = np.fft.rfftfreq(size, dx)
    density = power * (2.0 * dx / np.sum(window**2) / len(starts))
    middles, levels, high = [], [], 0.5 / dx
    while np.count_nonzero(inside := (n > high / BAND) & (n <= high)) >= FEWEST_LINES:
        middles.append(high / math.sqrt(BAND))
        levels.append(math.log10(max(float(np.mean(density[inside] * n[inside] ** 2)), 1e-30)))
        high /= BAND
    return np.array(middles[::-1]), np.array(levels[::-1])


def _lacking(frequency: Floats, level: Floats) -> Floats:
    """How far each band lies below what longer waves let expect, in powers of ten; 0 where nothing does."""
    lacking = np.zeros(frequency.size)
    steepest = STEEPEST - 2.0  # of the level, which is flat at w = 2
    for k in range(RUN, frequency.size):
        for m in range(1, k - 1):  # three bands around m, all longer waves than band k's
            expected = level[m - 1 : m + 2].min() - steepest * math.log10(frequency[k] / frequency[m])
            lacking[k] = max(lacking[k], expected - level[k])
    return lacking


def _first_run(missing: NDArray[np.bool_]) -> int | None:
    """First of RUN neighbours that are all missing."""
    for k in range(missing.size - RUN + 1):
        if missing[k : k + RUN].all():
            return k
    return None
