"""Many cells of a window at once: crossings marched eight at a time and reduced on the way, on several threads.

Whatever may go together does, of one scenario or of several (`analysis.rows.together`). A crossing's numbers depend
neither on its neighbours in a march nor on the number of threads.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.heed import heeds_of
from analysis.crossing.measures import Measure, in_window
from analysis.parallel import Progress, run_all
from analysis.rows.cells import NAN, Crossing, Laid
from analysis.rows.fields import Field, Lain, gathered, grounds_of
from analysis.rows.reduced import Reduced
from analysis.rows.reducer import reduce_group
from analysis.rows.together import Asked, March, Member, Row, by_field, lain_once, marches, subject_of
from scenarios.scenario import Scenario
from sim.errors import RowsError, SimulationError, StepError
from sim.heeds import Heed
from sim.march.rows import Case, Group, check_row, prepare_rows
from sim.run import simulate
from sim.unit import Settings


class Cell(NamedTuple):
    """One crossing that is asked for."""

    settings: Settings  # whatever `setting` says: the depth setting is redone
    ground: int  # index of the ground


class Wanted(NamedTuple):
    """Cells of one scenario over its grounds."""

    scenario: Scenario
    laid: Sequence[Laid]
    cells: Sequence[Cell]


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
    found = cross_rows(scenario, laid, _rows(cells, unchanged), workers, progress)
    return [_crossing(scenario, found, i, cell, unchanged) for i, cell in enumerate(cells)]


def cross_all_together(wanted: Sequence[Wanted], unchanged: bool, workers: int | None = None) -> list[list[Crossing]]:
    """`cross_all` of several scenarios by `cross_together`."""
    asked = [Asked(scenario, laid, _rows(cells, unchanged)) for scenario, laid, cells in wanted]
    return [
        [_crossing(scenario, found, i, cell, unchanged) for i, cell in enumerate(cells)]
        for (scenario, _, cells), found in zip(wanted, cross_together(asked, workers), strict=True)
    ]


def _rows(cells: Sequence[Cell], unchanged: bool) -> list[Row]:
    """The rows of cells."""
    rows = []
    for i, (settings, ground) in enumerate(cells):
        rows.append(Row(i, Case(ground, replace(settings, setting="redone"))))
        if unchanged and not _at_reference(settings):
            rows.append(Row(i, Case(ground, replace(settings, setting="unchanged"))))
    return rows


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
    return _crossed([Asked(scenario, laid, rows)], workers, progress, of_any=False)[0]


def cross_together(
    asked: Sequence[Asked], workers: int | None = None, progress: Progress | None = None
) -> list[Found]:  # fmt: skip
    """Rows of several scenarios at once, each as `cross_rows` gives them to rounding, whatever company they have.

    What is left over of one scenario's marches fills up those of others; progress counts the cells of all.
    """
    return _crossed(asked, workers, progress, of_any=True)


def _crossed(
    asked: Sequence[Asked], workers: int | None, progress: Progress | None, *, of_any: bool
) -> list[Found]:  # fmt: skip
    found: list[Found] = [{} for _ in asked]
    finished: list[object] = []
    cells: list[list[list[Member]]] = []
    for number, (scenario, laid, rows) in enumerate(asked):
        for of_field in by_field(rows).values():
            try:
                field = Field(scenario, laid, of_field[0][0].case.settings)
            except StepError as error:
                found[number] |= {_name(row): str(error) for cell in of_field for row in cell}
                finished.extend(of_field)
            else:
                cells.append([[Member(number, field, row) for row in cell] for cell in of_field])
    planned = marches(cells, of_any=of_any)
    total = len(finished) + sum(map(len, cells))
    told = 0
    plan = _Plan(asked, planned, of_any=of_any)

    def job(march: March) -> list[Told]:
        made = plan.cross(march)
        finished.extend({(member.asked, member.row.cell) for member in march})
        return made

    def tell(_done: int, _total: int) -> None:
        nonlocal told
        while progress is not None and told < len(finished):
            told += 1
            progress(told, total)

    for made in run_all(job, planned, workers, tell):
        for number, name, one in made:
            found[number][name] = one
    tell(0, 0)
    return found


def _at_reference(settings: Settings) -> bool:
    """Whether the depth setting redone is the one made at the reference."""
    return (settings.oil_pressure, settings.speed) == (settings.reference_pressure, settings.reference_speed)


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
Told = tuple[int, tuple[int, str], Made | str]  # one of those, behind the number of who asked for it


class _Plan:
    """Marches that are planned, and what they run over."""

    def __init__(self, asked: Sequence[Asked], planned: Sequence[March], *, of_any: bool) -> None:
        self.of_any = of_any
        self.lain = [Lain(laid) for _, laid, _ in asked]
        self.once = lain_once(planned)
        for march in planned:
            if _of_one_field(march):
                march[0].field.enter()

    def cross(self, march: March) -> list[Told]:
        """Cross the rows of a march; a row that fails leaves its reason and the rest is marched without it."""
        found: list[Told] = []
        own = _of_one_field(march)
        try:
            rows = _prepared(march, found)
            while rows:
                try:
                    reduced, group = self._reduced(rows, own)
                except RowsError as error:
                    for j in error.rows:
                        found.append((rows[j].asked, _name(rows[j].row), _reason(rows[j], error)))
                    rows = [row for j, row in enumerate(rows) if j not in error.rows]
                    continue
                measured: dict[str, NDArray[np.float64]] = {}
                for j, one in enumerate(rows):
                    found.append((one.asked, _name(one.row), Made(reduced, group, j, measured)))
                break
        finally:
            if own:
                march[0].field.leave()
        return found

    def _reduced(self, rows: Sequence[Member], own: bool) -> tuple[Reduced, Group]:
        """March rows and reduce them; own: over the grounds and paths of their field."""
        field, cases = rows[0].field, [member.row.case for member in rows]
        along = None
        if own:
            grounds, stones = grounds_of(self.lain[rows[0].asked], field, {case.track for case in cases})
        else:
            ways = [(member.field, member.row.case.track) for member in rows]
            grounds, stones, tracks, along = gathered(ways, self.once)
            cases = [replace(case, track=track) for case, track in zip(cases, tracks, strict=True)]
        group = prepare_rows([subject_of(one.field.scenario) for one in rows], cases, along, of_any=self.of_any)
        starts, steps = [one.field.x_start for one in rows], [one.field.step for one in rows]
        tolerance = field.scenario.limits.depth_tolerance
        return reduce_group(group, grounds, stones, starts, steps, field.bounds, tolerance), group


def _of_one_field(march: Sequence[Member]) -> bool:
    return all(member.field is march[0].field for member in march)


def _name(row: Row) -> tuple[int, str]:
    return row.cell, row.case.settings.setting


def _prepared(march: March, found: list[Told]) -> list[Member]:
    """The rows that can be made ready; the others leave their reason."""
    able = []
    for member in march:
        try:
            check_row(subject_of(member.field.scenario), member.row.case)
        except SimulationError as error:
            found.append((member.asked, _name(member.row), str(error)))
        else:
            able.append(member)
    return able


def _reason(member: Member, error: RowsError) -> str:
    """Where and why a row failed: told by that crossing alone."""
    scenario, case = member.field.scenario, member.row.case
    ground = member.field.laid[case.track]
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
