"""Random roughness of the ground by the spectral form of ISO 8608, and the values of that form."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.synthesis import ROUGHNESS, random_series, stream
from scenarios.spec import Roughness

REFERENCE_FREQUENCY = 0.1  # n0 [c/m], ISO 8608


def density(spec: Roughness, n: NDArray[np.float64]) -> NDArray[np.float64]:
    """One-sided displacement density Gd(n) = Gd(n0)·(n/n0)^−w [m³] at spatial frequencies n [c/m] (ISO 8608)."""
    return spec.density * (n / REFERENCE_FREQUENCY) ** -spec.waviness


def roughness_name(spec: Roughness) -> str:
    """How a roughness is named: "class D", or "Gd(0.1) = 0.00205 m³" where no class was given."""
    return f"class {spec.letter}" if spec.letter else f"Gd(0.1) = {spec.density:.3g} m³"


def variance_between(spec: Roughness, low: float, high: float) -> float:
    """Variance of the height [m²] that lies between two spatial frequencies [c/m]: ∫ Gd dn in closed form.

    For w = 2 it is Gd(n0)·n0²·(1/n1 − 1/n2).
    """
    below = _variance_below(spec, np.array([low, high]))
    return float(below[1] - below[0])


def _variance_below(spec: Roughness, n: NDArray[np.float64]) -> NDArray[np.float64]:
    """An integral of the density over n [m²]."""
    w, n0 = spec.waviness, REFERENCE_FREQUENCY
    if abs(w - 1.0) < 1e-9:
        return spec.density * n0 * np.log(n / n0)
    return spec.density * n0**w * n ** (1.0 - w) / (1.0 - w)


def rough_heights(spec: Roughness, samples: int, dx: float, seed: int, purpose: int = ROUGHNESS) -> NDArray[np.float64]:
    """Heights [m] of random ground, shape (samples,), at sampling distance dx [m]; `purpose` picks its stream.

    The ground repeats after at least `samples`·dx and at least two of the longest waves of its band; over that
    period its variance is exactly that of the band.
    """
    return _series(spec, samples, dx, seed, purpose, whole=False)


def rough_period(spec: Roughness, samples: int, dx: float, seed: int, purpose: int = ROUGHNESS) -> NDArray[np.float64]:
    """The whole period that `rough_heights` takes its samples from, shape (≥ samples,) [m]."""
    return _series(spec, samples, dx, seed, purpose, whole=True)


def _series(spec: Roughness, samples: int, dx: float, seed: int, purpose: int, *, whole: bool) -> NDArray[np.float64]:
    return random_series(
        samples,
        dx,
        lambda n: _variance_below(spec, n),
        spec.band,
        stream(seed, purpose),
        period=2.0 / spec.band[0],
        whole=whole,
    )
