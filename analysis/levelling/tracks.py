"""Rows behind wheel tracks: do they, as a group, lie deeper or shallower than the others?

Two questions, two yardsticks. *How far* a group lies off the others on this machine is a contrast of row means, with
an interval from the spread of digs within rows. *Whether that is more than rows differ anyway* is a two-sample t test
with the rows as units, R − 2 degrees of freedom: its spread holds digs and settings alike.

Where the tracks are not given, groups are tried that wheels can leave: two tracks mirrored about the machine's middle,
each one or two rows wide, at least one row apart. The p-value of the best one times the number tried (Bonferroni's
bound) has to stay below 0.05. So that one row far off does not pass for tracks, each row of the group has to lie on
the group's side of the others' mean, by a third of the group's difference at least, and the group has to differ
(p < 0.05, by itself) without its farthest row too. Tracks that are not mirrored, or wider, have to be given.
(Student's t test and Bonferroni's bound: common practice.)
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from analysis.levelling.digs import Digs
from analysis.levelling.spread import Spread, quantile

LEAST_ROWS = 6  # rows below which nothing is searched for
CHANCE = 0.05


@dataclass(frozen=True)
class Tracks:
    """Rows of a group against all others [m], deeper positive."""

    rows: tuple[int, ...]
    given: bool  # named by the user; else searched for
    tried: int  # groups tried
    difference: float
    half: float  # half the 95 % interval, from the digs' spread within rows
    p: float  # chance of as large a difference between rows as they scatter, after Bonferroni; nan: not to be told

    @property
    def found(self) -> bool:
        """Whether the group stands out from the scatter of the rows."""
        return self.p < CHANCE


def contrast(digs: Digs, spread: Spread, rows: tuple[int, ...]) -> tuple[float, float]:
    """Mean of a group's row means less that of the others, and half its 95 % interval [m]."""
    inside = np.isin(digs.rows, rows)
    counts = digs.counts.astype(float)
    variance = sum(float(np.sum(1.0 / counts[part])) / int(np.sum(part)) ** 2 for part in (inside, ~inside))
    difference = float(np.mean(digs.means[inside]) - np.mean(digs.means[~inside]))
    return difference, quantile(spread.freedom) * spread.sd * math.sqrt(variance)


def chance(digs: Digs, rows: tuple[int, ...]) -> float:
    """p-value of the two-sample t test of row means, two-sided; nan with fewer than four rows or no scatter."""
    from scipy.special import stdtr  # noqa: PLC0415 (slow to import, and not needed for --version)

    inside = np.isin(digs.rows, rows)
    groups = [digs.means[inside], digs.means[~inside]]
    freedom = len(digs.rows) - 2
    squares = sum(float(np.sum((group - group.mean()) ** 2)) for group in groups)
    if freedom < 2 or squares <= 0.0:
        return math.nan
    error = math.sqrt(squares / freedom * sum(1.0 / group.size for group in groups))
    return 2.0 * float(stdtr(freedom, -abs(float(groups[0].mean() - groups[1].mean())) / error))


def mirrored(last: int) -> Iterator[tuple[int, ...]]:
    """Groups that two tracks can leave on rows 1 … last: one or two rows wide, mirrored, at least a row apart."""
    for width in (1, 2):
        for first in range(1, last):
            left = range(first, first + width)
            right = [last + 1 - n for n in left]
            if min(right) - max(left) >= 2:
                yield (*left, *sorted(right))


def _together(digs: Digs, rows: tuple[int, ...]) -> bool:
    """Whether all rows of a group share its difference: see above."""
    inside = np.isin(digs.rows, rows)
    off = digs.means[inside] - float(np.mean(digs.means[~inside]))
    if not np.all(off * np.mean(off) >= np.mean(off) ** 2 / 3.0):
        return False
    farthest = rows[int(np.argmax(np.abs(off)))]
    kept = np.array([row != farthest for row in digs.rows])
    depths = tuple(depth for depth, keep in zip(digs.depths, kept, strict=True) if keep)
    without = replace(digs, rows=tuple(row for row in digs.rows if row != farthest), depths=depths)
    return chance(without, tuple(row for row in rows if row != farthest)) < CHANCE


def given_tracks(digs: Digs, spread: Spread, rows: tuple[int, ...]) -> Tracks:
    """The group that the user named; it has to leave at least one row outside."""
    difference, half = contrast(digs, spread, rows)
    return Tracks(rows, True, 1, difference, half, chance(digs, rows))


def searched_tracks(digs: Digs, spread: Spread) -> Tracks | None:
    """The mirrored group that stands out most; `found` tells whether it does so beyond chance. None: none to try."""
    if len(digs.rows) < LEAST_ROWS or digs.undug:
        return None
    groups = list(mirrored(digs.rows[-1]))
    fitting = [rows for rows in groups if _together(digs, rows)]
    if not fitting:
        return Tracks((), False, len(groups), 0.0, 0.0, 1.0)
    best = min(fitting, key=lambda rows: (chance(digs, rows), rows))
    difference, half = contrast(digs, spread, best)
    p = chance(digs, best)
    return Tracks(best, False, len(groups), difference, half, min(1.0, p * len(groups)))
