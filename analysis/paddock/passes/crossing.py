"""Passes of a machine at all settings: ground made, marched and reduced stretch by stretch, nothing else kept.

All settings of a pass share its ground. It is made for eight rows at a time, which march over it at all settings before
the next eight. Passes that are equally long can be crossed at once, so that rows which are left over when a machine is
cut in eights fill up one another's march (`jobs`). A row's result does not depend on its neighbours in the group, so
the same pass gives the same bits wherever, whenever and beside whatever it is computed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.paddock.passes.lines import Line, Part, Room, around, blocks_of, by_pass, grounds
from analysis.paddock.result import Members, PassResult, empty_result, sections_of
from analysis.paddock.series import Sampler
from analysis.rows.reducer import Reducer, even_bounds
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.rows import Lanes
from sim.arithmetic.simd import WIDTH
from sim.errors import RowsError, SimulationError
from sim.march.rows import Case, Grounds, Group, march_group, prepare_group
from sim.run import LEAD_IN, start_position
from sim.step import choose_step
from sim.toolbar.path import PATH_STEP
from sim.toolbar.roll import RollingBar, row_paths
from sim.unit import Settings

BLOCK = 40.0  # ground is made for so much travel of the toolbar at a time [m]
TAIL = 6  # nodes of the toolbar's path that two stretches share


class Place(NamedTuple):
    """A line at a setting."""

    setting: int
    line: Line


Places = Sequence[Place]  # of the rows of a group


class Stopped(Exception):
    """A pass was given up because the user asked to stop."""


@dataclass
class _Group:
    """Up to eight rows on their way."""

    places: Places
    block: int  # of lines, whose ground it marches over
    march: Group
    reducer: Reducer
    sampler: Sampler | None


@dataclass
class _Speed:
    """All groups of one speed, and the toolbars that carry them, one in each pass."""

    speed: float
    step: float
    x_start: float
    bounds: NDArray[np.int64]
    bars: dict[int, RollingBar | None]  # by pass; None: held level
    groups: list[_Group]
    nodes: dict[int, NDArray[np.float64]]  # of each toolbar, (n, 9) from node `first` on
    first: int = 0
    upto: int = 0  # steps that this stretch takes it to

    def carry(self, paddock: Paddock, lead: Settings, passes: Iterable[int]) -> None:
        """Have a toolbar in these passes, at rest where they begin. Raises StepError."""
        for k in passes:
            if k not in self.bars:
                carried = lead.toolbar == "carried"
                self.bars[k] = rolling_bar(paddock, self.speed, self.step, self.x_start) if carried else None
                self.nodes[k] = np.empty((0, 9))


def run_passes(paddock: Paddock, numbers: Sequence[int], stop: Callable[[], bool] = lambda: False) -> list[PassResult]:
    """All rows of passes of one length at all settings that the paddock tries.

    A row that leaves what the model can describe, and a setting that cannot be made, have no measures but a reason
    in `problems`. `stop` is asked between stretches; raises Stopped where it says so. ValueError for passes of more
    than one length.
    """
    return _crossed(paddock, numbers, range(paddock.machine.rows), stop)


def run_pass(paddock: Paddock, number: int) -> PassResult:
    """The same of one pass."""
    return run_passes(paddock, [number])[0]


def run_rows(paddock: Paddock, number: int, rows: Sequence[int]) -> PassResult:
    """Some rows of a pass (from 0) at all settings, bit for bit as in the whole pass; the other rows stay empty."""
    return _crossed(paddock, [number], rows, lambda: False)[0]


def _crossed(
    paddock: Paddock, numbers: Sequence[int], rows: Sequence[int], stop: Callable[[], bool]
) -> list[PassResult]:
    if len({paddock.length(number) for number in numbers}) > 1:
        raise ValueError(f"passes {list(numbers)} are not equally long: cross each by itself")
    settings = paddock.tried
    lanes = [Lanes(paddock, number) for number in numbers]
    results = [empty_result(paddock, its, settings) for its in lanes]
    blocks = blocks_of(rows, len(numbers))
    together = [
        places
        for speed in dict.fromkeys(s.speed for s in settings)
        for lines in blocks
        for places in _by_eight([Place(i, line) for i, s in enumerate(settings) if s.speed == speed for line in lines])
    ]
    # one bad row stops its group: its rows are then marched once more, each alone
    for places in _sweep(paddock, lanes, blocks, together, settings, results, stop):
        alone = [[place] for place in places]
        _sweep(paddock, lanes, blocks, alone, settings, results, stop)
    for result in results:
        result.sort_events()
    return results


def section_bounds(length: float, section: float, speed: float, step: float) -> NDArray[np.int64]:
    """First steps of the sections and the end, counted from the start of the march: (sections + 1,).

    As many sections whatever the speed; the last one takes what is left, if that is half of one or more.
    """
    travel = speed * step
    first = math.ceil(LEAD_IN / travel - 1e-9)
    number = sections_of(length, section)
    return even_bounds(first, number, section / travel, first + max(number, math.floor(length / travel + 1e-9)))


def _by_eight(places: list[Place]) -> Iterator[Places]:
    for i in range(0, len(places), WIDTH):
        yield places[i : i + WIDTH]


def _sweep(
    paddock: Paddock, lanes: Sequence[Lanes], blocks: Sequence[Sequence[Line]], chosen: Sequence[Places],
    settings: Sequence[Settings], results: Sequence[PassResult], stop: Callable[[], bool],
) -> list[Places]:  # fmt: skip
    """March groups over their passes and put their measures into the results → the groups that could not be finished.

    lanes, results: of each pass.
    """
    room = Room()
    speeds, lost = _start(paddock, lanes, blocks, chosen, settings, results)
    back, front = around(paddock)
    dx = lanes[0].dx
    x_end = max((s.x_start + int(s.bounds[-1]) * s.speed * s.step for s in speeds), default=0.0)
    at = math.floor(min((s.x_start for s in speeds), default=0.0) / dx) * dx
    while speeds and at < x_end:
        if stop():
            raise Stopped
        until = min(at + BLOCK, x_end + BLOCK * 1e-3)
        for speed in speeds:
            speed.upto = min(math.floor((until - speed.x_start) / (speed.speed * speed.step)), int(speed.bounds[-1]))
            _carry_on(lanes, speed, at, until)
        for block in sorted({group.block for speed in speeds for group in speed.groups}):
            parts = by_pass(blocks[block])
            ground, stones = grounds(paddock, lanes, parts, at - back, until + front, room)
            for speed in speeds:
                mine = replace(ground, paths=_paths(speed, lanes, parts, room), path_first=speed.first)
                lost += _march(speed, block, mine, stones, results)
        at = until
    for speed in speeds:
        while speed.groups:  # each is let go of as it is done
            group = speed.groups.pop(0)
            reduced = group.reducer.finish()
            for k, members in _of_passes(group.places).items():
                results[k].put_group(members, reduced, group.sampler)
                results[k].note_heeds(paddock, members, group.march, reduced)
    return lost


def _of_passes(places: Places) -> Mapping[int, Members]:
    """Which rows of a group belong to which pass."""
    found: dict[int, dict[int, tuple[int, int]]] = {}
    for row_of_group, (setting, line) in enumerate(places):
        found.setdefault(line.of, {})[row_of_group] = setting, line.row
    return found


def _start(
    paddock: Paddock, lanes: Sequence[Lanes], blocks: Sequence[Sequence[Line]], chosen: Sequence[Places],
    settings: Sequence[Settings], results: Sequence[PassResult],
) -> tuple[list[_Speed], list[Places]]:  # fmt: skip
    """Prepare all groups, by speed → what marches, and the groups that cannot be prepared together."""
    made: dict[float, _Speed] = {}
    lost: list[Places] = []
    for places in chosen:
        lead, block = settings[places[0].setting], next(k for k, some in enumerate(blocks) if places[0].line in some)
        try:
            if lead.speed not in made:
                made[lead.speed] = _at_speed(paddock, lanes[0].length, lead)
            made[lead.speed].carry(paddock, lead, {line.of for line in blocks[block]})
            cases = [Case(blocks[block].index(line), settings[i]) for i, line in places]
            group = prepare_group(paddock.unit, paddock.soil, paddock.stones.contact, cases)
        except SimulationError as error:
            if len(places) > 1:
                lost.append(places)
            else:
                _note_problem(results, places[0], error, lead.speed)
            continue
        speed, tolerance = made[lead.speed], paddock.limits.depth_tolerance
        reducer = Reducer(group, speed.x_start, speed.step, speed.bounds, tolerance, histograms="whole")
        every = paddock.keep.series_every
        sampler = None if every is None else Sampler(group, speed.bounds, speed.speed * speed.step, every)
        speed.groups.append(_Group(places, block, group, reducer, sampler))
        for k, members in _of_passes(places).items():
            results[k].note_setting(members, group)
    return [speed for speed in made.values() if speed.groups], lost


def rolling_bar(paddock: Paddock, speed: float, step: float, x_start: float) -> RollingBar:
    """The machine's toolbar on its wheels, at rest at x_start [m], with nodes at half steps [s]. Raises StepError."""
    machine = paddock.machine
    return RollingBar(
        paddock.unit, machine.front_wheels, machine.rear_wheels, machine.roll_inertia, speed, 0.5 * step, x_start
    )


def _at_speed(paddock: Paddock, length: float, lead: Settings) -> _Speed:
    """Step and start at the speed of these settings over passes of a length [m], no toolbars and groups yet.

    Raises StepError.
    """
    step = choose_step(paddock.unit, paddock.soil, paddock.stones.contact, lead).seconds
    bounds = section_bounds(length, paddock.passes.section, lead.speed, step)
    return _Speed(lead.speed, step, start_position(paddock.unit, 0.0), bounds, {}, [], {})


def _march(
    speed: _Speed, block: int, grounds: Grounds, stones: NDArray[np.float64] | None, results: Sequence[PassResult]
) -> list[Places]:
    """March all groups of a speed and block to the end of the stretch → those that could not be, which are dropped."""
    lost = []
    for group in [group for group in speed.groups if group.block == block]:
        try:
            if group.sampler is None:
                group.reducer.march(group.march, grounds, stones, speed.upto)
                continue
            for first, chunk in march_group(group.march, grounds, speed.x_start, speed.step, speed.upto):
                group.reducer.feed(first, chunk, grounds, stones)
                group.sampler.feed(first, chunk)
        except SimulationError as error:
            speed.groups.remove(group)
            if len(group.places) > 1:
                lost.append(group.places)
            else:
                _note_problem(results, group.places[0], error, speed.speed)
    return lost


def _note_problem(results: Sequence[PassResult], place: Place, error: SimulationError, speed: float) -> None:
    """Keep why a row alone could not be crossed."""
    results[place.line.of].problems[place.setting, place.line.row] = _why(error, speed)


def _why(error: SimulationError, speed: float) -> str:
    """Why a row alone could not be crossed; what a march stopped at, by its place along the pass."""
    if not isinstance(error, RowsError):
        return str(error)
    at = error.at * speed - LEAD_IN
    where = f"{at:.1f} m along the pass" if at >= 0.0 else f"{-at:.1f} m before the pass begins"
    return f"{error.reason}, {where}"


def _carry_on(lanes: Sequence[Lanes], speed: _Speed, at: float, until: float) -> None:
    """March the toolbars on, so that their nodes cover all steps of this stretch."""
    upto = 2 * speed.upto + TAIL
    done = speed.first + len(next(iter(speed.nodes.values())))
    first = max(done - TAIL, 0) // 2 * 2
    if upto <= done:
        return
    for k, bar in speed.bars.items():
        kept = speed.nodes[k][first - speed.first :]
        if bar is None:
            new = np.zeros((upto - done, 9))
        else:
            ahead, behind = bar.wheel_x.max(), bar.wheel_x.min()
            margin = bar.radius + TAIL * speed.speed * speed.step + 0.05
            dx = lanes[k].dx
            every = round(PATH_STEP / dx)  # so that the wheels' paths go on at the same points
            low = math.floor((at + behind - margin) / PATH_STEP) * every
            high = math.ceil((until + ahead + margin) / dx)
            new = bar.nodes(lanes[k].wheel_heights(low, high - low), low * dx, dx, upto)
        speed.nodes[k] = np.concatenate([kept, new])
    speed.first = first


def _paths(speed: _Speed, lanes: Sequence[Lanes], parts: Sequence[Part], room: Room) -> NDArray[np.float64]:
    """Paths of the lines of a block, (lines, nodes, 6)."""
    out = room.paths(parts[-1].inside.stop, len(speed.nodes[parts[0].of]))
    for k, rows, inside in parts:
        row_paths(speed.nodes[k], lanes[k].rows[rows], out[inside])
    return out
