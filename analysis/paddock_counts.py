"""Histograms and thinned series of rows in a march: chunks of channels in, counts and samples out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from analysis.reduce_sums import DEPTH, GAUGE, add_counts
from analysis.reduced import ERROR_BINS, GAUGE_BINS, Histogram
from sim.compiled import kernel
from sim.lanes import WIDTH
from sim.march_rows import ROW_CHANNELS
from sim.rows import Group

SERIES = ("depth_error", "gauge_load")  # what a thinned series keeps


@kernel
def _count(flat, n, error_counts, gauge_counts, set_depth, zero, bins):
    e, g = bins
    add_counts(error_counts, flat, 0, n, DEPTH, set_depth, e[0], e[1], e[2])
    add_counts(gauge_counts, flat, 0, n, GAUGE, zero, g[0], g[1], g[2])


def _bins(h: Histogram) -> tuple[float, float, float]:
    return h.low, 1.0 / h.width, float(h.bins)


_BINS = (_bins(ERROR_BINS), _bins(GAUGE_BINS))


def _part(first: int, chunk: NDArray[np.float64], bounds: NDArray[np.int64]) -> NDArray[np.float64]:
    """The steps of a chunk that are measured."""
    begin = min(max(int(bounds[0]) - first, 0), len(chunk))
    return chunk[begin : max(int(bounds[-1]) - first, begin)]


class Counter:
    """Counts of depth error and gauge load over the whole pass, (bins + 2, 8) each; bins as in `analysis.reduced`."""

    def __init__(self, group: Group, bounds: NDArray[np.int64]) -> None:
        depths = [ready.model.set_depth for ready in group.ready]
        self.bounds = bounds
        self.set_depth = np.array(depths + depths[-1:] * (WIDTH - len(depths)))
        self.error = np.zeros((ERROR_BINS.bins + 2, WIDTH), dtype=np.int32)
        self.gauge = np.zeros((GAUGE_BINS.bins + 2, WIDTH), dtype=np.int32)

    def feed(self, first: int, chunk: NDArray[np.float64]) -> None:
        """Take the next chunk: its first step and its channels."""
        part = _part(first, chunk, self.bounds)
        if len(part):
            zero = np.zeros(WIDTH)
            _count(
                part.reshape(-1), len(part), self.error.reshape(-1), self.gauge.reshape(-1), self.set_depth, zero, _BINS
            )


class Sampler:
    """Depth error [m] and gauge load [N] at every so many metres of the measured stretch."""

    def __init__(self, group: Group, bounds: NDArray[np.int64], travel: float, every: float) -> None:
        self.bounds, self.rows = bounds, group.rows
        self.set_depth = np.array([ready.model.set_depth for ready in group.ready])
        count = int((bounds[-1] - bounds[0] - 1) * travel / every + 1e-9) + 1
        self.steps = bounds[0] + np.round(np.arange(count) * every / travel).astype(np.int64)
        self.samples = np.full((len(SERIES), group.rows, count), np.nan, dtype=np.float32)

    def feed(self, first: int, chunk: NDArray[np.float64]) -> None:
        """Take the next chunk: its first step and its channels."""
        low, high = np.searchsorted(self.steps, (first, first + len(chunk)))
        here = chunk[self.steps[low:high] - first][:, :, : self.rows]
        depth, gauge = (here[:, ROW_CHANNELS.index(name)].T for name in ("depth", "gauge_load"))
        self.samples[0, :, low:high] = depth - self.set_depth[:, None]
        self.samples[1, :, low:high] = gauge
