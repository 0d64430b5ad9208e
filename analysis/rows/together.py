"""Which rows are marched together: eight at a time, of one scenario or of several, and none that may not.

Rows of one scenario at one speed fill their marches first; what is left over of each goes together with what is left
over of others, where all that a march shares is the same (`sim.march.rows.alike`), the travel in a step included.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from analysis.rows.cells import Laid
from analysis.rows.fields import Field
from scenarios.scenario import Scenario
from sim.arithmetic.simd import WIDTH
from sim.march.rows import Case, Subject, alike
from sim.step import READ, travel_in

SHARED = (*READ, "gas", "gas_temperature")  # settings that the rows of a field share


class Row(NamedTuple):
    """One row of a march: the number of what is asked for, and its ground and settings."""

    cell: int
    case: Case


class Asked(NamedTuple):
    """Rows of one scenario over its grounds; those of a cell follow one another and are marched together."""

    scenario: Scenario
    laid: Sequence[Laid]
    rows: Sequence[Row]


class Member(NamedTuple):
    """A row of a march: the number of who asked for it, and the field that it lies in."""

    asked: int
    field: Field
    row: Row

    @property
    def ground(self) -> Laid:
        """The ground that it runs over."""
        return self.field.laid[self.row.case.track]


Undivided = list[Member]  # the rows of a cell
March = list[Member]


def by_field(rows: Sequence[Row]) -> dict[tuple[object, ...], list[list[Row]]]:
    """Rows cell by cell, in the order of their grounds, by what the rows of a field share."""
    cells: dict[int, list[Row]] = {}
    for row in rows:
        cells.setdefault(row.cell, []).append(row)
    found: dict[tuple[object, ...], list[list[Row]]] = {}
    for of_cell in sorted(cells.values(), key=lambda of_cell: of_cell[0].case.track):
        found.setdefault(tuple(getattr(of_cell[0].case.settings, name) for name in SHARED), []).append(of_cell)
    return found


def marches(fields: Sequence[Sequence[Undivided]], *, of_any: bool) -> list[March]:
    """The cells of all fields in marches of up to eight rows; the first full ones by field, what is left over behind.

    of_any: whether rows with other units and soils may go together. Which march a row is in depends on what is asked
    for alone, not on threads.
    """
    found: list[March] = []
    left: dict[tuple[object, ...], list[Undivided]] = {}  # those over one ground side by side
    for cells in fields:
        filled = _filled(cells)
        found += filled[:-1]
        last = filled[-1]
        if len(last) == WIDTH:
            found.append(last)
        else:
            left.setdefault(_may_go_with(last[0], of_any=of_any), []).extend(_cells_of(last))
    for cells in left.values():
        grounds = {ground: k for k, ground in enumerate(dict.fromkeys(map(_ground, cells)))}
        found += _filled(sorted(cells, key=lambda cell: grounds[_ground(cell)]))
    return found


def lain_once(planned: Sequence[March]) -> set[int]:
    """`id` of the grounds that one march alone runs over."""
    seen = Counter(ground for march in planned for ground in {id(member.ground) for member in march})
    return {ground for ground, marches in seen.items() if marches == 1}


def _filled(cells: Iterable[Undivided]) -> list[March]:
    """Cells put into marches one behind the other."""
    found: list[March] = [[]]
    for cell in cells:
        if len(found[-1]) + len(cell) > WIDTH:
            found.append([])
        found[-1] += cell
    return found


def _cells_of(march: March) -> list[Undivided]:
    """A march's rows cell by cell again."""
    cells: dict[int, Undivided] = {}
    for member in march:
        cells.setdefault(member.row.cell, []).append(member)
    return list(cells.values())


def _ground(cell: Undivided) -> int:
    """`id` of the ground of a cell."""
    return id(cell[0].ground)


def _may_go_with(member: Member, *, of_any: bool) -> tuple[object, ...]:
    """What a row must have like all others of its march."""
    field, settings = member.field, member.row.case.settings
    own = () if of_any else (member.asked, settings.press_notch, settings.gas_temperature)
    return (
        *own,
        *alike(subject_of(field.scenario), settings).values(),
        travel_in(field.step, field.speed),
        field.bounds.tobytes(),
        *grid_of(field.laid[0]),
        field.scenario.limits.depth_tolerance,
    )


def subject_of(scenario: Scenario) -> Subject:
    """What of a scenario is marched."""
    return Subject(scenario.unit, scenario.soil, scenario.stones.contact)


def grid_of(laid: Laid) -> tuple[float, float, int]:
    """Where samples of a ground lie."""
    track = laid.track
    return track.x0, track.dx, track.ground.size
