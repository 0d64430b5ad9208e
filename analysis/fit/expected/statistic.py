"""What stands for a group of readings in the likelihood, each with its prediction and its variance.

A `Statistic` is one number made from readings, on a scale on which it is nearly normal with a variance that hardly
depends on what is fitted: a mean depth as it is, loads, pulls, strengths and standard deviations in their logarithm,
shares as the arcsine of their root. `variance` holds what the readings themselves are wrong by and that they are few;
what the prediction is wrong by, made as it is on a few grounds, comes from `by_ground` (`analysis.fit.likelihood`).
"""

from __future__ import annotations

import math
from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.fit.expected.view import View
from analysis.fit.reading.groups import Group

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Statistic(ABC):
    """One number made from a group of readings."""

    group: Group

    part = "mean"
    """What of the readings it is: mean, scatter or length."""

    @property
    @abstractmethod
    def observed(self) -> float:
        """The number, on its own scale."""

    @abstractmethod
    def predict(self, view: View) -> float:
        """What is expected of it under a trial."""

    @abstractmethod
    def variance(self, view: View) -> float:
        """Of the number about what is expected, were the prediction exact."""

    def by_ground(self, view: View) -> Floats | None:
        """How the grounds of the prediction differ in it, (grounds,); None: it takes no ground."""
        return None

    def edge(self, value: float) -> float:
        """A value of its scale in the unit of the file."""
        return value / self.group.kind.factor


class Logarithmic(Statistic):
    """A statistic whose scale is the logarithm of its SI value."""

    def edge(self, value: float) -> float:
        """A value of its scale in the unit of the file."""
        return math.exp(value) / self.group.kind.factor


def reading_error(group: Group, mean: float) -> float:
    """Standard deviation of one reading that its kind is assumed to have [SI]."""
    return math.hypot(group.kind.error, group.kind.share * mean)


def mean_error(group: Group) -> float:
    """Standard deviation of a group's mean by its readings' errors, as a share: their own scatter where it is known."""
    floor = group.kind.share
    if group.freedom < 1:
        return floor / math.sqrt(group.n)
    own = math.sqrt(group.variance / group.n) / group.mean
    return max(own, floor / math.sqrt(group.n))


def about(values: Floats) -> Floats:
    """Values less their mean."""
    return np.asarray(values - values.mean())
