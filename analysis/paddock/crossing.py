"""One pass of a machine at all settings: ground made, marched and reduced stretch by stretch, nothing else kept.

All settings of a pass share its ground. It is made for eight rows at a time, which march over it at all settings before
the next eight; a row's result does not depend on its neighbours in the group, so the same pass gives the same bits
wherever and whenever it is computed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.paddock.result import PassResult, empty_result, put_group, sections_of
from analysis.paddock.series import Sampler
from analysis.rows.reducer import Reducer, even_bounds
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.rows import Lanes
from sim.arithmetic.simd import WIDTH
from sim.errors import RowsError, SimulationError
from sim.ground_tables import put_tables
from sim.laws.contact import COLUMNS
from sim.laws.wheel_soil import CONTACT_LENGTH
from sim.march.rows import Case, Grounds, Group, march_group, prepare_group
from sim.run import LEAD_IN, start_position
from sim.step import choose_step
from sim.toolbar.path import PATH_STEP
from sim.toolbar.roll import RollingBar, row_paths
from sim.unit import Settings

BLOCK = 40.0  # ground is made for so much travel of the toolbar at a time [m]
TAIL = 6  # nodes of the toolbar's path that two stretches share
ROOM = 0.3  # the unit's contact points swing by less than this beyond where they stand [m]

Places = Sequence[tuple[int, int]]  # (setting, row) of each row of a group


class Stopped(Exception):
    """A pass was given up because the user asked to stop."""


@dataclass
class _Group:
    """Up to eight rows on their way."""

    places: Places
    block: int  # of rows, whose ground it marches over
    march: Group
    reducer: Reducer
    sampler: Sampler | None


@dataclass
class _Speed:
    """All groups of one speed, and the toolbar that carries them."""

    speed: float
    step: float
    x_start: float
    bounds: NDArray[np.int64]
    bar: RollingBar | None  # None: held level
    groups: list[_Group]
    nodes: NDArray[np.float64]  # of the toolbar, from node `first` on
    first: int = 0
    upto: int = 0  # steps that this stretch takes it to


class _Room:
    """Arrays that every stretch fills anew: memory taken once costs less than taken afresh each time.

    Stretches differ by a sample or two: what is taken has some room to spare, or the first would soon be there twice.
    """

    def __init__(self) -> None:
        self._tables, self._paths = np.empty(0), np.empty(0)

    def tables(self, rows: int, samples: int) -> NDArray[np.float64]:
        """Room for ground tables, (rows, COLUMNS, samples)."""
        size = rows * COLUMNS * samples
        self._tables = _at_least(size, self._tables)
        return self._tables[:size].reshape(rows, COLUMNS, samples)

    def paths(self, rows: int, nodes: int) -> NDArray[np.float64]:
        """Room for the rows' paths, (rows, nodes, 6)."""
        size = rows * nodes * 6
        self._paths = _at_least(size, self._paths)
        return self._paths[:size].reshape(rows, nodes, 6)


def _at_least(size: int, taken: NDArray[np.float64]) -> NDArray[np.float64]:
    """The array that is taken, or a new one where it is too small."""
    return taken if taken.size >= size else np.empty(size + size // 16)


def run_pass(paddock: Paddock, number: int, stop: Callable[[], bool] = lambda: False) -> PassResult:
    """All rows of a pass at all settings that the paddock tries.

    A row that leaves what the model can describe, and a setting that cannot be made, have no measures but a reason
    in `problems`. `stop` is asked between stretches; raises Stopped where it says so.
    """
    return _crossed(paddock, number, range(paddock.machine.rows), stop)


def run_rows(paddock: Paddock, number: int, rows: Sequence[int]) -> PassResult:
    """Some rows of a pass (from 0) at all settings, bit for bit as in the whole pass; the other rows stay empty."""
    return _crossed(paddock, number, rows, lambda: False)


def _crossed(paddock: Paddock, number: int, rows: Sequence[int], stop: Callable[[], bool]) -> PassResult:
    settings = paddock.tried
    lanes = Lanes(paddock, number)
    result = empty_result(paddock, lanes, settings)
    blocks = [list(rows[k : k + WIDTH]) for k in range(0, len(rows), WIDTH)]
    together = [
        places
        for speed in dict.fromkeys(s.speed for s in settings)
        for some in blocks
        for places in _by_eight([(i, j) for i, s in enumerate(settings) if s.speed == speed for j in some])
    ]
    # one bad row stops its group: its rows are then marched once more, each alone
    for places in _sweep(paddock, lanes, blocks, together, settings, result, stop):
        alone = [[place] for place in places]
        _sweep(paddock, lanes, blocks, alone, settings, result, stop)
    return result


def section_bounds(length: float, section: float, speed: float, step: float) -> NDArray[np.int64]:
    """First steps of the sections and the end, counted from the start of the march: (sections + 1,).

    As many sections whatever the speed; the last one takes what is left, if that is half of one or more.
    """
    travel = speed * step
    first = math.ceil(LEAD_IN / travel - 1e-9)
    number = sections_of(length, section)
    return even_bounds(first, number, section / travel, first + max(number, math.floor(length / travel + 1e-9)))


def _by_eight(places: list[tuple[int, int]]) -> Iterator[Places]:
    for i in range(0, len(places), WIDTH):
        yield places[i : i + WIDTH]


def _sweep(
    paddock: Paddock, lanes: Lanes, blocks: Sequence[Sequence[int]], chosen: Sequence[Places],
    settings: Sequence[Settings], result: PassResult, stop: Callable[[], bool],
) -> list[Places]:  # fmt: skip
    """March groups over the pass and put their measures into the result → the groups that could not be finished."""
    room = _Room()
    speeds, lost = _start(paddock, lanes, blocks, chosen, settings, result)
    back, front = _around(paddock)
    x_end = max((s.x_start + int(s.bounds[-1]) * s.speed * s.step for s in speeds), default=0.0)
    at = math.floor(min((s.x_start for s in speeds), default=0.0) / lanes.dx) * lanes.dx
    while speeds and at < x_end:
        if stop():
            raise Stopped
        until = min(at + BLOCK, x_end + BLOCK * 1e-3)
        for speed in speeds:
            speed.upto = min(math.floor((until - speed.x_start) / (speed.speed * speed.step)), int(speed.bounds[-1]))
            _carry_on(lanes, speed, at, until)
        for block in sorted({group.block for speed in speeds for group in speed.groups}):
            rows = blocks[block]
            grounds, stones = _grounds(paddock, lanes, rows, at - back, until + front, room)
            for speed in speeds:
                paths = row_paths(speed.nodes, lanes.rows[rows], room.paths(len(rows), len(speed.nodes)))
                mine = replace(grounds, paths=paths, path_first=speed.first)
                lost += _march(speed, block, mine, stones, result)
        at = until
    for speed in speeds:
        for group in speed.groups:
            reduced = group.reducer.finish()
            put_group(result, group.places, reduced, group.sampler)
            result.note_heeds(paddock, group.places, group.march, reduced)
    return lost


def _start(
    paddock: Paddock, lanes: Lanes, blocks: Sequence[Sequence[int]], chosen: Sequence[Places],
    settings: Sequence[Settings], result: PassResult,
) -> tuple[list[_Speed], list[Places]]:  # fmt: skip
    """Prepare all groups, by speed → what marches, and the groups that cannot be prepared together."""
    made: dict[float, _Speed] = {}
    lost: list[Places] = []
    for places in chosen:
        lead, block = settings[places[0][0]], next(k for k, rows in enumerate(blocks) if places[0][1] in rows)
        try:
            if lead.speed not in made:
                made[lead.speed] = _at_speed(paddock, lanes, lead)
            cases = [Case(blocks[block].index(j), settings[i]) for i, j in places]
            group = prepare_group(paddock.unit, paddock.soil, paddock.stones.contact, cases)
        except SimulationError as error:
            if len(places) > 1:
                lost.append(places)
            else:
                result.problems[places[0]] = _why(error, lead.speed)
            continue
        speed, tolerance = made[lead.speed], paddock.limits.depth_tolerance
        reducer = Reducer(group, speed.x_start, speed.step, speed.bounds, tolerance, histograms="whole")
        every = paddock.keep.series_every
        sampler = None if every is None else Sampler(group, speed.bounds, speed.speed * speed.step, every)
        speed.groups.append(_Group(places, block, group, reducer, sampler))
        result.note_setting(places, group)
    return [speed for speed in made.values() if speed.groups], lost


def rolling_bar(paddock: Paddock, speed: float, step: float, x_start: float) -> RollingBar:
    """The machine's toolbar on its wheels, at rest at x_start [m], with nodes at half steps [s]. Raises StepError."""
    machine = paddock.machine
    return RollingBar(
        paddock.unit, machine.front_wheels, machine.rear_wheels, machine.roll_inertia, speed, 0.5 * step, x_start
    )


def _at_speed(paddock: Paddock, lanes: Lanes, lead: Settings) -> _Speed:
    """Step, start and toolbar at the speed of these settings, no groups yet. Raises StepError."""
    step = choose_step(paddock.unit, paddock.soil, paddock.stones.contact, lead).seconds
    x_start = start_position(paddock.unit, 0.0)
    bar = None
    if lead.toolbar == "carried":
        bar = rolling_bar(paddock, lead.speed, step, x_start)
    bounds = section_bounds(lanes.length, paddock.passes.section, lead.speed, step)
    return _Speed(lead.speed, step, x_start, bounds, bar, [], np.empty((0, 9)))


def _march(
    speed: _Speed, block: int, grounds: Grounds, stones: NDArray[np.float64] | None, result: PassResult
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
                result.problems[group.places[0]] = _why(error, speed.speed)
    return lost


def _why(error: SimulationError, speed: float) -> str:
    """Why a row alone could not be crossed; what a march stopped at, by its place along the pass."""
    if not isinstance(error, RowsError):
        return str(error)
    at = error.at * speed - LEAD_IN
    where = f"{at:.1f} m along the pass" if at >= 0.0 else f"{-at:.1f} m before the pass begins"
    return f"{error.reason}, {where}"


def _carry_on(lanes: Lanes, speed: _Speed, at: float, until: float) -> None:
    """March the toolbar on, so that its nodes cover all steps of this stretch."""
    upto = 2 * speed.upto + TAIL
    done = speed.first + len(speed.nodes)
    first = max(done - TAIL, 0) // 2 * 2
    kept = speed.nodes[first - speed.first :]
    if upto <= done:
        return
    if speed.bar is None:
        new = np.zeros((upto - done, 9))
    else:
        ahead, behind = speed.bar.wheel_x.max(), speed.bar.wheel_x.min()
        margin = speed.bar.radius + TAIL * speed.speed * speed.step + 0.05
        dx = lanes.dx
        every = round(PATH_STEP / dx)  # so that the wheels' paths go on at the same points
        low = math.floor((at + behind - margin) / PATH_STEP) * every
        high = math.ceil((until + ahead + margin) / dx)
        new = speed.bar.nodes(lanes.wheel_heights(low, high - low), low * dx, dx, upto)
    speed.nodes, speed.first = np.concatenate([kept, new]), first


def _around(paddock: Paddock) -> tuple[float, float]:
    """How far behind and ahead of O a row's contact points may come [m]."""
    unit = paddock.unit
    front = unit.toolbar.upper_pin[0]
    points = (
        unit.disc.hub[0],
        unit.gauge_wheel.arm_pivot[0] - unit.gauge_wheel.arm_length,
        unit.gauge_wheel.arm_pivot[0] + unit.gauge_wheel.arm_length,
        unit.press_wheel.pivot[0] - unit.press_wheel.arm_length,
    )
    nearest = math.cos(max(abs(unit.main_links.stop_down), abs(unit.main_links.stop_up)) + 0.15)
    back = -(front - unit.main_links.length + min(points)) + ROOM
    ahead = front - unit.main_links.length * nearest + max(points) + ROOM
    return back, max(ahead, ROOM)


def _grounds(
    paddock: Paddock, lanes: Lanes, rows: Sequence[int], low: float, high: float, room: _Room
) -> tuple[Grounds, NDArray[np.float64] | None]:
    """Ground tables of rows between two places [m] (no paths yet), and the stones' heights over the ground."""
    unit, depth, dx = paddock.unit, paddock.settings.set_depth, lanes.dx
    chord = math.sqrt(depth * (2.0 * unit.disc.radius - depth))
    wheels = max(unit.gauge_wheel.radius, unit.press_wheel.radius) + 0.5 * CONTACT_LENGTH
    reach = max(unit.disc.radius, wheels, chord)
    margin = math.ceil(reach / dx) + 4
    first, last = math.floor(low / dx) - 4 - margin, math.ceil(high / dx) + 4 + margin
    ground = lanes.row_ground(first, last - first, rows)
    tables = room.tables(*ground.ground.shape)
    stones = put_tables(unit, depth, dx, ground.ground, ground.stone_top, ground.stone_id, ground.strength, tables)
    heights = None
    if (ground.stone_id >= 0).any():
        heights = np.maximum(ground.stone_top - ground.ground, 0.0)
    return Grounds(tables, stones, first * dx, dx, np.empty((0, 0, 6))), heights
