"""Crossing a paddock's sample with sets of values drawn from what its file leaves in doubt.

Looked at are the speeds that were chosen with the file's own values, of the whole and of zones set by themselves, and
of the whole slower ones down to the first at which some pressure meets every limit with `confidence`. A slower speed is
given up, and not kept, as soon as none of its pressures can have it any more.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

import numpy as np
from numpy.typing import NDArray

from analysis.paddock.doubt.chance import met_by, regions_of, values_of
from analysis.paddock.doubt.sample import Sample, crossed, sample_of
from analysis.paddock.doubt.sampled import Sampled
from analysis.paddock.summary import Summary, summarise
from analysis.paddock.table import PaddockTable
from analysis.parallel import Progress, part_of, run_all
from analysis.window.doubt.chance import BATCH, needed
from analysis.window.grid import Window
from scenarios.doubt.belief import draws
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.varied import believed, with_values
from scenarios.spec import Search

Values = NDArray[np.float64]


def find_sampled(
    paddock: Paddock, table: PaddockTable, workers: int | None = None, progress: Progress | None = None,
    count: int = Search().draws,
) -> Sampled | None:  # fmt: skip
    """What a sample gives with every set; None where nothing is in doubt or no setting could be crossed at all.

    progress(parts done, all of them), a part being a set at a speed; count: sets drawn. The same for any number of
    workers.
    """
    held = believed(paddock)
    summary = summarise(table, paddock.limits)
    if not held.names or not summary.crossed:
        return None
    values = draws(held, count, paddock.seed)
    sample = sample_of(table)
    readings = 0 if paddock.uncertain is None else paddock.uncertain.readings
    looked = _Looked(paddock, table, sample, held.names, values, workers)
    first = {summary.choice.j, *(zone.choice.j for zone in summary.zones if zone.plan == "own")}
    looked.total = len(first | set(range(summary.choice.j))) * (1 + len(values))
    looked.told = progress or (lambda done, total: None)
    found: dict[int, Values] = {}
    for j in sorted(first):
        whole = looked.at(j)
        if whole is not None:
            found[j] = whole
    _slower(looked, summary, found)
    looked.told(looked.total, looked.total)
    return Sampled(held, readings, values, sample.passes, sample.rows, found)


def _slower(looked: _Looked, summary: Summary, found: dict[int, Values]) -> None:
    """Add slower speeds of the whole until one has the chance asked for."""
    least = needed(summary.limits.confidence, len(looked.values))
    window = looked.table.window(summary.limits)
    for j in range(summary.choice.j, -1, -1):
        if j not in found:
            made = looked.at(j, partial(_lost, looked, window, j))
            if made is None:
                continue
            found[j] = made
        if (met_by(looked.table, window, found[j], j).sum(axis=0) >= least).any():
            return


def _lost(looked: _Looked, window: Window, j: int, part: Values) -> bool:
    """Whether no pressure can have the chance asked for any more, by the sets crossed so far."""
    met = met_by(looked.table, window, part, j)
    most = len(looked.values) - needed(window.limits.confidence, len(looked.values))
    return bool(((~met).sum(axis=0) > most).all())


class _Looked:
    """The crossings of a sample, speed by speed."""

    def __init__(
        self, paddock: Paddock, table: PaddockTable, sample: Sample, names: tuple[str, ...], values: Values,
        workers: int | None,
    ) -> None:  # fmt: skip
        self.paddock, self.table, self.sample = paddock, table, sample
        self.names, self.values, self.workers = names, values, workers
        self.regions = regions_of(table)
        self.told: Progress = lambda done, total: None
        self.total = self.done = 0

    def at(self, j: int, lost: Callable[[Values], bool] = lambda part: False) -> Values | None:
        """(1 + sets, regions, pressures, measures) at a speed; None once `lost` says so of what is there so far."""
        rows = [self._own, *(self._with(k) for k in range(len(self.values)))]
        made: list[Values] = []
        begun = self.done
        while len(made) < len(rows):
            part = rows[len(made) : len(made) + BATCH + 1]
            made += run_all(lambda make: make(j), part, self.workers, part_of(self.told, self.done, self.total))
            self.done += len(part)
            if lost(np.stack(made)):
                self.done = begun + len(rows)
                return None
        return np.stack(made)

    def _own(self, j: int) -> Values:
        return self._crossed(self.paddock, j)

    def _with(self, k: int) -> Callable[[int], Values]:
        changed = dict(zip(self.names, self.values[k].tolist(), strict=True))
        return lambda j: self._crossed(with_values(self.paddock, changed), j)

    def _crossed(self, paddock: Paddock, j: int) -> Values:
        made = crossed(paddock, self.table, self.sample, float(self.table.speeds[j]))
        return np.stack([values_of(made.window(paddock.limits, region), 0) for region in self.regions])
