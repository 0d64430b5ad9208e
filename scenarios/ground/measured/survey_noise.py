"""Noise of a survey in a record of heights: found by the floor that it leaves in the short waves.

Ground falls with spatial frequency; errors that differ from point to point do not. White noise of standard deviation
σ at points dx apart has the flat one-sided density F = 2σ²·dx up to 1/(2dx), the highest frequency that the points
hold. Ground counts as any sum of C·n^−w with w from 1.5 to 6 (a class of ISO 8608 has w = 2, a lone hump far more),
none of them below zero. Waves shorter than the points hold fold back into the record and flatten it, too; that share
is known, Σ C·|n + k/dx|^−w over all whole k (Hurwitz' zeta function), and counts as ground.

The sum that makes the record most likely is found by steps that never lose likelihood (Whittle 1953: a value of the
spectrum scatters as a gamma variable; the steps are those of Févotte, Bertin and Durrieu 2009 for the Itakura-Saito
divergence with the square root that makes them safe; both from memory). Noise is told where the floor is needed: it
gains likelihood over ground alone, it is flat, and it stands over the ground in a fifth of the band or more. How large
it is comes from a second fit without the flattest ground (w = 1.5), which would take a part of the floor for itself.

Clods and tilth finer than the points look the same as noise: two neighbouring points share nothing of them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.measured.record_spectrum import Spectrum

Values = NDArray[np.float64]

WAVINESS = (1.5, 2.0, 2.5, 3.0, 4.0, 6.0)
FIRST = 2  # lowest frequencies left out: they hold the lie of the land and the straight line taken off
LEAST = 0.5e-3  # noise below this is not told [m]
FLAT_FROM = 0.8  # share of the highest frequency above which the noise has to be stronger than the ground at the latest
SURE = 3.0  # least gain in log-likelihood over ground without a floor
RARE = 1e-4  # a peak over the floor that noise shows less often than this is no noise
STEPS, STILL = 3000, 1e-5  # most steps of the fit; it ends when 20 of them gain less than this


@dataclass(frozen=True)
class Noise:
    """Noise in a record."""

    sd: float  # standard deviation [m]
    wave: float  # wave at which ground and noise are equally strong: shorter ones are mostly noise [m]; 0: none are


def find_noise(found: Spectrum) -> Noise | None:
    """The noise in a record; None where its short waves fall as ground does."""
    n, density = found.n[FIRST:], found.density[FIRST:]
    if density.mean() < 2.0 * LEAST**2 * found.spacing:  # as much as the least noise that is told
        return None
    parts, flat = _ground(n, found.spacing), np.ones((1, n.size))
    alone = _fitted(parts, np.empty(0), density) @ parts
    first = _fitted(np.vstack([parts, flat]), np.empty(0), density) @ np.vstack([parts, flat])
    if _likelihood(first, density, found) - _likelihood(alone, density, found) < SURE:
        return None
    sizes = _fitted(np.vstack([parts[1:], flat]), np.empty(0), density)
    floor, sizes = float(sizes[-1]), np.concatenate([[0.0], sizes[:-1]])
    noise = Noise(math.sqrt(0.5 * floor / found.spacing), _crossing(sizes, floor, found))
    if noise.sd < LEAST or noise.wave < 2.0 * found.spacing / FLAT_FROM:
        return None
    return None if _peaked(n, density / (sizes @ parts + floor), noise, found) else noise


def noise_given(found: Spectrum, sd: float) -> Noise:
    """The same where the noise's standard deviation [m] is known."""
    n, density = found.n[FIRST:], found.density[FIRST:]
    floor = 2.0 * sd**2 * found.spacing
    sizes = _fitted(_ground(n, found.spacing), np.full(n.shape, floor), density)
    return Noise(sd, _crossing(sizes, floor, found))


def _ground(n: Values, spacing: float) -> Values:
    """Density of each kind of ground as points see it, folded, over that at the highest frequency, (kinds, n)."""
    from scipy.special import zeta  # noqa: PLC0415

    share = n * spacing
    return np.stack([0.5**w * (zeta(w, share) + zeta(w, 1.0 - share)) for w in WAVINESS])


def _fitted(parts: Values, fixed: Values, density: Values) -> Values:
    """Sizes ≥ 0 of the parts (parts, n) whose sum with what is `fixed` (n,) makes a spectrum (n,) most likely."""
    base = fixed if fixed.size else np.zeros(density.size)
    unit = max(float(np.exp(np.mean(np.log(density + 1e-300)))), 1e-30)
    seen = density / unit + 1e-12  # a record without any waves has no logarithm
    sizes = seen.mean() / parts.mean(axis=1) / len(parts)
    last = math.inf
    for step in range(STEPS):
        model = sizes @ parts + base / unit + 1e-12
        if step % 20 == 0:
            cost = float(np.sum(np.log(model) + seen / model))
            if last - cost < STILL:
                break
            last = cost
        sizes = sizes * np.sqrt((parts @ (seen / model**2)) / (parts @ (1.0 / model)))
    return sizes * unit


def _likelihood(expected: Values, density: Values, found: Spectrum) -> float:
    floor = 1e-12 * float(density.mean()) + 1e-300
    return -found.pieces * float(np.sum(np.log(expected + floor) + (density + floor) / (expected + floor)))


def _crossing(sizes: Values, floor: float, found: Spectrum) -> float:
    """Wave [m] below which noise is stronger than ground: at most the longest looked at, 0 where there is none."""
    n = np.geomspace(found.n[FIRST], 100.0 * found.highest, 2000)
    ground = sum(size * (n / found.highest) ** -w for size, w in zip(sizes, WAVINESS, strict=True))
    under = np.flatnonzero(ground < floor)
    return 1.0 / float(n[under[0]]) if under.size else 0.0


def _peaked(n: Values, share: Values, noise: Noise, found: Spectrum) -> bool:
    """Whether waves of one length (ridges) stand out of the floor; share: of the spectrum over what is expected."""
    from scipy.stats import gamma  # noqa: PLC0415

    flat = share[n * noise.wave >= 1.0]
    return bool(flat.size) and float(flat.max()) > float(gamma.isf(RARE / flat.size, found.pieces)) / found.pieces
