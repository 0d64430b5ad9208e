"""A low-pass without phase for records of heights: waves longer than the shortest one kept stay where they are.

Forward and backward through a Butterworth filter of second order: a wave of length λ keeps 1/(1 + (shortest/λ)⁴) of
its height (less where λ nears two spacings), so half at the shortest wave kept. Where ground and noise are equally
strong that is the share that the best filter keeps (Wiener's G/(G + F)). Beyond its ends a record goes on as its
own first metres turned round, about the end of a parabola through two waves of it, so that slopes go on and neither
end is pulled to the noise of one point.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Values = NDArray[np.float64]
ORDER = 2


def low_passed(heights: Values, spacing: float, shortest: float) -> Values:
    """Heights (..., n), evenly `spacing` apart [m], without waves shorter than `shortest` [m], over 2·spacing."""
    from scipy.signal import butter, sosfiltfilt  # noqa: PLC0415

    size = heights.shape[-1]
    pad = min(size - 1, math.ceil(3.0 * shortest / spacing))
    near = min(size, max(math.ceil(2.0 * shortest / spacing), 3))
    behind = _before(heights[..., ::-1], pad, near)[..., ::-1]
    padded = np.concatenate([_before(heights, pad, near), heights, behind], axis=-1)
    sections = butter(ORDER, 2.0 * spacing / shortest, output="sos")
    passed = sosfiltfilt(sections, padded, axis=-1, padlen=0)
    return np.asarray(passed[..., pad : pad + size], dtype=np.float64)


def _before(heights: Values, pad: int, near: int) -> Values:
    """`pad` heights ahead of the first: those behind it turned about the end of the parabola through `near` of them."""
    k = np.arange(near, dtype=np.float64) / max(near - 1, 1)
    to_end = np.linalg.pinv(np.vander(k, 3))[-1]  # heights → the parabola's height at the first of them
    end = (heights[..., :near] @ to_end)[..., None]
    return np.asarray(2.0 * end - heights[..., pad:0:-1])
