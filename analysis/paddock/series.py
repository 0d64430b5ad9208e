"""Thinned series of rows in a march: chunks of channels in, samples at every so many metres out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.storage.paddock_layout import SERIES
from sim.march.march_rows import ROW_CHANNELS
from sim.march.rows import Group


def sample_count(length: float, every: float) -> int:
    """Samples of a pass of a length [m], one every so many metres."""
    return max(int((length - 1e-3) / every) + 1, 1)


class Sampler:
    """Depth error [m] and gauge load [N] at every so many metres of the measured stretch."""

    def __init__(self, group: Group, bounds: NDArray[np.int64], travel: float, every: float) -> None:
        self.rows = group.rows
        self.set_depth = np.array([ready.model.set_depth for ready in group.ready])
        count = int((bounds[-1] - bounds[0] - 1) * travel / every + 1e-9) + 1
        self.steps = bounds[0] + np.round(np.arange(count) * every / travel).astype(np.int64)
        self.samples = np.full((len(SERIES), group.rows, count), np.nan, dtype=np.float32)

    def feed(self, first: int, chunk: NDArray[np.float64]) -> None:
        """Take the next chunk: its first step and its channels, as `sim.march.rows.march_group` yields them."""
        low, high = np.searchsorted(self.steps, (first, first + len(chunk)))
        here = chunk[self.steps[low:high] - first][:, :, : self.rows]
        depth, gauge = (here[:, ROW_CHANNELS.index(name)].T for name in ("depth", "gauge_load"))
        self.samples[0, :, low:high] = depth - self.set_depth[:, None]
        self.samples[1, :, low:high] = gauge
