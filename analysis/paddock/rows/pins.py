"""Rows that stand for a paddock crossed with everything recorded: what the machine's pins go through there."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import NamedTuple

from analysis.paddock.rows.evenly import evenly
from analysis.paddock.rows.runs import row_runs
from analysis.parallel import Progress, run_all
from analysis.pins.wear.stretch import Stretch, joined, stretch_over
from analysis.pins.wear.work import Rows, Work, more
from scenarios.paddock.paddock import Paddock
from sim.record import Run
from sim.unit import Settings

PASSES, ROWS = 4, 4  # taken, where there are as many
LONGEST = 12_000.0  # travel of all of them together, where a row of each pass is not longer [m]


class Crossed(NamedTuple):
    """What rows of a paddock go through at one setting."""

    work: Work
    stretch: Stretch
    run: Run  # the first of them


def sample(paddock: Paddock) -> tuple[tuple[int, ...], tuple[int, ...]]:
    """Passes and rows (from 0) spread evenly over a paddock, rows of the machine's both halves."""
    passes = evenly(paddock.count, PASSES)
    length = sum(paddock.length(number) for number in passes)
    rows = evenly(paddock.machine.rows, max(1, min(ROWS, int(LONGEST / length))))
    return passes, rows


def crossed(
    paddock: Paddock, settings: Settings, workers: int | None = None, progress: Progress | None = None
) -> Crossed:
    """A paddock's sample at a setting; the same for any number of workers. Raises SimulationError.

    progress(passes done, all of them).
    """
    passes, rows = sample(paddock)
    made = run_all(lambda number: stretch_over(row_runs(paddock, number, rows, settings)), passes, workers, progress)
    first = _first(paddock, passes, rows)
    work = Work(
        paddock.name, settings, paddock.machine.width, (), _field(paddock), paddock.stones.contact.stiffness,
        paddock.warnings, Rows(len(rows), len(passes), paddock.machine.rows, paddock.count),
        {what: partial(first, other) for what, other in more(settings).items()},
    )  # fmt: skip
    return Crossed(work, joined(made), first(settings))


def _first(paddock: Paddock, passes: Sequence[int], rows: Sequence[int]) -> Callable[[Settings], Run]:
    """The first row of the first pass at a setting."""
    return lambda settings: next(row_runs(paddock, passes[0], rows[:1], settings))


def _field(paddock: Paddock) -> bool:
    """Whether its ground is a field's: rough or measured, not a shape or two on flat ground."""
    return paddock.ground.roughness is not None or paddock.measured is not None
