"""What the formulas of measures are given: sums of rows reduced while they march, and what a depth setting knows."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from sim.record import DepthSetting
from sim.unit import Settings, Unit

Floats = NDArray[np.float64]


class Sums(Protocol):
    """What rows reduced while they march offer a formula: `analysis.rows.reduced.Reduced`, SI, (sections, …, rows)."""

    @property
    def values(self) -> Mapping[str, Floats]: ...
    @property
    def steps(self) -> NDArray[np.int64]: ...
    @property
    def travel(self) -> float: ...
    @property
    def set_depth(self) -> Floats: ...
    @property
    def found_episodes(self) -> tuple[Floats, ...]: ...
    @property
    def found_breakouts(self) -> tuple[Floats, ...]: ...
    @property
    def error_counts(self) -> NDArray[np.int32] | None: ...
    @property
    def gauge_counts(self) -> NDArray[np.int32] | None: ...
    def share(self, name: str) -> Floats: ...
    def sd(self, name: str) -> Floats: ...
    def share_of_variance(self, cause: str) -> Floats: ...


class Set(Protocol):
    """What is known once the depth is set: `sim.run.Prepared`, or a run."""

    @property
    def setting(self) -> DepthSetting: ...
    @property
    def reference(self) -> DepthSetting: ...
    @property
    def unit(self) -> Unit: ...
    @property
    def settings(self) -> Settings: ...


def number_of(events: tuple[Floats, ...]) -> NDArray[np.int64]:
    """Number of events by row, (1, rows)."""
    return np.array([[len(of_row) for of_row in events]])


def steps_of(r: Sums) -> NDArray[np.int64]:
    """Steps measured, (sections, rows)."""
    return np.broadcast_to(r.steps[:, None], r.values["on_depth"].shape)


def counts_of(counts: NDArray[np.int32] | None) -> NDArray[np.int32]:
    """A histogram that was kept."""
    assert counts is not None, "no histogram was kept; reduce with histograms"
    return counts
