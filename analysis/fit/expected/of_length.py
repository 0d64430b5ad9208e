"""Readings over a measured length of row: share with the wheel off, gauge load and its scatter, pull.

A mean over ℓ metres varies between stretches by s²/ℓ, s² the variance that the grounds of the prediction show times
their length (stretches are long against what the row remembers). A share p with s² behaves as one of ℓ/c independent
trials, c = s²/(p (1 − p)): its arcsine has variance 1/(4 ℓ/c + 2) (Anscombe 1948) whatever p is, at none too.
"""

from __future__ import annotations

import math
from abc import abstractmethod

import numpy as np
from numpy.typing import NDArray

from analysis.fit.expected.crossed import Crossed
from analysis.fit.expected.statistic import Logarithmic, Statistic, about, reading_error
from analysis.fit.expected.view import View

TRIAL, SHORTEST, LONGEST = 0.5, 0.1, 10.0  # metres of row that count as one trial: usual, at least, at most
SEEN = 0.002  # share from which the grounds tell of it
LEAST = 1e-4  # of the variance of a logarithm over 1 m

Floats = NDArray[np.float64]


class OfLength(Statistic):
    """What they share."""

    def made(self, view: View) -> Crossed:
        """The crossings of its cell."""
        assert self.group.cell is not None
        return view.crossed[self.group.cell]

    @property
    def length(self) -> float:
        """Measured [m]."""
        return self.group.readings[0].length


class WheelOff(OfLength):
    """Arcsine of the root of the share of the way without load on the gauge wheel."""

    @property
    def observed(self) -> float:
        """[rad]"""
        return _arc(self.group.mean, self.length / TRIAL)

    def _trials(self, view: View) -> float:
        off = self.made(view).off
        p = float(off.mean())
        if p < SEEN or off.size < 2:
            return self.length / TRIAL
        metres = view.per_metre(off, 0.0) / (p * (1.0 - p))
        return self.length / min(max(metres, SHORTEST), LONGEST)

    def predict(self, view: View) -> float:
        """[rad]"""
        return _arc(float(self.made(view).off.mean()), self.length / TRIAL)

    def variance(self, view: View) -> float:
        """[rad²]"""
        p = float(self.made(view).off.mean())
        slope = _slope(p, self.length / TRIAL)
        return 1.0 / (4.0 * self._trials(view) + 2.0) + (slope * reading_error(self.group, p)) ** 2

    def by_ground(self, view: View) -> Floats | None:
        """[rad]"""
        off = self.made(view).off
        return _slope(float(off.mean()), self.length / TRIAL) * about(off)

    def edge(self, value: float) -> float:
        """Share."""
        n = self.length / TRIAL
        return min(max((math.sin(min(max(value, 0.0), 0.5 * math.pi)) ** 2 * (n + 0.75) - 0.375) / n, 0.0), 1.0)


def _arc(p: float, n: float) -> float:
    return math.asin(math.sqrt((p * n + 0.375) / (n + 0.75)))


def _slope(p: float, n: float) -> float:
    share = (p * n + 0.375) / (n + 0.75)
    return n / (n + 0.75) / (2.0 * math.sqrt(share * (1.0 - share)))


class LogarithmicOfLength(OfLength, Logarithmic):
    """Those whose scale is the logarithm of the mean of their readings."""

    @property
    def observed(self) -> float:
        """Logarithm of the SI value."""
        return math.log(self.group.mean)


class MeanForce(LogarithmicOfLength):
    """Logarithm of the mean of a force along the way."""

    @abstractmethod
    def force(self, made: Crossed) -> Floats:
        """Its mean on every ground, (grounds,) [N]."""

    def predict(self, view: View) -> float:
        """log [N]"""
        return math.log(max(float(self.force(self.made(view)).mean()), 1.0))

    def variance(self, view: View) -> float:
        """Of the logarithm."""
        force = self.force(self.made(view))
        return view.per_metre(force / max(force.mean(), 1.0), LEAST) / self.length + self.group.kind.share**2

    def by_ground(self, view: View) -> Floats | None:
        """Of the logarithm."""
        force = self.force(self.made(view))
        return about(force) / max(force.mean(), 1.0)


class MeanLoad(MeanForce):
    """Logarithm of the mean gauge load."""

    def force(self, made: Crossed) -> Floats:
        """[N]"""
        return made.load


class ScatterOfLoad(LogarithmicOfLength):
    """Logarithm of the gauge load's standard deviation over its mean."""

    part = "scatter"

    def _each(self, view: View) -> Floats:
        made = self.made(view)
        return 0.5 * np.log(np.maximum(made.load_variance, 1.0)) - np.log(np.maximum(made.load, 1.0))

    def predict(self, view: View) -> float:
        """log [1]"""
        made = self.made(view)
        variance, mean = float(made.load_variance.mean() + np.var(made.load)), max(float(made.load.mean()), 1.0)
        return 0.5 * math.log(max(variance, 1.0)) - math.log(mean)

    def variance(self, view: View) -> float:
        """Of the logarithm."""
        return view.per_metre(self._each(view), LEAST) / self.length + self.group.kind.share**2

    def by_ground(self, view: View) -> Floats | None:
        """Of the logarithm."""
        return about(self._each(view))


class Pull(MeanForce):
    """Logarithm of the mean pull of the row."""

    def force(self, made: Crossed) -> Floats:
        """[N]"""
        return made.draught
