"""Which value the doubt about the pick's room rests on most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.fit.following.target import Target
from analysis.fit.unknowns import Unknowns
from scenarios.doubt.doubtful import DOUBTFUL, Doubtful

Vector = NDArray[np.float64]


@dataclass(frozen=True)
class Largest:
    """A value in doubt, and its share of the variance of the pick's room."""

    doubtful: Doubtful
    share: float


def shares(unknowns: Unknowns, aim: Target, covariance: Vector) -> dict[str, float]:
    """Share of every value in the variance gᵀCg of the pick's room, by its name; together they are 1.

    With z = R u, C_z = R C Rᵀ and g_z from Rᵀ g_z = g: share k is g_z,k (C_z g_z)_k / gᵀCg, what goes with others
    split between them (covariance shares; derived). covariance: of x, (size, size). {} where nothing is in doubt.
    """
    n, root = unknowns.values, unknowns.root
    slopes = np.linalg.pinv(root.T) @ aim.slopes[:n]
    parts = slopes * (root @ covariance[:n, :n] @ root.T @ slopes)
    total = float(parts.sum())
    return dict(zip(unknowns.doubt.names, (parts / total).tolist(), strict=True)) if total > 0.0 else {}


def largest(unknowns: Unknowns, aim: Target, covariance: Vector) -> Largest | None:
    """The value with the largest share; None where nothing is in doubt."""
    found = shares(unknowns, aim, covariance)
    if not found:
        return None
    name = max(found, key=lambda one: found[one])
    return Largest(next(one for one in DOUBTFUL if one.name == name), found[name])
