"""Many cells of a window at once: crossings marched eight at a time and reduced on the way, on several threads.

Cells that share all settings but the pressures and the depth setting go together, whatever ground of the window they
lie on. A crossing's numbers depend neither on its neighbours in a group nor on the number of threads.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.heed import heeds_of
from analysis.crossing.measures import Measure, in_window
from analysis.parallel import Progress, run_all
from analysis.rows.cells import NAN, Crossing, Laid
from analysis.rows.reduced import Reduced
from analysis.rows.reducer import reduce_group, stack_stones, whole_run
from scenarios.scenario import Scenario
from sim.arithmetic.simd import WIDTH
from sim.errors import RowsError, SimulationError, StepError
from sim.heeds import Heed
from sim.march.rows import SHARED, Case, Grounds, Group, prepare_group, stack_tables
from sim.run import simulate, start_position
from sim.step import choose_step
from sim.toolbar.path import path
from sim.unit import Settings


class Cell(NamedTuple):
    """One crossing that is asked for."""

    settings: Settings  # whatever `setting` says: the depth setting is redone
    ground: int  # index of the ground


class Row(NamedTuple):
    """One row of a march: the number of what is asked for, and its ground and settings."""

    cell: int
    case: Case


def cross_all(
    scenario: Scenario,
    laid: Sequence[Laid],
    cells: Sequence[Cell],
    unchanged: bool,
    workers: int | None = None,
    progress: Progress | None = None,
) -> list[Crossing]:
    """All cells crossed, in their order: to rounding what single runs give, but many times faster.

    workers: threads, None: one a core · progress(cells done, all) after every cell, from the calling thread.
    """
    rows = []
    for i, (settings, ground) in enumerate(cells):
        rows.append(Row(i, Case(ground, replace(settings, setting="redone"))))
        if unchanged and not _at_reference(settings):
            rows.append(Row(i, Case(ground, replace(settings, setting="unchanged"))))
    found = cross_rows(scenario, laid, rows, workers, progress)
    return [_crossing(scenario, found, i, cell, unchanged) for i, cell in enumerate(cells)]


def cross_rows(
    scenario: Scenario,
    laid: Sequence[Laid],
    rows: Sequence[Row],
    workers: int | None = None,
    progress: Progress | None = None,
) -> Found:
    """Rows crossed, reduced, by cell and depth setting; a text in place of one says why it could not be made.

    workers and progress as `cross_all`; the rows of a cell follow one another and are marched in one group.
    """
    groups = _groups(rows)
    shared = _Shared(laid)
    total = len({row.cell for row in rows})
    found: Found = {}
    fields: dict[tuple[object, ...], _Field] = {}
    finished: list[int] = []
    told = 0
    for key, of_key in groups.items():
        try:
            fields[key] = _Field(scenario, laid, len(of_key), of_key[0][0].case.settings)
        except StepError as error:
            found |= {_name(row): str(error) for group in of_key for row in group}
            finished.extend({row.cell: None for group in of_key for row in group})

    def job(work: tuple[tuple[object, ...], list[Row]]) -> Found:
        made = _cross_group(scenario, shared, fields[work[0]], work[1])
        finished.extend(dict.fromkeys(row.cell for row in work[1]))
        return made

    def tell(_done: int, _total: int) -> None:
        nonlocal told
        while progress is not None and told < len(finished):
            told += 1
            progress(told, total)

    for made in run_all(job, [(key, group) for key in fields for group in groups[key]], workers, tell):
        found |= made
    tell(0, 0)
    return found


def _groups(rows: Sequence[Row]) -> dict[tuple[object, ...], list[list[Row]]]:
    """Rows in groups of up to eight, by what the rows of a march must share; a cell is never divided."""
    cells: dict[int, list[Row]] = {}
    for row in rows:
        cells.setdefault(row.cell, []).append(row)
    by_key: dict[tuple[object, ...], list[list[Row]]] = {}
    for of_cell in sorted(cells.values(), key=lambda of_cell: of_cell[0].case.track):
        key = tuple(getattr(of_cell[0].case.settings, name) for name in SHARED)
        groups = by_key.setdefault(key, [[]])
        if len(groups[-1]) + len(of_cell) > WIDTH:
            groups.append([])
        groups[-1] += of_cell
    return by_key


def _at_reference(settings: Settings) -> bool:
    """Whether the depth setting redone is the one made at the reference."""
    return (settings.oil_pressure, settings.speed) == (settings.reference_pressure, settings.reference_speed)


class _Shared:
    """Tables of all grounds, made when first asked for."""

    def __init__(self, laid: Sequence[Laid]):
        self.laid = laid
        self._lock = threading.Lock()
        self._made: tuple[NDArray[np.float64], NDArray[np.int32], NDArray[np.float64]] | None = None

    def tables(self) -> tuple[NDArray[np.float64], NDArray[np.int32], NDArray[np.float64]]:
        """Ground tables, stones and heights of the stones, each (tracks, …)."""
        with self._lock:
            if self._made is None:
                stones = stack_stones([ground.track for ground in self.laid])
                self._made = (*stack_tables([ground.tables for ground in self.laid]), stones)
            return self._made


class _Field:
    """The toolbar's paths over all grounds at one speed, each made when first asked for and dropped after the last.

    shared: settings of any of the rows; what is used of them all share. Raises StepError.
    """

    def __init__(self, scenario: Scenario, laid: Sequence[Laid], users: int, shared: Settings):
        self.speed = shared.speed
        self.carried = shared.toolbar == "carried"
        self.scenario, self.laid = scenario, laid
        self.step = choose_step(scenario.unit, scenario.soil, scenario.stones.contact, shared).seconds
        self.bounds = whole_run(laid[0].track, self.speed, self.step)
        self.x_start = start_position(scenario.unit, laid[0].track.x_from)
        self._users, self._lock = users, threading.Lock()
        self._locks = [threading.Lock() for _ in laid]
        self._paths: NDArray[np.float64] | None = None
        self._done: set[int] = set()

    def paths(self, grounds: set[int]) -> NDArray[np.float64]:
        """Paths (tracks, nodes, 6), of which those over the grounds named are there."""
        nodes = 2 * int(self.bounds[-1]) + 3
        with self._lock:
            if self._paths is None:
                self._paths = np.empty((len(self.laid), nodes, 6))
            made = self._paths
        for k in sorted(grounds):
            with self._locks[k]:
                if k not in self._done:
                    self._put_path(self.laid[k], made[k])
                    self._done.add(k)
        return made

    def _put_path(self, laid: Laid, into: NDArray[np.float64]) -> None:
        """Put the toolbar's path over a ground into (nodes, 6): the one kept with it where that is the same."""
        unit, t, nodes = self.scenario.unit, laid.track, len(into)
        asked = (unit.toolbar, self.x_start, self.speed, self.step, nodes, self.carried)
        kept = None if laid.path is None else laid.path.get(asked)
        if kept is not None:
            into[:] = kept
            return
        path(unit, t.surface, t.x0, t.dx, self.x_start, self.speed, 0.5 * self.step, nodes, self.carried, into)
        if laid.path == {}:
            laid.path[asked] = into.copy()

    def leave(self) -> None:
        """One group is done; the last one drops the paths."""
        with self._lock:
            self._users -= 1
            if self._users == 0:
                self._paths = None


@dataclass(frozen=True)
class Made:
    """A row that was crossed: number `j` of those reduced together."""

    reduced: Reduced
    group: Group
    j: int
    measured: dict[str, NDArray[np.float64]]  # of all rows reduced together, what was asked for so far

    def share(self, name: str) -> float:
        """Share of travel, as `Reduced.share`."""
        return float(self.reduced.share(name)[0, self.j])

    def value(self, name: str) -> NDArray[np.float64]:
        """A measure, as `Reduced.values`."""
        return self.reduced.values[name][0, ..., self.j]

    def measure(self, m: Measure) -> float:
        """A measure of this row by its description."""
        if m.setting:
            return m.of_setting(self.group.ready[self.j])
        if m.name not in self.measured:
            self.measured[m.name] = m.of_rows(self.reduced)
        return float(self.measured[m.name][0, self.j])

    def heeds(self, scenario: Scenario, settings: Settings) -> tuple[Heed, ...]:
        """What a run of this row would warn of."""
        ready = self.group.ready[self.j]
        met = self.reduced.met(self.j, ready.setting, scenario.x_from, settings.speed)
        return heeds_of(scenario, settings, ready, met)


Found = dict[tuple[int, str], Made | str]  # by cell and depth setting; a text says why it could not be made


def _cross_group(scenario: Scenario, shared: _Shared, field: _Field, rows: list[Row]) -> Found:
    """March the rows of a group; a row that fails leaves its reason and the rest is marched without it."""
    found: Found = {}
    try:
        rows = _prepared(scenario, rows, found)
        while rows:
            cases = [row.case for row in rows]
            try:
                made = _reduced(scenario, shared, field, cases)
            except RowsError as error:
                for j in error.rows:
                    found[_name(rows[j])] = _reason(scenario, field, cases[j], error)
                rows = [row for j, row in enumerate(rows) if j not in error.rows]
                continue
            measured: dict[str, NDArray[np.float64]] = {}
            found |= {_name(row): Made(*made, j, measured) for j, row in enumerate(rows)}
            break
    finally:
        field.leave()
    return found


def _name(row: Row) -> tuple[int, str]:
    return row.cell, row.case.settings.setting


def _prepared(scenario: Scenario, rows: list[Row], found: Found) -> list[Row]:
    """The rows that can be made ready; the others leave their reason."""
    able = []
    for row in rows:
        try:
            prepare_group(scenario.unit, scenario.soil, scenario.stones.contact, [row.case])
        except SimulationError as error:
            found[_name(row)] = str(error)
        else:
            able.append(row)
    return able


def _reduced(scenario: Scenario, shared: _Shared, field: _Field, cases: list[Case]) -> tuple[Reduced, Group]:
    tables, stone_numbers, stones = shared.tables()
    x0, dx = shared.laid[0].tables.x0, shared.laid[0].tables.dx
    grounds = Grounds(tables, stone_numbers, x0, dx, field.paths({case.track for case in cases}))
    group = prepare_group(scenario.unit, scenario.soil, scenario.stones.contact, cases)
    reduced = reduce_group(
        scenario.unit, group, grounds, stones, field.x_start, field.step, field.bounds, scenario.limits.depth_tolerance
    )
    return reduced, group


def _reason(scenario: Scenario, field: _Field, case: Case, error: RowsError) -> str:
    """Where and why a row failed: told by that crossing alone."""
    ground = field.laid[case.track]
    try:
        simulate(scenario.unit, scenario.soil, ground.track, case.settings, tables=ground.tables, crank=case.crank)
    except SimulationError as alone:
        return str(alone)
    return str(error)


def _crossing(scenario: Scenario, found: Found, number: int, cell: Cell, unchanged: bool) -> Crossing:
    """The measures of a cell from its row, and from its row with the setting left alone."""
    made = found[number, "redone"]
    if isinstance(made, str):
        return Crossing(problem=made)
    # where there is none of its own the row is at the reference: both are one and the same
    left = found.get((number, "unchanged"), made) if unchanged else "not asked for"
    values = {}
    for m in in_window():
        row = left if m.unchanged else made
        values[m.name] = NAN if isinstance(row, str) else row.measure(m)
    return Crossing(values, heeds=made.heeds(scenario, cell.settings))
