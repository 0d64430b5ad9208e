"""What is believed about the values in doubt of a scenario, and sets of values drawn from that.

Normal in the logarithm where a range is a factor (TIMES), normal in the value where it is an amount (PLUS). A range is
that of 95 %: 1.96 standard deviations to either side of the scenario's own value, the median.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scenarios.doubt.doubtful import BY_NAME, DOUBTFUL, TIMES, Doubtful
from scenarios.doubt.keys import amount_si, edge_of, key_of, value_at
from scenarios.doubt.varied import without_effect
from scenarios.ground.synthesis import DOUBT, stream

RANGE = 1.96  # standard deviations from the middle to an end of a range
TINY = 1e-9  # variance that is none

Values = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Belief:
    """n values in doubt: names as in `scenarios.doubt.doubtful`, in its order; those that are known are left out.

    centre: what the scenario says [SI], (n,); sd: standard deviation, of the logarithm (TIMES) or of the value [SI]
    (PLUS), (n,), all above zero; correlation of these, (n, n); measured: whether readings say so, else it is assumed.
    """

    names: tuple[str, ...]
    ways: tuple[str, ...]
    centre: Values
    sd: Values
    correlation: Values
    measured: tuple[bool, ...]

    @property
    def _times(self) -> NDArray[np.bool_]:
        return np.array([way == TIMES for way in self.ways], dtype=np.bool_)

    def to_z(self, values: Values) -> Values:
        """Values [SI], shape (…, n) → standard deviations from the centre."""
        given, times = np.asarray(values, dtype=np.float64), self._times
        ratio = np.where(times, given / np.where(times, self.centre, 1.0), 1.0)
        return np.asarray(np.where(times, np.log(ratio), given - self.centre) / self.sd)

    def from_z(self, z: Values) -> Values:
        """Standard deviations from the centre, shape (…, n) → values [SI]; 0 is the centre bit for bit."""
        away = np.asarray(z, dtype=np.float64) * self.sd
        return np.asarray(np.where(self._times, self.centre * np.exp(np.where(self._times, away, 0.0)),
                                   self.centre + away))  # fmt: skip


def belief(scenario: Any, without: Callable[[Any, Doubtful], str] = without_effect) -> Belief:
    """What a scenario's (or a paddock's) file says about its values in doubt: [uncertain] where it has one, else
    [prior].

    without: why a value cannot matter there, "" where it may.

    An [uncertain] that base files lend speaks for their tables alone: for the others, and for values that the file
    gives itself in place of theirs, [prior] holds. Values that cannot matter in the scenario are left out.
    """
    told = scenario.uncertain
    found: list[tuple[Doubtful, float, bool]] = []
    for one in DOUBTFUL:
        if without(scenario, one):
            continue
        key = key_of(one)
        if told is not None and key in told.keys:
            sd, measured = _sd(one, _spread(one, told.spread[told.keys.index(key)]), 1.0), True
        elif told is not None and one.table in told.tables and key not in told.given_up:
            continue
        else:
            sd, measured = _sd(one, scenario.prior.of(one), one.power), False
        if sd > 0.0:
            found.append((one, sd, measured))
    correlation = np.eye(len(found))
    if told is not None:
        at = [told.keys.index(key_of(one)) if measured else -1 for one, _, measured in found]
        for a, i in enumerate(at):
            for b, j in enumerate(at):
                if a != b and i >= 0 and j >= 0:
                    correlation[a, b] = told.matrix[i, j]
    return Belief(
        tuple(one.name for one, _, _ in found),
        tuple(one.way for one, _, _ in found),
        np.array([value_at(scenario, one.paths[0]) for one, _, _ in found]),
        np.array([sd for _, sd, _ in found]),
        correlation,
        tuple(measured for _, _, measured in found),
    )


def _spread(one: Doubtful, spread: float) -> float:
    """A spread of [uncertain] → a factor, or an amount [SI]."""
    return spread if one.way == TIMES else amount_si(spread, edge_of(one))


def _sd(one: Doubtful, spread: float, power: float) -> float:
    """Standard deviation of a value from the range (factor or amount [SI]) of its `power`."""
    return math.log(spread) / RANGE / power if one.way == TIMES else spread / RANGE


def draws(found: Belief, count: int, seed: int) -> Values:
    """Sets of values that stand for a belief, shape (count, n) [SI]; the same seed gives the same numbers.

    A Latin hypercube over all values of the table, whether they are in doubt here or not, so that a value that cannot
    matter changes no other; where there are more sets than values, each is moved within its strata until no two go
    together: of 32 sets in 23 values a chance of 0.8 is then known to ±0.04, by plain draws to ±0.07.
    """
    columns = [DOUBTFUL.index(BY_NAME[name]) for name in found.names]
    z = _standard(count, seed)[:, columns]
    return found.from_z(z @ _root(found.correlation).T)


def _standard(count: int, seed: int) -> Values:
    """Normal numbers, shape (count, values of the table), one in each of `count` equally likely strata of a value."""
    from scipy.special import ndtri  # noqa: PLC0415 (scipy only where sets are drawn)

    rng, n = stream(seed, DOUBT), len(DOUBTFUL)
    ranks = np.argsort(rng.random((count, n)), axis=0)
    within = rng.random((count, n))
    z = np.asarray(ndtri((ranks + within) / count))
    if count <= n + 1:
        return z
    centred = z - z.mean(axis=0)
    apart = np.linalg.solve(np.linalg.cholesky(np.cov(centred.T)), centred.T).T
    ranks = np.argsort(np.argsort(apart, axis=0), axis=0)
    return np.asarray(ndtri((ranks + within) / count))


def _root(correlation: Values) -> Values:
    """A lower triangle L with L Lᵀ = correlation, which may be singular: Cholesky, nothing where nothing is left."""
    n = len(correlation)
    root = np.zeros((n, n))
    for j in range(n):
        left = correlation[j, j] - root[j, :j] @ root[j, :j]
        if left <= TINY:
            continue
        root[j, j] = math.sqrt(left)
        root[j + 1 :, j] = (correlation[j + 1 :, j] - root[j + 1 :, :j] @ root[j, :j]) / root[j, j]
    return root
