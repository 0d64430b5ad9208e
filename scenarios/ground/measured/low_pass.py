"""A low-pass without phase for records of heights: waves longer than the shortest one kept stay where they are.

Forward and backward through a Butterworth filter of second order: a wave of length λ keeps 1/(1 + (shortest/λ)⁴) of
its height (less where λ nears two spacings), so half at the shortest wave kept. Where ground and noise are equally strong that is the share that the
best filter keeps (Wiener's G/(G + F)). Beyond its ends a record goes on as its own first metres mirrored about the
straight line through them, so that neither end is pulled to the noise of a single point.
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
    padded = np.concatenate([_before(heights, pad), heights, _before(heights[..., ::-1], pad)[..., ::-1]], axis=-1)
    sections = butter(ORDER, 2.0 * spacing / shortest, output="sos")
    passed = sosfiltfilt(sections, padded, axis=-1, padlen=0)
    return np.asarray(passed[..., pad : pad + size], dtype=np.float64)


def _before(heights: Values, pad: int) -> Values:
    """`pad` heights ahead of the first: those behind it mirrored, about the straight line through them."""
    k = np.arange(pad + 1, dtype=np.float64)
    near = heights[..., : pad + 1]
    off = k - k.mean()
    slope = (near * off).sum(axis=-1, keepdims=True) / max(float(off @ off), 1e-300)
    return (near - 2.0 * slope * k)[..., :0:-1]
