"""What is believed after the readings: normal about the most likely values where that is good enough, else drawn.

With J the slopes of all whitened residuals at the optimum, the posterior is about N(x̂, C), C = (JᵀJ)⁻¹ (Laplace). It
is tried along each axis w of C along which the readings say something (variance less than SAID of the prior's): the
model itself is crossed at x̂ ± REACH s w, s the standard deviation there, and twice −log posterior has to have risen
by what the slopes and C say to within `OFF`. The same crossings give central slopes along those axes, with which x̂
takes one last step.

Where one of them fails, numbers are drawn. The predictions are emulated as quadratic along each axis that was tried,
with what the crossings at its two ends gave, linear along the others; draws about x̂, Student t (FREEDOM degrees)
along those axes and normal along the others, are weighted by posterior over proposal and drawn again by their weights:
plain importance sampling. No library is needed for it: `effective` tells what the draws are worth.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.fit.maximum import Maximum

Vector = NDArray[np.float64]

REACH = 1.5  # standard deviations at which the normal is tried
OFF = 0.8  # of twice −log posterior, where the normal has REACH² = 2.25
SAID = 0.9  # share of the prior's variance left where readings say something
DRAWS, KEPT = 40_000, 4_000
FREEDOM = 6.0
SEED = 20  # of the draws


@dataclass(frozen=True, eq=False)
class Posterior:
    """Values after the readings, x as `analysis.fit.unknowns`."""

    x: Vector  # most likely
    covariance: Vector  # C
    slopes: Vector  # of the predictions, (m, n)
    predicted: Vector  # at x, (m,)
    maximum: Maximum
    worst: float  # by how much the normal is off at worst
    draws: Vector | None = None  # (KEPT, n) where the normal does not do
    effective: float = 0.0  # what they are worth

    @property
    def normal(self) -> bool:
        """Whether the normal stands for it."""
        return self.draws is None

    def sample(self, count: int, seed: int) -> Vector:
        """Draws from it, (count, n)."""
        rng = np.random.default_rng([SEED, seed])
        if self.draws is not None:
            return np.asarray(self.draws[rng.integers(0, len(self.draws), count)])
        root = np.linalg.cholesky(self.covariance)
        found = self.x + rng.standard_normal((count, self.x.size)) @ root.T
        return np.clip(found, *self.maximum.likelihood.model.unknowns.bounds)


@dataclass(frozen=True, eq=False)
class Axes:
    """Principal axes of the posterior against the prior, and the predictions at both ends of those that are told."""

    ways: Vector  # (n, n), each one standard deviation long
    told: NDArray[np.bool_]  # (n,): the readings say something along it
    ends: list[tuple[Vector | None, Vector | None]]  # of those, REACH below and above

    @property
    def tried(self) -> Vector:
        """Those that are told, as long as they were tried, (n, k)."""
        return np.asarray(REACH * self.ways[:, self.told])

    def slopes(self, slopes: Vector) -> Vector:
        """Slopes with central differences along the axes where both ends could be crossed."""
        found = slopes.copy()
        for way, (below, above) in zip(self.tried.T, self.ends, strict=True):
            if below is not None and above is not None:
                off = 0.5 * (above - below) - found @ way
                found = found + np.outer(off, way) / float(way @ way)
        return found

    def bends(self, here: Vector) -> Vector:
        """Half the second difference of the predictions along each axis, (m, k)."""
        found = np.zeros((here.size, len(self.ends)))
        for k, (below, above) in enumerate(self.ends):
            if below is not None and above is not None:
                found[:, k] = 0.5 * (above + below) - here
        return found


def posterior(found: Maximum) -> Posterior:
    """What is believed after the readings."""
    like, x = found.likelihood, found.x
    slopes = found.slopes.at(x) if like.size else np.zeros((0, x.size))
    covariance = _covariance(found, slopes)
    if not like.size:
        return Posterior(x, covariance, slopes, found.predicted, found, 0.0)
    axes = _axes(found, covariance)
    slopes = axes.slopes(slopes)
    covariance = _covariance(found, slopes)
    x, predicted = _stepped(found, slopes, covariance)
    worst = _worst(found, slopes, covariance, axes)
    made = Posterior(x, covariance, slopes, predicted, found, worst)
    if worst <= OFF:
        return made
    draws, effective = _drawn(made, axes)
    return Posterior(x, covariance, slopes, predicted, found, worst, draws, effective)


def _covariance(found: Maximum, slopes: Vector) -> Vector:
    weights = found.likelihood.model.unknowns.weights
    j = found.likelihood.whiten(slopes)
    return np.asarray(np.linalg.inv(j.T @ j + np.diag(weights**2)))


def _axes(found: Maximum, covariance: Vector) -> Axes:
    """Principal axes against the prior: in units in which the prior is N(0, 1)."""
    weights = found.likelihood.model.unknowns.weights
    shares, ways = np.linalg.eigh(covariance * np.outer(weights, weights))
    told = shares < SAID
    ways = np.sqrt(shares) * ways / weights[:, None]
    bounds = found.likelihood.model.unknowns.bounds
    ends = [np.clip(found.x + sign * REACH * way, *bounds) for way in ways[:, told].T for sign in (-1.0, 1.0)]
    made = found.slopes.values(ends)
    return Axes(ways, told, list(zip(made[::2], made[1::2], strict=True)))


def _gradient(found: Maximum, slopes: Vector) -> Vector:
    """Of −log posterior at x̂."""
    like = found.likelihood
    r = like.residuals(found.x, found.predicted)
    return np.asarray(-like.whiten(slopes).T @ r[: like.size] + like.model.unknowns.weights * r[like.size :])


def _stepped(found: Maximum, slopes: Vector, covariance: Vector) -> tuple[Vector, Vector]:
    """One last step with better slopes, taken where it leads to a likelier place."""
    like = found.likelihood
    x = np.clip(found.x - covariance @ _gradient(found, slopes), *like.model.unknowns.bounds)
    predicted = found.slopes.value(x)
    if predicted is None or like.half_sum(x, predicted) >= like.half_sum(found.x, found.predicted):
        return found.x, found.predicted
    return x, predicted


def _worst(found: Maximum, slopes: Vector, covariance: Vector, axes: Axes) -> float:
    """By how much twice −log posterior is off its quadratic form at the worst end of an axis."""
    like = found.likelihood
    here = 2.0 * like.half_sum(found.x, found.predicted)
    gradient, precision = _gradient(found, slopes), np.linalg.inv(covariance)
    bounds = like.model.unknowns.bounds
    worst = 0.0
    for way, ends in zip(axes.tried.T, axes.ends, strict=True):
        for sign, there in zip((-1.0, 1.0), ends, strict=True):
            if there is None:
                return np.inf
            end = np.clip(found.x + sign * way, *bounds)
            away = end - found.x
            rise = 2.0 * like.half_sum(end, there) - here
            worst = max(worst, abs(rise - 2.0 * gradient @ away - away @ precision @ away))
    return float(worst)


def _drawn(made: Posterior, axes: Axes) -> tuple[Vector, float]:
    """Draws by weights, and how many independent ones they are worth."""
    like = made.maximum.likelihood
    unknowns = like.model.unknowns
    rng = np.random.default_rng(SEED)
    steps = rng.standard_normal((DRAWS, made.x.size))
    told = int(axes.told.sum())
    steps[:, axes.told] *= np.sqrt(FREEDOM / rng.chisquare(FREEDOM, (DRAWS, told)))
    away = steps @ axes.ways.T
    x = made.x + away
    along = np.clip(steps[:, axes.told] / REACH, -2.0, 2.0)
    predicted = made.predicted + away @ made.slopes.T + along**2 @ axes.bends(made.maximum.predicted).T
    r = like.whiten((like.model.observed - predicted).T)
    log_post = -0.5 * (np.sum(r**2, axis=0) + np.sum((unknowns.weights * x) ** 2, axis=1))
    low, high = unknowns.bounds
    log_post[np.any((x < low) | (x > high), axis=1)] = -np.inf
    square = steps**2
    wide = -0.5 * (FREEDOM + 1.0) * np.sum(np.log1p(square[:, axes.told] / FREEDOM), axis=1)
    log_proposed = wide - 0.5 * np.sum(square[:, ~axes.told], axis=1)
    weights = np.exp(log_post - log_proposed - np.max(log_post - log_proposed))
    weights /= weights.sum()
    kept = rng.choice(DRAWS, KEPT, p=weights)
    return np.asarray(x[kept]), float(1.0 / np.sum(weights**2))
