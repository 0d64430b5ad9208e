"""Some rows of some passes, crossed with other values: what stands for the whole paddock where values are in doubt.

Place to place a paddock is known, since all of it was crossed with the values of its file; what other values would do
is found on a part of it (`analysis.paddock.doubt.estimate` puts the two together). The ground of a pass is made for all
its rows at once, so it is a few passes with several rows each.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import by_setting, limited_counts
from analysis.paddock.heeds import Found, put
from analysis.paddock.passes.crossing import run_rows
from analysis.paddock.result import PassResult
from analysis.paddock.rows.evenly import evenly
from analysis.paddock.table import PaddockTable
from scenarios.paddock.paddock import Paddock

PASSES, ROWS = 2, 8  # taken, where there are as many
LONG = 1500.0  # passes of so much and more: one is enough [m]


class Sample(NamedTuple):
    """Passes (from 0) and the rows taken of each of them."""

    passes: tuple[int, ...]
    rows: tuple[int, ...]


def sample_of(table: PaddockTable) -> Sample:
    """Passes and rows spread evenly over a paddock; of a zone that none of them meets, the pass with most of it."""
    count, rows = table.zone.shape[:2]
    length = np.nansum(table.section_length, axis=1)
    passes = list(evenly(count, 1 if length.mean() >= LONG else PASSES))
    taken = list(evenly(rows, ROWS))
    area = np.where(table.weight > 0.0, 1, 0)[:, taken]
    for number in range(len(table.zone_names)):
        there = ((table.zone[:, taken] == number) * area).sum(axis=(1, 2))
        if there.any() and not there[list(passes)].any():
            passes.append(int(there.argmax()))
    return Sample(tuple(sorted(passes)), tuple(taken))


def crossed(paddock: Paddock, table: PaddockTable, sample: Sample, speed: float) -> PaddockTable:
    """A sample crossed at every pressure at one speed, with the values of `paddock`; table: that of the whole."""
    there = replace(paddock, search=replace(paddock.search, speeds=(speed,)))
    return _table(table, sample, speed, [run_rows(there, number, sample.rows) for number in sample.passes])


def _table(table: PaddockTable, sample: Sample, speed: float, found: Sequence[PassResult]) -> PaddockTable:
    own = list(sample.passes)
    taken = np.zeros(table.row_y[own].shape, dtype=np.bool_)
    taken[:, list(sample.rows)] = True
    heeds: Found = {}
    for result in found:
        for warned in result.heeds.values():
            put(heeds, warned)
    known = {name: np.fmax.reduce([result.by_setting[name] for result in found]) for name in by_setting()}
    changed: dict[str, Any] = {
        "speeds": np.array([speed]),
        "by_setting": known,
        "section_x": table.section_x[own],
        "section_length": table.section_length[own],
        "row_y": table.row_y[own],
        "zone": table.zone[own],
        "sections": {name: _stacked([r.sections[name] for r in found], table) for name in found[0].sections},
        "events": {name: _events(found, m.events) for name, m in limited_counts().items()},
        "problems": tuple((i, p, j, why) for p, r in enumerate(found) for (i, j), why in sorted(r.problems.items())),
        "heeds": tuple(heeds.values()),
        "latitude": None,
        "longitude": None,
        "doubt": None,
        "taken": taken,
    }
    return replace(table, **changed)


def _stacked(values: Sequence[NDArray[Any]], table: PaddockTable) -> NDArray[Any]:
    """A measure of several passes as (settings, passes, rows, sections), as many sections as the whole has at most."""
    most = table.section_length.shape[1]
    blank = np.nan if values[0].dtype.kind == "f" else 0
    wide = [
        np.pad(value, ((0, 0), (0, 0), (0, most - value.shape[2])), constant_values=blank)
        if value.shape[2] < most
        else value
        for value in values
    ]
    return np.stack(wide, axis=1)


def _events(found: Sequence[PassResult], kind: str) -> dict[str, NDArray[Any]]:
    """Setting, pass, row and start of each event."""
    tables = [result.episodes if kind == "episode" else result.breakouts for result in found]
    numbers = np.concatenate([np.full(len(t), p) for p, t in enumerate(tables)])
    columns = np.concatenate([t[:, :3] for t in tables]) if tables else np.empty((0, 3))
    return {
        "setting": columns[:, 0].astype(np.int64), "pass": numbers.astype(np.int64),
        "row": columns[:, 1].astype(np.int64), "start": columns[:, 2].astype(np.float64),
    }  # fmt: skip
