"""Slopes of the predictions to the unknowns: by differences where they are new, carried along where x hardly moved."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from analysis.fit.likelihood import Likelihood

Vector = NDArray[np.float64]

APART = 0.3  # how far a difference reaches, in the units of x
AGAIN = 1.0  # how far x may move in all before the slopes are taken anew


class Slopes:
    """Slopes (m, n) of the predictions, and their values, at points that were asked for.

    Between two points less than AGAIN apart from where differences were taken, Broyden's update carries them along: the
    smallest change that explains the last step.
    """

    def __init__(self, likelihood: Likelihood):
        self.likelihood = likelihood
        self._at: Vector | None = None
        self._from: Vector | None = None
        self._slopes: Vector | None = None

    def values(self, xs: Sequence[Vector]) -> list[Vector | None]:
        """Predictions; None where a crossing cannot be made."""
        return self.likelihood.model.predict_all(xs, self.likelihood.like)

    def value(self, x: Vector) -> Vector | None:
        """Predictions at one point."""
        return self.values([x])[0]

    def at(self, x: Vector) -> Vector:
        """Slopes at a point whose crossings can be made."""
        here = self.value(x)
        assert here is not None
        if self._slopes is None or self._at is None or np.linalg.norm(x - self._at) > AGAIN:
            self._slopes, self._at = self._differences(x, here), x.copy()
        elif self._from is not None and not np.array_equal(x, self._from):
            step = x - self._from
            before = self.value(self._from)
            assert before is not None
            off = here - before - self._slopes @ step
            self._slopes = self._slopes + np.outer(off, step) / float(step @ step)
        self._from = x.copy()
        return self._slopes

    def _differences(self, x: Vector, here: Vector) -> Vector:
        low, high = self.likelihood.model.unknowns.bounds
        ways = np.where(x + APART <= high, APART, -APART)
        first = self.values([x + way * np.eye(x.size)[k] for k, way in enumerate(ways)])
        slopes = np.zeros((here.size, x.size))
        for k, there in enumerate(first):
            way = ways[k]
            if there is None:  # beyond what can be crossed: the other way
                way = -way
                there = self.value(np.clip(x + way * np.eye(x.size)[k], low, high))  # noqa: PLW2901
            if there is not None:
                slopes[:, k] = (there - here) / way
        return slopes
