"""A whole paddock with other values, from the whole with its file's own and a sample with both.

Y the measure over the whole with the file's values, y that of the sample, y′ that of the sample with other values. A
mean, a share or a scatter becomes Y + (y′ − y): the difference estimator of survey sampling (Cochran, Sampling
Techniques, from memory), whose error is that of the change and not of the places. A count grows by the same, brought
to the length of the whole. The highest or lowest value becomes Y · y′/y: the worst place of a paddock is not in its
sample, so it is taken to change by the share by which the sample's worst does.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import Join, Measure, in_window

Values = NDArray[np.float64]

_SHIFTED = (Join.MEAN, Join.OVER_SET_DEPTH, Join.SCATTER)
_SCALED = (Join.HIGHEST, Join.LOWEST)
_COUNTED = (Join.COUNT, Join.SUM)


def estimated(whole: Values, own: Values, other: Values) -> Values:
    """Measures of the whole with other values, (pressures, measures).

    whole, own, other: over the whole and over the sample with the file's values, over the sample with other ones, each
    (pressures, measures) in the order of `analysis.crossing.measures.in_window`.
    """
    measures = in_window()
    at = [m.name for m in measures].index("distance")
    longer = whole[:, at] / np.where(own[:, at] > 0.0, own[:, at], np.nan)
    columns = [_one(m, whole[:, k], own[:, k], other[:, k], longer) for k, m in enumerate(measures)]
    columns[at] = whole[:, at]
    return np.stack(columns, axis=1)


def _one(m: Measure, whole: Values, own: Values, other: Values, longer: Values) -> Values:
    if m.join in _SHIFTED:
        found = whole + (other - own)
        if m.join is Join.SCATTER:
            return np.maximum(found, 0.0)
        return np.clip(found, 0.0, 1.0) if m.unit == "1" and m.name.endswith("_share") else found
    if m.join in _SCALED:
        scaled = whole * other / np.where(own == 0.0, 1.0, own)
        return np.where(own == 0.0, whole + other, scaled)
    if m.join in _COUNTED:
        return np.maximum(whole + (other - own) * longer, 0.0)
    return other
