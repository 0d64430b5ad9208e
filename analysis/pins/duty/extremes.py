"""How often on a hectare a pin's load passes a limit: peaks over a threshold, carried on by an extreme-value law.

Of the peaks of all strikes the largest, those over a threshold u, are followed by a generalised Pareto distribution,
the limit law of excesses (Pickands 1975; Coles, An Introduction to Statistical Modeling of Extreme Values, 2001, §4;
both from memory), fitted by maximum likelihood with `scipy.stats.genpareto`:

    share of stones that pass x > u:  p(x) = ζ·(1 + ξ (x − u)/σ)^(−1/ξ),  ζ = share of stones that pass u
    expected on a hectare = stones under the rows of a hectare × p,  chance of one or more = 1 − exp(−expected)

A stone that gives way bears so much and no more, so tails that end (ξ < 0) are the rule here. The interval is that of
the profile likelihood of p, the count over u in it as a binomial one. Below the threshold stones are counted, with the
exact binomial interval. With too few strikes (fewer than twice `LEAST`), or where the largest peaks follow no such law,
nothing is fitted: stones are counted whatever the limit, and that is said.

What the interval leaves out: the model itself, stones larger or harder than the file tells, and the contact's
stiffness, which nobody knows well: from 0.3 to 1.2 MN/m it changes the answer more than all else
(`settings.with_stiffness`, `analysis.stones.strike.STIFFNESSES`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.stats import beta, genpareto, kstest

from analysis.pins.duty.strikes import Strikes
from analysis.stones.per_hectare import shapes_of
from scenarios.ground.stone_field import HECTARE
from scenarios.scenario import Scenario

LEAST = 30  # peaks over the threshold: fewer are not fitted
SHARE = 0.25  # of the strikes that lie over the threshold, where there are enough
LEVEL = 0.95  # of the intervals
SHAPE = (-0.98, 1.0)  # shapes ξ that are tried; from −1 down the likelihood has no largest value
ALIKE = "all peaks are alike"
UNLIKELY = 0.01  # a fit that a test of Kolmogorov and Smirnov gives less than this does not follow the peaks
_DROP = 1.9207  # half the 95 % quantile of chi-square with one degree of freedom
_SHAPES = np.linspace(*SHAPE, 198)  # none of them 0
_SHARES = np.geomspace(1e-9, 0.999, 400)  # of the peaks over the threshold that pass a limit
_PASSING = np.geomspace(1e-9, 1.0, 500)  # of all stones


@dataclass(frozen=True)
class Tail:
    """Generalised Pareto distribution of the peaks over a threshold."""

    threshold: float  # u [N]
    excesses: NDArray[np.float64]  # peaks over it, less it [N]
    stones: int  # behind them, those that pass nothing among them
    shape: float  # ξ [1]
    scale: float  # σ [N]
    follows: bool  # the peaks may come from it (Kolmogorov–Smirnov, at 1 %: mild, since it was fitted to them)

    @property
    def end(self) -> float:
        """Load that is never passed [N]; infinite where the tail has no end."""
        return self.threshold - self.scale / self.shape if self.shape < 0.0 else math.inf


@dataclass(frozen=True)
class Passing:
    """How often a pin's load passes a limit."""

    pin: str
    limit: float  # [N]
    strikes: int  # looked at
    passed: int  # of them over the limit
    stones_per_hectare: float  # under all rows, from the file's statistics
    stiffness: float  # of the contact with a stone [N/m]
    expected: float = math.nan  # on a hectare that the machine seeds, over all its rows
    low: float = math.nan  # ends of its 95 % interval
    high: float = math.nan
    tail: Tail | None = None  # behind the figures; None: counted
    note: str = ""  # why a limit above the threshold was counted, not followed beyond what was seen
    reason: str = ""  # why there are no figures

    @property
    def chance(self) -> tuple[float, float, float]:
        """Chance of one or more on a hectare, and the ends of its interval."""
        best, low, high = (-math.expm1(-n) for n in (self.expected, self.low, self.high))
        return best, low, high


def fit_tail(values: NDArray[np.float64], stones: int) -> Tail | None:
    """Fit the largest of some peaks (n,) [N] met on so many stones; None where there are too few to fit."""
    number = max(LEAST, round(SHARE * values.size))
    if values.size < 2 * LEAST or np.ptp(values) == 0.0:
        return None
    order = np.sort(values)
    threshold = float(order[-number - 1])
    excesses = order[-number:] - threshold
    shape, _, scale = genpareto.fit(excesses, 0.0, floc=0.0, scale=float(excesses.mean()))
    if not SHAPE[0] < shape < SHAPE[1]:
        shape = min(max(shape, SHAPE[0]), SHAPE[1])
        shape, _, scale = genpareto.fit(excesses, f0=shape, floc=0.0)
    follows = bool(kstest(excesses, genpareto(shape, 0.0, scale).cdf).pvalue >= UNLIKELY)
    return Tail(threshold, excesses, max(stones, values.size), float(shape), float(scale), follows)


def share_passing(tail: Tail, limit: float) -> tuple[float, float, float]:
    """Share of stones that pass a limit above the threshold [N], and the ends of its interval by profile likelihood."""
    beyond = limit - tail.threshold
    n, number = tail.stones, tail.excesses.size
    best = number / n * float(genpareto.sf(beyond, tail.shape, 0.0, tail.scale))
    likely = _likelihoods(tail.excesses, beyond)
    top = float(genpareto.logpdf(tail.excesses, tail.shape, 0.0, tail.scale).sum())
    over = np.linspace(1e-4, 1.0 - 1e-4, 400)  # shares ζ over the threshold
    counted = number * np.log(over) + (n - number) * np.log1p(-over)
    share = _PASSING[:, None] / over
    of_both = counted + np.where(
        share < 1.0, np.interp(np.log(share), np.log(_SHARES), likely, right=-math.inf), -math.inf
    )
    profile = of_both.max(axis=1)
    within = _PASSING[profile >= max(top + float(counted.max()), float(profile.max())) - _DROP]
    if not within.size:
        return best, 0.0, float(_PASSING[0])
    low = 0.0 if within[0] == _PASSING[0] else float(within[0])
    return best, min(low, best), max(float(within[-1]), best)


def _likelihoods(excesses: NDArray[np.float64], beyond: float) -> NDArray[np.float64]:
    """Largest log likelihood of excesses by the share of them that pass `beyond` [N], of the shape of _SHARES."""
    xi = _SHAPES[:, None]
    scale = xi * beyond / np.expm1(-xi * np.log(_SHARES))
    total = np.zeros(scale.shape)
    with np.errstate(invalid="ignore", divide="ignore"):
        for excess in excesses:
            inside = 1.0 + xi * excess / scale
            total += np.where(inside > 0.0, np.log(inside), math.inf)
        found = -excesses.size * np.log(scale) - (1.0 + 1.0 / xi) * total
    found[~np.isfinite(found)] = -math.inf
    return np.asarray(found.max(axis=0))


def _counted(passed: int, stones: int) -> tuple[float, float, float]:
    """Share of stones that passed, with its exact binomial interval (Clopper & Pearson 1934, from memory)."""
    tail = 0.5 * (1.0 - LEVEL)
    low = float(beta.ppf(tail, passed, stones - passed + 1)) if passed else 0.0
    high = float(beta.ppf(1.0 - tail, passed + 1, stones - passed)) if passed < stones else 1.0
    return passed / stones, low, high


def stones_per_hectare(scenario: Scenario) -> float:
    """Stones that all rows of the machine meet on a hectare, by the scenario's statistics; placed stones are none."""
    return sum(s.per_metre for s in shapes_of(scenario)) * HECTARE / scenario.machine.row_spacing


def passing(found: Strikes, pin: str, limit: float, many: float, stiffness: float) -> Passing:
    """How often a pin (or `strikes.MOST`) passes a limit [N] on a hectare, from strikes.

    many: stones under all rows on a hectare (`stones_per_hectare`); stiffness of the contact that was crossed [N/m].
    """
    values = found.of(pin)
    stones, passed = max(found.stones, values.size), int((values > limit).sum())
    told = Passing(pin, limit, values.size, passed, many, stiffness)
    if many == 0.0 or not values.size:
        return replace(told, reason="this file strews no stones" if many == 0.0 else "no stone was struck")
    tail = fit_tail(values, stones)
    note = ""
    if tail is None and passed < LEAST:
        few = f"{values.size} strikes are too few to tell more than their count ({2 * LEAST} are needed)"
        note = few if values.size < 2 * LEAST else ALIKE
    elif tail is not None and limit > tail.threshold and not tail.follows:
        note = "the largest peaks follow no law of extremes, so they are only counted"
    if note or tail is None or limit <= tail.threshold:
        shares, tail = _counted(passed, stones), None
    else:
        shares = share_passing(tail, limit)
    expected, low, high = (many * share for share in shares)
    return replace(told, expected=expected, low=low, high=high, tail=tail, note=note)
