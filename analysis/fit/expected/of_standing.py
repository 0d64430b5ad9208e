"""Readings made standing: a wheel on a scale, and a penetrometer pushed along the row.

Scale: n weighings, each after the unit was lifted and lowered, so that seal friction holds each anywhere between its
two ends; it counts as an error of 1/√3 of its size. How high the unit stands on its wheel is the depth setting's: the
press wheel's load hangs on it, so one that was not said is an error too. Penetrometer: n pushes of cone index =
strength/cone factor, the strength log-normal enough about its mean with the file's variation, correlated as
exp(−Δx/ℓ), each push wrong by a few per cent. Where the pushes have their places, neighbours tell the correlation
length ℓ: with D the mean of half their squared differences and S² the sample variance, log(D/S²) is expected at
log(E[D]/E[S²]); both are quadratic forms xᵀAx of normal numbers, with E = tr(AΣ) and covariances 2 tr(AΣBΣ).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from analysis.fit.expected.scatter import Spread, log_sd, log_sd_variance, spread
from analysis.fit.expected.statistic import Logarithmic, mean_error
from analysis.fit.expected.view import View, Weighed
from analysis.fit.reading.groups import Group
from analysis.fit.unknowns import Trial
from sim.standing import seal_hold, standing

Floats = NDArray[np.float64]

UNSAID = math.radians(2.0)  # standard deviation of the crank at a depth setting that was not said: some 8 mm of depth


class Scale(Logarithmic):
    """Logarithm of the weight under a wheel."""

    @property
    def observed(self) -> float:
        """log [N]"""
        return math.log(self.group.mean)

    @property
    def weighed(self) -> Weighed:
        """What stood on the scale."""
        return Weighed(self.group.where, self.group.oil_pressure, self.group.held)

    def predict(self, view: View) -> float:
        """log [N]"""
        return math.log(max(view.loads[self.weighed][0], 1.0))

    def variance(self, view: View) -> float:
        """Of the logarithm."""
        hold = seal_hold(view.trial.scenario.unit, self.group.oil_pressure) if self.group.where == "gauge" else 0.0
        unsure = view.loads[self.weighed][1] / self.group.mean
        return mean_error(self.group) ** 2 + (hold / self.group.mean) ** 2 / 3.0 / self.group.n + unsure**2


def scale_load(trial: Trial, weighed: Weighed) -> tuple[float, float]:
    """What a scale bears, and its standard deviation by a depth setting that was not said or not crossed [N].

    Raises SimulationError.
    """
    crank = trial.cranks.get(weighed.held)
    if crank is not None:
        return _load(trial, weighed, crank), 0.0
    here = trial.standing_crank
    ends = [_load(trial, weighed, here + way) for way in (-UNSAID, UNSAID)]
    return _load(trial, weighed, here), 0.5 * abs(ends[1] - ends[0])


def _load(trial: Trial, weighed: Weighed, crank: float) -> float:
    scenario = trial.scenario
    found = standing(scenario.unit, scenario.soil, scenario.settings, crank, weighed.oil_pressure)
    return found.press if weighed.wheel == "press" else found.gauge


class OfCone(Logarithmic):
    """What mean, scatter and length of cone readings share."""

    def joint(self, view: View) -> Floats | None:
        """Covariance of the pushes over their squared mean, (n, n); None where none goes with another."""
        places = self.group.places
        if places is None or places.size < 2:
            return None
        variation = view.trial.scenario.variation
        apart = np.abs(places[:, None] - places[None, :])
        own = self.group.kind.share**2 * np.eye(places.size)
        return variation.variation_cv**2 * np.exp(-apart / variation.correlation_length) + own

    def single(self, view: View) -> float:
        """Variance of one push over the squared mean."""
        return view.trial.scenario.variation.variation_cv**2 + self.group.kind.share**2


class MeanCone(OfCone):
    """Logarithm of the mean cone index."""

    @property
    def observed(self) -> float:
        """log [Pa]"""
        return math.log(self.group.mean)

    def predict(self, view: View) -> float:
        """log [Pa]"""
        return math.log(view.trial.scenario.soil.strength / view.trial.cone_factor)

    def variance(self, view: View) -> float:
        """Of the logarithm."""
        joint = self.joint(view)
        return self.single(view) / self.group.n if joint is None else float(joint.mean())


class ScatterOfCone(OfCone):
    """Logarithm of the standard deviation of cone index over its mean."""

    part = "scatter"

    @property
    def observed(self) -> float:
        """log [1]"""
        return 0.5 * math.log(max(self.group.variance, 1.0)) - math.log(self.group.mean)

    def _spread(self, view: View) -> Spread:
        joint = self.joint(view)
        return Spread(1.0, float(self.group.freedom)) if joint is None else spread(joint)

    def predict(self, view: View) -> float:
        """log [1]"""
        found = self._spread(view)
        return log_sd(self.single(view) * found.share, found.freedom)

    def variance(self, view: View) -> float:
        """Of the logarithm."""
        return log_sd_variance(self._spread(view).freedom) + self.single(view) / self.group.n

    def edge(self, value: float) -> float:
        """As a share of the mean."""
        return math.exp(value)


class LengthOfCone(OfCone):
    """Logarithm of half the mean squared difference of neighbours over the sample variance."""

    part = "length"

    @property
    def observed(self) -> float:
        """log [1]"""
        x = self._sorted(self.group.values)
        return math.log(max(float(x @ _neighbours(x.size) @ x), 1.0) / max(float(x @ _centred(x.size) @ x), 1.0))

    def _sorted(self, values: Floats) -> Floats:
        assert self.group.places is not None
        return np.asarray(values[np.argsort(self.group.places)])

    def _forms(self, view: View) -> tuple[Floats, Floats]:
        """AΣ of both quadratic forms."""
        joint = self.joint(view)
        assert joint is not None and self.group.places is not None  # noqa: PT018
        order = np.argsort(self.group.places)
        joint = joint[np.ix_(order, order)]
        return _neighbours(len(joint)) @ joint, _centred(len(joint)) @ joint

    def predict(self, view: View) -> float:
        """log [1]"""
        near, whole = self._forms(view)
        return math.log(float(np.trace(near)) / float(np.trace(whole)))

    def variance(self, view: View) -> float:
        """Of the logarithm."""
        near, whole = self._forms(view)
        a, b = float(np.trace(near)), float(np.trace(whole))
        of_a, of_b, both = (2.0 * float(np.sum(p * q.T)) for p, q in ((near, near), (whole, whole), (near, whole)))
        return max(of_a / a**2 + of_b / b**2 - 2.0 * both / (a * b), 1e-4)

    def edge(self, value: float) -> float:
        """A plain number."""
        return math.exp(value)


def _centred(n: int) -> Floats:
    return (np.eye(n) - 1.0 / n) / (n - 1)


def _neighbours(n: int) -> Floats:
    steps = np.eye(n)[1:] - np.eye(n)[:-1]
    return np.asarray(steps.T @ steps) / (2.0 * (n - 1))


def cone_parts(group: Group) -> Sequence[Logarithmic]:
    """What stands for the pushes of a penetrometer."""
    parts: list[Logarithmic] = [MeanCone(group)]
    if group.freedom >= 2:
        parts.append(ScatterOfCone(group))
    if group.places is not None and group.places.size >= 6 and np.unique(group.places).size > 1:
        parts.append(LengthOfCone(group))
    return parts
