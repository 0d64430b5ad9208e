"""Isotropic random ground in two dimensions: which plane density gives the wanted density along every line.

Given: the one-sided density along a line, G(n) = C·n^−w [m³] over a band n1 … n2 (ISO 8608 form, n in c/m). Wanted:
a stationary surface whose density along *any* line is that one. With S(κ) the two-sided density over the plane of
wave numbers (n along the line, m across it, κ² = n² + m²), a line sees all waves with its n, whatever their m:

    G(n) = 2 ∫ S(√(n² + m²)) dm over all m                                                            (1)

an Abel transform. For G = C·(n² + κ0²)^(−w/2) its inverse is, with ρ² = κ² + κ0²,

    S = C·Γ((w+1)/2) / (2√π·Γ(w/2)) · ρ^−(w+1)          (w = 2: C/4·ρ^−3)                             (2)

Put (2) into (1) with m = ρ_n·tan θ, ρ_n² = n² + κ0²: ∫cos^(w−1)θ dθ = √π·Γ(w/2)/Γ((w+1)/2), which proves it.
Two parallel lines a distance b apart share, of each n, the part that is the cosine transform of S over m; as a share
of G (2 again, by the integral form of the Bessel function K):

    γ(n, b) = 2/Γ(w/2)·(π b ρ_n)^(w/2)·K_{w/2}(2π b ρ_n)      (w = 2: x·K1(x), x = 2π b ρ_n)           (3)

Lower end of the band: no isotropic surface has a line density that stops at n1, because waves that cross the line at
an angle look longer along it. Here S = 0 for κ < n1 (no wave of the surface is longer than 1/n1). In the band G is
then exactly C·n^−w; below n1 it levels out, G = C·n^−w·I(n²/n1²; w/2, 1/2), I the regularised incomplete beta
function (w = 2: from C/n1² at n1 to half of that at 0). Status: derived here and checked numerically; the idea of an
isotropic road from one spectrum is that of Dodds & Robson 1973, J. Sound Vib. 31(2) 175–183 (value from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scenarios.spec import Roughness, Variation

Values = NDArray[np.float64]

REFERENCE_FREQUENCY = 0.1  # n0 [c/m], ISO 8608
FINEST = 10.0  # [c/m]: strength finer than this is evened out by the disc's arc, as in `scenarios.ground.strength`


@dataclass(frozen=True)
class Isotropic:
    """Density of an isotropic surface: along a line C·(n² + κ0²)^(−w/2) from `longest` to `highest`, one-sided."""

    level: float  # C
    waviness: float  # w
    roll_off: float  # κ0 [c/m]
    longest: float  # n1: no wave of the surface is longer than 1/n1; 0: none left out [c/m]
    highest: float  # n2: along the line nothing shorter than 1/n2 is held [c/m]
    lowest: float = 0.0  # along the line nothing longer than 1/lowest is held (it is measured there) [c/m]

    def plane_density(self, n: Values, m: Values) -> Values:
        """Two-sided density S over the plane of wave numbers (n, m) [c/m], equation (2); 0 inside κ < n1."""
        w = self.waviness
        constant = self.level * math.gamma(0.5 * (w + 1.0)) / (2.0 * math.sqrt(math.pi) * math.gamma(0.5 * w))
        kappa = n * n + m * m
        inside = kappa < self.longest**2
        return np.where(inside, 0.0, constant * np.maximum(kappa + self.roll_off**2, 1e-12) ** (-0.5 * (w + 1.0)))

    def line_density(self, n: Values) -> Values:
        """One-sided density G(n) along any line, up to `highest`; shape of n [c/m]."""
        from scipy.special import betainc  # noqa: PLC0415 (scipy only where a paddock is laid)

        w = self.waviness
        rho = np.maximum(n * n + self.roll_off**2, 1e-12)
        missing = np.maximum(self.longest**2 - n * n, 0.0)
        share = betainc(0.5 * w, 0.5, rho / (rho + missing))
        return np.where((n > self.highest) | (n < self.lowest), 0.0, self.level * rho ** (-0.5 * w) * share)

    def coherence(self, n: Values, apart: float) -> Values:
        """γ(n, b), equation (3): the share of G that two parallel lines `apart` [m] have in common, for n ≥ n1.

        Real and positive: cross density over density. The magnitude-squared coherence is its square.
        """
        from scipy.special import kv  # noqa: PLC0415

        half = 0.5 * self.waviness
        x = 2.0 * math.pi * apart * np.sqrt(n * n + self.roll_off**2)
        small = np.maximum(x, 1e-9)
        return np.where(x < 1e-9, 1.0, 2.0 / math.gamma(half) * (0.5 * small) ** half * kv(half, small))


def rough_surface(spec: Roughness) -> Isotropic:
    """The surface whose density along any line is that of a row's random ground in the same band."""
    level = spec.density * REFERENCE_FREQUENCY**spec.waviness
    return Isotropic(level, spec.waviness, 0.0, spec.band[0], spec.band[1])


def strength_surface(variation: Variation) -> Isotropic:
    """Random strength as a share of its mean, correlation exp(−r/ℓ) in every direction, SD = the wanted CV.

    exp(−r/ℓ) has the line density 4ℓσ²/(1 + (2πnℓ)²) = C/(n² + κ0²), κ0 = 1/(2πℓ): equation (2) with w = 2. What
    lies above 10 c/m is left out, and σ made up for it.
    """
    reach = variation.correlation_length
    highest = max(FINEST, 2.0 / reach)
    held = 2.0 / math.pi * math.atan(2.0 * math.pi * highest * reach)
    level = variation.variation_cv**2 / (math.pi**2 * reach) / held
    return Isotropic(level, 2.0, 1.0 / (2.0 * math.pi * reach), 0.0, highest)
