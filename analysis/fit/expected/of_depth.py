"""Digs: mean and scatter of the depth of a slot.

A group has n digs d_i = depth(x_i) + e_i at places x_i of one pass, e_i independent with standard deviation σ_e (the
file's dig_error over 1.96). The depth has variance σ² and correlation r(Δx) along the way
(`analysis.fit.expected.texture`); digs without places count as far apart. So Σ = σ² R + σ_e² I, mean d̄ has variance
1ᵀΣ1/n², and the standard deviation S is as `analysis.fit.expected.scatter` says, with the degrees of freedom less for
heavy tails of the depth.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from analysis.fit.expected.scatter import Spread, heavier, log_sd, log_sd_variance, spread
from analysis.fit.expected.statistic import Statistic, about
from analysis.fit.expected.view import View
from scenarios.doubt.belief import RANGE

LEAST = 0.3e-3  # scatter that rounding alone gives [m]

Floats = NDArray[np.float64]


class OfDepth(Statistic):
    """What mean and scatter share."""

    def depth_variance(self, view: View) -> float:
        """Of the depth at a place taken at random [m²]."""
        assert self.group.cell is not None
        made = view.crossed[self.group.cell]
        return float(np.mean(made.depth_variance) + np.var(made.depth))

    def error_variance(self, view: View) -> float:
        """Of one dig as it is read [m²]."""
        return (view.trial.scenario.prior.dig_error / RANGE) ** 2

    def together(self, view: View) -> Floats | None:
        """Covariance of the digs, (n, n) [m²]; None where none goes with another."""
        places = self.group.places
        if places is None or places.size < 2:
            return None
        assert self.group.cell is not None
        joint = view.textures[self.group.cell].between(places)
        return self.depth_variance(view) * joint + self.error_variance(view) * np.eye(places.size)


class MeanDepth(OfDepth):
    """Mean of the digs of a group [m]."""

    @property
    def observed(self) -> float:
        """[m]"""
        return self.group.mean

    def predict(self, view: View) -> float:
        """[m]"""
        assert self.group.cell is not None
        return float(np.mean(view.crossed[self.group.cell].depth))

    def variance(self, view: View) -> float:
        """[m²]"""
        joint = self.together(view)
        if joint is not None:
            return float(joint.mean())
        return (self.depth_variance(view) + self.error_variance(view)) / self.group.n

    def by_ground(self, view: View) -> Floats | None:
        """[m]"""
        assert self.group.cell is not None
        return about(view.crossed[self.group.cell].depth)


class ScatterOfDepth(OfDepth):
    """Logarithm of the standard deviation of the digs of a group."""

    part = "scatter"

    @property
    def observed(self) -> float:
        """log [m]"""
        return 0.5 * math.log(max(self.group.variance, LEAST**2))

    def _spread(self, view: View) -> Spread:
        joint = self.together(view)
        return Spread(1.0, float(self.group.freedom)) if joint is None else spread(joint)

    def _freedom(self, view: View) -> float:
        assert self.group.cell is not None
        depth, error = self.depth_variance(view), self.error_variance(view)
        share = depth / (depth + error)
        kurtosis = view.textures[self.group.cell].kurtosis * share**2
        return heavier(self._spread(view).freedom, self.group.freedom + 1, kurtosis)

    def predict(self, view: View) -> float:
        """log [m]"""
        variance = (self.depth_variance(view) + self.error_variance(view)) * self._spread(view).share
        return log_sd(variance, self._freedom(view))

    def variance(self, view: View) -> float:
        """Of the logarithm."""
        return log_sd_variance(self._freedom(view))

    def by_ground(self, view: View) -> Floats | None:
        """Of the logarithm."""
        assert self.group.cell is not None
        made = view.crossed[self.group.cell]
        of_each = made.depth_variance + about(made.depth) ** 2
        return 0.5 * about(of_each) / (self.depth_variance(view) + self.error_variance(view))

    def edge(self, value: float) -> float:
        """[mm]"""
        return math.exp(value) / self.group.kind.factor
