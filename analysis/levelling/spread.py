"""What digs tell of rows: the spread within a row, each row's offset with its interval, and how many digs it takes.

Model: a dig in row i is μ_i + e, with e from one normal distribution of standard deviation σ in all rows. Then

    s² = Σ_i Σ_j (y_ij − ȳ_i)²/ν, ν = N − R     pooled variance within rows, N digs in R rows
    offset to a wanted depth D:  d_i = ȳ_i − D,            Var d_i = σ²/n_i
    offset to a mean of rows:    d_i = ȳ_i − Σ_k w_k ȳ_k,  Var d_i = σ² Σ_k (δ_ik − w_k)²/n_k
    interval: d_i ± t(ν; (1 + level)/2)·s·√(Var d_i/σ²)

with w_k = 1/R for the machine's mean, or 1/R′ for the R′ rows outside wheel tracks and 0 for the others.

(one-way analysis of variance, Student's t: common practice, derived from the model). Each interval holds for its
row by itself: of many rows, one in twenty lies outside its 95 % interval.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.levelling.digs import Digs

CONFIDENCE = 0.95  # two-sided
POWER = 0.80
MOST_DIGS = 1000  # in a row, where a search for a number of digs gives up


@dataclass(frozen=True)
class Spread:
    """Pooled standard deviation within rows [m] and its degrees of freedom."""

    sd: float
    freedom: int


@dataclass(frozen=True, eq=False)
class Offsets:
    """Each row's depth less the target [m] with the ends of its interval, shape (rows,)."""

    target: float
    mean_of: tuple[int, ...]  # the target is the mean of these rows' means; none: it was given
    worst: float  # largest variance of an offset over that of one row's mean, with as many digs in every row
    value: NDArray[np.float64]
    half: NDArray[np.float64]  # half the width of the interval

    @property
    def low(self) -> NDArray[np.float64]:
        """Lower ends [m]."""
        return self.value - self.half

    @property
    def high(self) -> NDArray[np.float64]:
        """Upper ends [m]."""
        return self.value + self.half


def pooled(digs: Digs) -> Spread:
    """Spread within rows; at least one row has been dug twice."""
    squares = sum(float(np.sum((depth - depth.mean()) ** 2)) for depth in digs.depths)
    freedom = int(np.sum(digs.counts)) - len(digs.rows)
    return Spread(math.sqrt(squares / freedom), freedom)


def quantile(freedom: int, confidence: float = CONFIDENCE) -> float:
    """Two-sided quantile of Student's t, from the incomplete beta function (scipy)."""
    from scipy.special import stdtrit  # noqa: PLC0415 (slow to import, and not needed for --version)

    return float(stdtrit(freedom, 0.5 + 0.5 * confidence))


def offsets(
    digs: Digs,
    spread: Spread,
    wanted: float | None = None,
    mean_of: tuple[int, ...] = (),
    confidence: float = CONFIDENCE,
) -> Offsets:
    """Offsets of all rows to a wanted depth [m], or to the mean of the means of the rows `mean_of` (none: of all)."""
    counts = digs.counts.astype(float)
    mean_of = () if wanted is not None else mean_of or digs.rows
    inside = np.isin(digs.rows, mean_of)
    weights = inside / max(int(np.sum(inside)), 1)
    squares = (np.eye(counts.size) - weights) ** 2
    target = float(weights @ digs.means) if wanted is None else wanted
    half = quantile(spread.freedom, confidence) * spread.sd * np.sqrt(squares @ (1.0 / counts))
    return Offsets(target, mean_of, float(np.max(np.sum(squares, axis=1))), digs.means - target, half)


def digs_to_place(spread: Spread, rows: int, within: float, worst: float) -> int:
    """Least digs in each row for intervals of at most ± `within` [m] at this spread; MOST_DIGS if it takes more.

    t(R(n − 1))·s·√(worst/n) ≤ within with n digs in each of R rows; worst as in `Offsets`.
    """
    for n in range(2, MOST_DIGS):
        if quantile(rows * (n - 1)) * spread.sd * math.sqrt(worst / n) <= within:
            return n
    return MOST_DIGS


def power(spread: Spread, rows: int, digs: int, difference: float, worst: float) -> float:
    """Chance that a row `difference` [m] off its target is shown to be off, with `digs` in each row.

    Power of the two-sided t test from the noncentral t distribution, noncentrality difference/(σ√(worst/n)) with the
    spread found put for σ (standard theory of the t test; value from memory, checked by simulation in the tests).
    """
    from scipy.special import nctdtr  # noqa: PLC0415 (slow to import, and not needed for --version)

    freedom = rows * (digs - 1)
    off = difference / (spread.sd * math.sqrt(worst / digs))
    edge = quantile(freedom)
    return float(1.0 - nctdtr(freedom, off, edge) + nctdtr(freedom, off, -edge))


def digs_to_tell(spread: Spread, rows: int, difference: float, worst: float) -> int:
    """Least digs in each row that show a row `difference` [m] off with the chance POWER; MOST_DIGS if it takes more."""
    for n in range(2, MOST_DIGS):
        if power(spread, rows, n, difference, worst) >= POWER:
            return n
    return MOST_DIGS


@dataclass(frozen=True)
class Doubt:
    """Something in the digs that the model does not expect, with its p-value: rows or a single dig."""

    row: int
    value: float  # spread of that row, or the depth of the dig [m]
    p: float


def unequal_rows(digs: Digs) -> Doubt | None:
    """The row of the largest spread if rows differ in spread more than chance explains (p < 0.01), else None.

    Test of Brown & Forsythe (1974, J. Am. Stat. Assoc. 69, 364–367; value from memory): analysis of variance of the
    distances from each row's median, over rows of at least three digs.
    """
    from scipy.stats import levene  # noqa: PLC0415 (slow to import, and not needed for --version)

    groups = [(row, depth) for row, depth in zip(digs.rows, digs.depths, strict=True) if depth.size >= 3]
    if len(groups) < 2 or all(float(np.ptp(depth)) == 0.0 for _, depth in groups):
        return None
    p = float(levene(*(depth for _, depth in groups), center="median").pvalue)
    if not p < 0.01:
        return None
    row, depth = max(groups, key=lambda group: float(np.std(group[1], ddof=1)))
    return Doubt(row, float(np.std(depth, ddof=1)), p)


def stray_dig(digs: Digs, spread: Spread) -> Doubt | None:
    """The dig that lies farthest from its row's mean if chance hardly explains it (p < 0.05 over all digs), else None.

    With r = |y − ȳ|/(s√(1 − 1/n)), r√((ν − 1)/(ν − r²)) follows Student's t with ν − 1 (derived; known as the deleted
    residual); its p-value times the number of digs is Bonferroni's bound.
    """
    from scipy.special import stdtr  # noqa: PLC0415 (slow to import, and not needed for --version)

    if spread.freedom < 3 or spread.sd == 0.0:
        return None
    found = [
        (abs(float(y - depth.mean())) / (spread.sd * math.sqrt(1.0 - 1.0 / depth.size)), row, float(y))
        for row, depth in zip(digs.rows, digs.depths, strict=True)
        if depth.size >= 3
        for y in depth
    ]
    if not found:
        return None
    size, row, depth = max(found)
    t = size * math.sqrt((spread.freedom - 1) / max(spread.freedom - size**2, 1e-12))
    p = min(1.0, 2.0 * float(stdtr(spread.freedom - 1, -t)) * int(np.sum(digs.counts)))
    return Doubt(row, depth, p) if p < 0.05 else None
