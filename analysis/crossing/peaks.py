"""Peaks between samples: a series read at every step misses the true peak by what happens between two steps.

At a local maximum y of samples … b, l, y, r, a … the parabola through l, y, r rises over y by (r − l)²/(8 d) with
d = 2y − l − r. A jump is no parabola: there the second difference on the higher side, 2r − y − a or 2l − y − b, is
small or negative, so that no more than an eighth of it is added, and nothing where it is not above zero.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel, part

BESIDE = 2  # samples on either side that a peak is found from


@part
def refined(series, at, stride, before, after):
    """series[at] of a flat array whose neighbours lie `stride` apart; at a local maximum with what the parabola adds.

    before, after: samples that there are on either side. Where one that is needed is missing nothing is added.
    """
    y = series[at]
    if before < 1 or after < 1:
        return y
    left, right = series[at - stride], series[at + stride]
    if y < left or y < right:
        return y
    bend = 2.0 * y - left - right
    if right >= left:
        if after < 2:
            return y
        next_bend = 2.0 * right - y - series[at + 2 * stride]
    else:
        if before < 2:
            return y
        next_bend = 2.0 * left - y - series[at - 2 * stride]
    if bend <= 0.0 or next_bend <= 0.0:
        return y
    return y + 0.125 * min((right - left) * (right - left) / bend, next_bend)


@kernel
def _peaks(flat, columns, first, last, out):
    n = flat.size // columns
    for i in range(first, last):
        for k in range(columns):
            at = i * columns + k
            out[k] = max(out[k], refined(flat, at, columns, i, n - 1 - i))


def peaks(series: NDArray[np.float64], first: int = 0, last: int | None = None) -> NDArray[np.float64]:
    """Largest refined value of each column between two steps (last not included): (n, k) → (k,).

    `refined` says what is added between samples; for loads give squares, which are smooth where a size has a kink.
    Neighbours outside of first … last count where the series has them.
    """
    n, columns = series.shape
    out = np.full(columns, -np.inf)
    _peaks(np.ascontiguousarray(series).reshape(-1), columns, first, n if last is None else last, out)
    return out
