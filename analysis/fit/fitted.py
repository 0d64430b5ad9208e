"""What a fit found: each value with its doubt before and after, the depth settings' positions, how well it all fits."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from analysis.fit.expected.statistic import Statistic
from analysis.fit.posterior import Posterior
from analysis.fit.reading.readings import Measured
from scenarios.doubt.belief import RANGE
from scenarios.doubt.doubtful import BY_NAME, Doubtful
from scenarios.doubt.varied import with_values, within
from scenarios.scenario import Scenario

Vector = NDArray[np.float64]
Learned = Literal["learned", "a little", "not at all"]

LEARNED, A_LITTLE = 0.5, 0.9  # shares of the prior's standard deviation that are left, at most
STILL = 0.1  # standard deviations of the prior by which a value that was not learned of may be off: it stays
TOGETHER = 0.7  # size of a correlation from which two values are said to act together
UNLIKELY = 0.01  # p of the fit check below which the readings do not fit the model


@dataclass(frozen=True)
class Fitted:
    """One value; SI units."""

    doubtful: Doubtful
    value: float
    low: float  # 95 of 100 lie between low and high
    high: float
    before: float  # the file's
    prior_low: float
    prior_high: float
    left: float  # standard deviation over that of the prior

    @property
    def learned(self) -> Learned:
        """How much the readings say about it."""
        return "learned" if self.left <= LEARNED else "a little" if self.left <= A_LITTLE else "not at all"


@dataclass(frozen=True)
class Position:
    """Where the actuator stood at a depth setting [m]."""

    length: float
    low: float
    high: float


@dataclass(frozen=True)
class Residual:
    """A reading against what the fit expects of it, in the units of the file."""

    statistic: Statistic
    reading: float
    predicted: float
    before: float  # predicted with the file's own values, NaN where the depth setting alone decides
    sd: float  # of the reading about what is expected
    standardised: float  # normal about 0 with 1 where the model is right


@dataclass(frozen=True)
class FitCheck:
    """Whether the readings are likely under the fit: twice −log posterior against χ²."""

    statistic: float
    freedom: int
    p: float

    @property
    def fits(self) -> bool:
        """Whether nothing speaks against it."""
        return self.p >= UNLIKELY


@dataclass(frozen=True, eq=False)
class Fit:
    """All that was found."""

    scenario: Scenario  # as it was before
    measured: Measured
    posterior: Posterior
    values: tuple[Fitted, ...]
    correlation: Vector  # of the values, (values, values)
    spreads: tuple[float, ...]  # times so much, or plus so much [SI], of 95 %
    settings: dict[str, Position]
    cone: tuple[float, float, float] | None  # factor, low, high; None: no penetrometer
    residuals: tuple[Residual, ...]
    check: FitCheck

    @property
    def worst(self) -> Residual | None:
        """The reading that fits worst."""
        return max(self.residuals, key=lambda one: abs(one.standardised), default=None)

    @property
    def together(self) -> tuple[tuple[Fitted, Fitted, float], ...]:
        """Values that act together, with their correlation, the strongest first; only those that were learned of."""
        found = [
            (a, b, float(self.correlation[i, j]))
            for i, a in enumerate(self.values)
            for j, b in enumerate(self.values[:i])
            if abs(self.correlation[i, j]) > TOGETHER and min(a.left, b.left) <= A_LITTLE
        ]
        return tuple(sorted(found, key=lambda one: -abs(one[2])))

    @property
    def fitted(self) -> Scenario:
        """The scenario with the fitted values in place of its own."""
        return with_values(self.scenario, {one.doubtful.name: one.value for one in self.values})


def values_of(found: Posterior) -> tuple[tuple[Fitted, ...], Vector, tuple[float, ...]]:
    """Each value before and after, their correlation, and their spreads as [uncertain] has them."""
    unknowns = found.maximum.likelihood.model.unknowns
    doubt, root = unknowns.doubt, unknowns.root
    count = len(doubt.names)
    if found.draws is None:
        middle = unknowns.z(found.x)
        joint = root @ found.covariance[: unknowns.values, : unknowns.values] @ root.T
        sd = np.sqrt(np.diag(joint))
        low, high = middle - RANGE * sd, middle + RANGE * sd
    else:
        z = unknowns.z(found.draws)
        middle, joint = z.mean(axis=0), np.atleast_2d(np.cov(z.T))
        sd = np.sqrt(np.diag(joint))
        low, high = np.quantile(z, [0.025, 0.975], axis=0)
    correlation = joint / np.outer(sd, sd) if count else np.zeros((0, 0))
    ends = [doubt.from_z(z) for z in (middle, low, high, np.full(count, -RANGE), np.full(count, RANGE))]
    fitted = []
    for k, name in enumerate(doubt.names):
        one = BY_NAME[name]
        value, bottom, top, first, last = (within(one, float(end[k])) for end in ends)
        before = float(doubt.centre[k])
        if sd[k] > A_LITTLE and abs(middle[k]) < STILL:
            value = before
        fitted.append(Fitted(one, value, bottom, top, before, first, last, float(sd[k])))
    spreads = tuple(
        float(np.exp(RANGE * s * d)) if way == "times" else float(RANGE * s * d)
        for s, d, way in zip(sd, doubt.sd, doubt.ways, strict=True)
    )
    return tuple(fitted), correlation, spreads


def positions_of(found: Posterior) -> dict[str, Position]:
    """Where the actuator stood at each depth setting."""
    unknowns = found.maximum.likelihood.model.unknowns
    first = unknowns.size - len(unknowns.held)
    sd = np.sqrt(np.diag(found.covariance))[first:] * RANGE
    lengths = unknowns.lengths(found.x)
    if found.draws is not None:
        drawn = unknowns.lengths(found.draws)
        low, high = np.quantile(drawn, [0.025, 0.975], axis=0)
        lengths = drawn.mean(axis=0)
    else:
        low, high = lengths - sd * 1e-3, lengths + sd * 1e-3
    return {name: Position(float(lengths[k]), float(low[k]), float(high[k])) for k, name in enumerate(unknowns.held)}


def cone_of(found: Posterior) -> tuple[float, float, float] | None:
    """Strength over cone index, with the ends of its 95 %."""
    unknowns = found.maximum.likelihood.model.unknowns
    if not unknowns.cone:
        return None
    at = unknowns.values
    sd = float(np.sqrt(found.covariance[at, at]))
    ends = []
    for way in (0.0, -RANGE, RANGE):
        x = found.x.copy()
        x[at] += way * sd
        ends.append(unknowns.cone_factor(x))
    return ends[0], ends[1], ends[2]
