"""Shares of a measure's variance, first-order and total, with bootstrap intervals: a function asked block by block.

First-order by Saltelli et al. 2010, total by Jansen 1999 (both from memory): the estimators of `scipy.stats`'
`sobol_indices`, and the same numbers as its (a test) where nothing is missing and nothing eased (`_Terms`). That one
takes whole powers of two alone, so a set that cannot be crossed, or a job that is stopped, would leave it nothing; and
it knows no groups.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.parallel import Progress, run_all
from analysis.rank.design import Block, Columns, Values, screen_blocks, share_blocks

RESAMPLED = 1000
LOW, HIGH = 2.5, 97.5  # [%]
FEWEST = 4  # first points below which nothing is said
FOLDS = 4  # parts of the blocks: what is used on one is fitted on the others
TINY = 1e-12  # share of its range squared that is no variance
PART = 14  # points of a block that are asked for in one go: few, that Ctrl-C is soon heard

Function = Callable[[Values], Values]  # points (m, k) of the unit cube → measures (m, s), NaN where there are none


class Interval(NamedTuple):
    """An estimate with its 95 % interval, arrays of one shape."""

    value: Values
    low: Values
    high: Values


@dataclass(frozen=True, eq=False)
class Shares:
    """Of each change (a column, or a group of columns) and measure, shape (changes, s).

    first: share of the variance that it explains by itself; total: with all its combinations; effect: what going from
    one end of its range (0) to the other (1) does in the mean, of single columns, NaN of groups; sd of each measure
    (s,); mean (s,); blocks asked for, and used; missing: points by change that gave nothing, (changes,).
    """

    first: Interval
    total: Interval
    effect: Interval
    sd: Values
    mean: Values
    asked: int
    blocks: int
    missing: NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Screened:
    """Effects of single columns from end to end of their ranges, (k, s): mean size (Morris' μ*), mean, scatter.

    most: the largest size met: 0 where a column moved nothing at all; missing (k,): effects that could not be had.
    """

    size: Values
    mean: Values
    scatter: Values
    most: Values
    missing: NDArray[np.int64]
    blocks: int


class Stop(Exception):
    """Asking was stopped; `found` holds what is known by then, None where that is too little."""

    def __init__(self, found: Shares | None, done: int, asked: int) -> None:
        super().__init__(f"{done} of {asked}")
        self.found, self.done, self.asked = found, done, asked


def shares(
    function: Function, k: int, n: int, groups: Sequence[Columns] = (), *, seed: int = 0,
    workers: int | None = None, progress: Progress | None = None,
) -> Shares:  # fmt: skip
    """Shares of variance of a function of k values, each uniform from 0 to 1, over n first points.

    groups: columns that are also changed together. workers: threads, None: one a core; the same numbers for any.
    Raises Stop on Ctrl-C, with what the finished points say.
    """
    changes: list[Columns] = [*((i,) for i in range(k)), *groups]
    blocks = share_blocks(k, n, changes, seed)
    points = 2 + len(changes)
    parts = [(number, at) for number in range(n) for at in range(0, points, PART)]
    done: dict[tuple[int, int], Values] = {}

    def job(part: tuple[int, int]) -> None:
        number, at = part
        done[part] = function(blocks[number].points[at : at + PART])

    def whole(number: int) -> Values:
        return np.concatenate([done[number, at] for at in range(0, points, PART)])

    try:
        run_all(job, parts, workers, progress)
    except KeyboardInterrupt as stopped:
        kept = [number for number in range(n) if all((number, at) in done for at in range(0, points, PART))]
        made = {number: whole(number) for number in kept}
        found = _estimated(blocks, made, kept, changes, n, seed) if len(kept) >= FEWEST else None
        raise Stop(found, len(kept), n) from stopped
    return _estimated(blocks, {number: whole(number) for number in range(n)}, range(n), changes, n, seed)


def _estimated(
    blocks: Sequence[Block], done: dict[int, Values], kept: Sequence[int], changes: Sequence[Columns], n: int, seed: int
) -> Shares:
    f = np.array([done[number] for number in kept])  # (blocks, 2 + changes, s)
    whole = np.isfinite(f[:, :2]).all(axis=(1, 2))
    missing = (~np.isfinite(f[:, 2:]).all(axis=2)).sum(axis=0)
    f, points = f[whole], np.array([blocks[number].points for number in kept])[whole]
    if len(f) < FEWEST:
        nothing = np.full((len(changes), f.shape[2]), np.nan)
        none = Interval(nothing, nothing, nothing)
        return Shares(none, none, none, nothing[0], nothing[0], n, len(f), missing)
    terms = _Terms(f, points, changes)
    again = np.random.default_rng([seed, RESAMPLED]).integers(0, len(f), (RESAMPLED, len(f)))
    here, spread = terms.indices(np.arange(len(f))[None, :]), terms.indices(again)
    first, total, effect = (_interval(here[i][0], spread[i]) for i in range(3))
    both = f[:, :2].reshape(-1, f.shape[2])
    return Shares(first, total, effect, both.std(axis=0), both.mean(axis=0), n, len(f), missing)


def _interval(value: Values, spread: Values) -> Interval:
    low, high = np.percentile(spread, (LOW, HIGH), axis=0)
    return Interval(value, low, high)


class _Terms:
    """What the estimators add up, block by block, so that a resample is a sum over other blocks.

    Where `eased`, the part of the function that is a sum of parabolas g in single columns is taken out and put back by
    its exact variances: a control variate, which changes no estimate in the mean and narrows its interval. g is fitted,
    column by column, to the differences that the column alone makes, on other blocks than those that it is used on.
    """

    def __init__(self, f: Values, points: Values, changes: Sequence[Columns], *, eased: bool = True) -> None:
        centre, size = f[:, :2].mean(axis=(0, 1)), np.ptp(f[:, :2], axis=(0, 1))
        self.size = np.where(size > 0.0, size, 1.0)
        f = (f - centre) / self.size  # of order one, whatever the measure
        self.there = np.isfinite(f[:, 2:] - f[:, :1]).astype(float)
        g, of_column = _parabolas(f, points, changes, eased)
        r = np.where(np.isfinite(f), f - g, 0.0)
        self.g, self.r = g[:, :2], r[:, :2]  # A and B
        self.dg, self.dr = (self.there * (part[:, 2:] - part[:, :1]) for part in (g, r))
        self.exact = np.stack([of_column[:, list(columns)].sum(axis=1) for columns in changes], axis=1)
        self.exact_sum = of_column.sum(axis=1)
        single = [columns[0] if len(columns) == 1 else -1 for columns in changes]
        steps = [points[:, 2 + j, c] - points[:, 0, c] if c >= 0 else np.zeros(len(f)) for j, c in enumerate(single)]
        self.steps = self.there * np.array(steps).T[:, :, None]
        self.alone = np.array(single)[:, None] >= 0

    def indices(self, rows: NDArray[np.int64]) -> tuple[Values, Values, Values]:
        """First-order, total and effect of resamples `rows` (r, blocks) → (r, changes, s) each; 0 where nothing varies;
        the effect NaN of groups.
        """
        often = np.array([np.bincount(row, minlength=len(self.g)) for row in rows], dtype=float)

        def mean(values: Values) -> Values:
            return np.asarray(np.tensordot(often, values, axes=1) / rows.shape[1])

        count = np.maximum(mean(self.there), 1e-9)
        level = mean(self.r.mean(axis=1))  # of what the parabolas leave
        crossed = mean((self.g * self.r).mean(axis=1)) - mean(self.g.mean(axis=1)) * level
        variance = mean(self.exact_sum) + 2.0 * crossed + mean((self.r**2).mean(axis=1)) - level**2
        variance = np.where(variance > TINY, variance, 1.0)[:, None]
        b, rb = (self.g[:, 1] + self.r[:, 1])[:, None], self.r[:, 1][:, None]
        covered = mean(b * self.dr + rb * self.dg) - level[:, None] * mean(self.dr + self.dg)
        first = mean(self.exact) + covered / count
        total = mean(self.exact) + mean(self.dg * self.dr + 0.5 * self.dr**2) / count
        moved = mean(self.steps * (self.dg + self.dr)) / np.maximum(mean(self.steps**2), 1e-12)
        effect = np.where(self.alone, moved, np.nan) * self.size
        return first / variance, total / variance, effect


def _parabolas(
    f: Values, points: Values, changes: Sequence[Columns], eased: bool
) -> tuple[Values, Values]:  # fmt: skip
    """Sums of parabolas at all points, (blocks, points, s), and the variance of each column's, (blocks, k, s)."""
    blocks, _, k = points.shape
    g, of_column = np.zeros(f.shape), np.zeros((blocks, k, f.shape[2]))
    if not eased or blocks < FOLDS * 4:
        return g, of_column
    fold = np.arange(blocks) % FOLDS
    for j, columns in enumerate(changes):
        if len(columns) > 1:
            continue
        shape = _legendre(points[:, :, columns[0]])  # (blocks, points, 2)
        x, y = shape[:, 2 + j] - shape[:, 0], f[:, 2 + j] - f[:, 0]
        good = np.isfinite(y).all(axis=1)
        for part in range(FOLDS):
            others, here = good & (fold != part), fold == part
            fitted = np.linalg.lstsq(x[others], y[others], rcond=None)[0]  # (2, s)
            g[here] += shape[here] @ fitted
            of_column[here, columns[0]] = (fitted**2).sum(axis=0)
    return g, of_column


def _legendre(u: Values) -> Values:
    """The two polynomials over 0 to 1 of mean 0, variance 1 and no covariance, (…, 2)."""
    t = 2.0 * u - 1.0
    return np.stack([math.sqrt(3.0) * t, math.sqrt(5.0) * 0.5 * (3.0 * t * t - 1.0)], axis=-1)


def screened(
    function: Function, k: int, n: int, *, seed: int = 0, workers: int | None = None,
    progress: Progress | None = None, part: int = PART,
) -> Screened:  # fmt: skip
    """Effects of single columns from n first points, `part` points a job. Raises Stop (without shares) on Ctrl-C."""
    blocks = screen_blocks(k, n, seed)
    parts = [(block, at) for block in blocks for at in range(0, 1 + k, part)]
    finished: list[None] = []

    def job(some: tuple[Block, int]) -> Values:
        made = function(some[0].points[some[1] : some[1] + part])
        finished.append(None)
        return made

    try:
        f = np.concatenate(run_all(job, parts, workers, progress)).reshape(n, 1 + k, -1)
    except KeyboardInterrupt as stopped:
        raise Stop(None, len(finished), len(parts)) from stopped
    columns = np.arange(k)
    steps = np.array([block.points[1 + columns, columns] - block.points[0] for block in blocks])
    effects = (f[:, 1:] - f[:, :1]) / steps[:, :, None]  # (blocks, k, s)
    there = np.isfinite(effects)
    count = np.maximum(there.sum(axis=0), 1)
    held = np.where(there, effects, 0.0)
    mean = held.sum(axis=0) / count
    scatter = np.sqrt(np.where(there, (effects - mean) ** 2, 0.0).sum(axis=0) / count)
    size, most = np.abs(held).sum(axis=0) / count, np.abs(held).max(axis=0)
    return Screened(size, mean, scatter, most, (~there.all(axis=2)).sum(axis=0), n)
