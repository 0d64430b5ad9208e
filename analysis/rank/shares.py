"""Shares of a measure's variance, first-order and total, with bootstrap intervals: a function asked block by block.

First-order by Saltelli et al. 2010, total by Jansen 1999 (both from memory): the estimators of `scipy.stats`'
`sobol_indices`, and the same numbers as its where nothing is missing. That one takes whole powers of two alone, so a
set that cannot be crossed, or a job that is stopped, would leave it nothing; and it knows no groups.
"""

from __future__ import annotations

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
PART = 16  # points of a block that go together in screening

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
    done: dict[int, Values] = {}

    def job(number: int) -> None:
        done[number] = function(blocks[number].points)

    try:
        run_all(job, range(n), workers, progress)
    except KeyboardInterrupt as stopped:
        kept = sorted(done)
        found = _estimated(blocks, done, kept, changes, n, seed) if len(kept) >= FEWEST else None
        raise Stop(found, len(kept), n) from stopped
    return _estimated(blocks, done, range(n), changes, n, seed)


def _estimated(
    blocks: Sequence[Block], done: dict[int, Values], kept: Sequence[int], changes: Sequence[Columns], n: int, seed: int
) -> Shares:
    f = np.array([done[number] for number in kept])  # (blocks, 2 + changes, s)
    whole = np.isfinite(f[:, :2]).all(axis=(1, 2))
    missing = (~np.isfinite(f[:, 2:]).all(axis=2)).sum(axis=0)
    f, used = f[whole], [blocks[number].points for number, good in zip(kept, whole, strict=True) if good]
    singles = [columns[0] if len(columns) == 1 else -1 for columns in changes]
    steps = np.array([[points[2 + j, c] - points[0, c] if c >= 0 else np.nan for j, c in enumerate(singles)]
                      for points in used]).reshape(len(f), len(changes))  # fmt: skip
    rng = np.random.default_rng([seed, RESAMPLED])
    again = rng.integers(0, max(len(f), 1), (RESAMPLED, len(f)))
    here = _indices(f, steps, np.arange(len(f))[None, :])
    spread = _indices(f, steps, again)
    first, total, effect = (_interval(here[i][0], spread[i]) for i in range(3))
    both = f[:, :2].reshape(-1, f.shape[2])
    mean, sd = (both.mean(axis=0), both.std(axis=0)) if len(both) else (np.full(f.shape[2], np.nan),) * 2
    return Shares(first, total, effect, sd, mean, n, len(f), missing)


def _interval(value: Values, spread: Values) -> Interval:
    low, high = np.nanpercentile(spread, (LOW, HIGH), axis=0)
    return Interval(value, low, high)


def _indices(f: Values, steps: Values, rows: NDArray[np.int64]) -> tuple[Values, Values, Values]:
    """First-order, total and effect of resamples `rows` (r, blocks) → (r, changes, s) each; 0 where nothing varies."""
    a, b, ab = f[:, 0], f[:, 1], f[:, 2:]
    pairs = np.stack([a, b])
    centre, size = pairs.mean(axis=(0, 1)), _safe(np.ptp(pairs, axis=(0, 1)))
    a, b, ab = (a - centre) / size, (b - centre) / size, (ab - centre) / size  # of order one, whatever the measure
    change = ab - a[:, None]
    there = np.isfinite(change)
    count = np.maximum(_summed(there.astype(float), rows), 1.0)
    change = np.where(there, change, 0.0)
    mean = (_summed(a, rows) + _summed(b, rows)) / (2.0 * rows.shape[1])
    square = (_summed(a * a, rows) + _summed(b * b, rows)) / (2.0 * rows.shape[1])
    variance = _safe(np.maximum(square - mean**2, 0.0))[:, None]
    covered = _summed(b[:, None] * change, rows) - mean[:, None] * _summed(change, rows)
    total = 0.5 * _summed(change**2, rows) / count / variance
    first = covered / count / variance
    with np.errstate(invalid="ignore", divide="ignore"):
        moved = np.where(there, steps[:, :, None], 0.0)
        effect = _summed(moved * change, rows) / _summed(moved**2, rows) * size
    return first, total, effect


def _summed(values: Values, rows: NDArray[np.int64]) -> Values:
    """Sums of values (blocks, …) over each resample, by how often each block is in it: (r, …)."""
    often = np.apply_along_axis(np.bincount, 1, rows, minlength=len(values)).astype(float)
    return np.asarray(np.tensordot(often, values, axes=1))


def _safe(values: Values) -> Values:
    """The same with 1 in place of 0: what is divided is 0 there too."""
    return np.where(values > 0.0, values, 1.0)


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
