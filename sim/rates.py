"""How fast what a law describes can change: rates that the time step must follow (`sim.step`).

A law gives its rates beside its equations, linearised about a reference: the eigenvalues λ [1/s] of small changes with
all else held. A real λ is a decay, an imaginary part a swing. A blow is over sooner than the swing of its contact where
damping meets it: its own rate says how closely its peak has to be sampled.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

Complex = NDArray[np.complex128]


class Rates(NamedTuple):
    """Rates of one law [1/s]."""

    lasting: Complex  # of states that a crossing may stay in
    passing: Complex = np.empty(0, dtype=np.complex128)  # of states that end by themselves within a step or a few
    struck: float = 0.0  # of a blow, `sim.laws.contact.blow_rate`


def together(parts: Iterable[Rates]) -> Rates:
    """Rates of one law at several references."""
    lasting, passing, struck = zip(*parts, strict=True)
    return Rates(np.concatenate(lasting), np.concatenate(passing), max(struck))


def of_matrix(rows: ArrayLike) -> Complex:
    """Rates of y′ = A y, all eigenvalues of A."""
    return np.linalg.eigvals(np.asarray(rows, dtype=np.float64)).astype(np.complex128)


def of_spring(stiffness: float, damping: float, mass: float) -> Complex:
    """Rates of a mass on a spring and a damper: λ² + (c/m) λ + k/m = 0 (angles: couples and moment of inertia)."""
    half = 0.5 * damping / mass
    root = np.sqrt(complex(half * half - stiffness / mass))
    return np.array([-half - root, -half + root])
