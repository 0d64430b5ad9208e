"""Many rows, eight in a march: chunks of channels come out, memory stays flat in distance.

Rows may differ in track, unit, soil, stones' contact and settings, but for what `alike` names; and they go by the same
travel in a step, which rows at one speed do, and rows at any speeds whose steps are the usual ones and hold the travel
(`sim.step.travel_in`). `march_group` yields the channels of `sim.march.march_rows.ROW_CHANNELS` and the squared pin
forces for a chunk of steps at a time.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.simd import WIDTH
from sim.errors import GridError, RowsError
from sim.ground_tables import GroundTables
from sim.laws.gas import GasLaw, law_named
from sim.march import loop as kernel
from sim.march.march_rows import CARRIED, CHUNK_WIDTH, march_rows, rows_at
from sim.mechanism.kinematics import State
from sim.model import VARIED, VARIED_OF_ANY, Model, ModelOfAny
from sim.run import Prepared, arm_limits, prepare, start, start_position
from sim.step import travel_in
from sim.toolbar.path import path
from sim.track import Track
from sim.unit import Rock, Settings, Soil, Unit
from sim.worn import is_worn

CHUNK = 256  # steps in a chunk: its channels stay in the second cache

_OF_ANY = [Model._fields.index(name) for name in VARIED_OF_ANY]
_OF_ONE = [VARIED_OF_ANY.index(name) for name in VARIED]
_SPEED = VARIED_OF_ANY.index("speed")
_BY_UNIT = [k for k, name in enumerate(VARIED_OF_ANY) if name not in VARIED]

Each = float | Sequence[float] | NDArray[np.float64]  # one number for all rows, or one of each


@dataclass(frozen=True)
class Grounds:
    """Tables of several tracks on one grid, and toolbars' paths, with their nodes half a step apart."""

    tables: NDArray[np.float64]  # (tracks, COLUMNS, n)
    stones: NDArray[np.int32]  # (tracks, n)
    x0: float
    dx: float
    paths: NDArray[np.float64]  # (number, nodes, 6)
    path_first: int = 0  # node of the run at which `paths` begins


def stack_tables(tables: Sequence[GroundTables]) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Tables (tracks, COLUMNS, n) and stones (tracks, n) of tracks on one grid; GridError where the grids differ.

    Tables that lie one behind the other in one array are given as they lie there, all others copied.
    """
    first = tables[0]
    if any((t.x0, t.dx, t.table.shape) != (first.x0, first.dx, first.table.shape) for t in tables):
        raise GridError("tracks of one group lie on different grids: allowed is one x0, spacing and length for all")
    return _together([t.table for t in tables]), np.stack([t.stone for t in tables])


def _together(tables: list[NDArray[np.float64]]) -> NDArray[np.float64]:
    """Tables (k, n) as one (tables, k, n)."""
    first = tables[0]
    if len(tables) == 1:
        return first[None]
    room = first.base
    if room is not None and room.ndim == 3 and room.shape[1:] == first.shape and room.flags.c_contiguous:
        begin = (first.ctypes.data - room.ctypes.data) // first.nbytes
        here = room[begin : begin + len(tables)]
        if len(here) == len(tables) and all(
            one.base is room and one.ctypes.data == place.ctypes.data for one, place in zip(tables, here, strict=True)
        ):
            return here
    return np.stack(tables)


def toolbar_paths(
    unit: Unit, tracks: Sequence[Track], speed: float, step: float, steps: int, carried: bool
) -> NDArray[np.float64]:
    """Toolbar's path over each track for `steps` steps → (tracks, 2·steps + 3, 6)."""
    nodes = 2 * steps + 3
    return np.stack(
        [
            path(unit, t.surface, t.x0, t.dx, start_position(unit, t.x_from), speed, 0.5 * step, nodes, carried)
            for t in tracks
        ]
    )


@dataclass(frozen=True)
class Case:
    """One row: its track and settings; crank: its angle [rad] where it is held (`sim.run.held_at`)."""

    track: int
    settings: Settings
    crank: float | None = None


class Subject(NamedTuple):
    """What is marched: a unit, the soil that it is on, and the stones' contact."""

    unit: Unit
    soil: Soil
    rock: Rock


def alike(subject: Subject, settings: Settings) -> dict[str, Hashable]:
    """What all rows of one march share, by its name in words."""
    held = settings.oil == "held"
    return {
        "hold time of the oil": subject.unit.accumulator.hold_time if held else None,
        "gas law": settings.gas,
        "wear": is_worn(subject.unit),
    }


@dataclass
class Group:
    """Up to eight rows ready to march; the arrays are the rows' state and move with the march."""

    model: Model  # of the first row, read for what all share; a ModelOfAny where rows have more than one subject
    law: GasLaw
    ready: tuple[Prepared, ...]  # by row
    varied: NDArray[np.float64]  # (len(VARIED_OF_ANY), 8)
    which: NDArray[np.int64]  # (8,) track of each row
    along: NDArray[np.int64]  # (8,) path of each row
    z_bar: NDArray[np.float64]  # (8,)
    state: NDArray[np.float64]  # (CARRIED, 8) as `sim.march.march_rows.march_chunk` carries it on
    sunk: NDArray[np.float64]  # (16,) sinking of the stones met [m], then 1 where one gave way in the last step
    met: NDArray[np.int64]  # (8,)
    limits: NDArray[np.float64]  # (2, 8) allowed arm angles [rad]
    sums: NDArray[np.float64]  # (3, 8) as `sim.march.march_rows.march_chunk` carries them on
    stored: NDArray[np.float64]  # (8,) `sim.mechanism.energy.moving_energy` at the start [J]
    rows: int  # rows that count; the other lanes repeat the last
    loose: NDArray[np.float64] | None = None  # (N_PLAY, 8) play of worn pins; None: no wear
    cut_steps: int = 0
    step: int = 0  # steps done

    @property
    def speeds(self) -> NDArray[np.float64]:
        """Of each row, (8,) [m/s]."""
        return self.varied[_SPEED]


@lru_cache(maxsize=512)
def _ready(
    unit: Unit, soil: Soil, rock: Rock, settings: Settings, crank: float | None
) -> tuple[Prepared, tuple[State, NDArray[np.float64] | None]]:
    """What stands before the first step, and the state and play there (remembered: many rows share one)."""
    ready = prepare(unit, soil, rock, settings, crank)
    return ready, start(unit, soil, ready)


def check_row(subject: Subject, case: Case) -> None:
    """Raises the error that the row would end `prepare_rows` with; what is found on the way is remembered."""
    _ready(*subject, case.settings, case.crank)


def prepare_group(unit: Unit, soil: Soil, rock: Rock, cases: Sequence[Case]) -> Group:
    """`prepare_rows` of one unit on one soil; the toolbar's path of a row is that with the number of its track."""
    return prepare_rows([Subject(unit, soil, rock)] * len(cases), cases, of_any=False)


def prepare_rows(
    subjects: Sequence[Subject], cases: Sequence[Case], along: Sequence[int] | None = None, *, of_any: bool = True
) -> Group:
    """Settings and equilibria of one to eight rows, each a subject and its case.

    along: number of the path of each row; None: that of its track · of_any: to be marched as rows of any subjects are;
    else all are of one. Both give the same to rounding. Errors as `sim.run.prepare`; ValueError for rows that are not
    `alike`.
    """
    if not 1 <= len(cases) <= WIDTH:
        raise ValueError(f"{len(cases)} rows in a group: allowed are 1 to {WIDTH}")
    unit, lead = subjects[0].unit, cases[0].settings
    shared = alike(subjects[0], lead)
    for subject, case in zip(subjects[1:], cases[1:], strict=True):
        other = shared if (subject, case.settings) == (subjects[0], lead) else alike(subject, case.settings)
        unlike = [name for name in shared if shared[name] != other[name]]
        if unlike:
            raise ValueError(f"rows of one group differ in {', '.join(unlike)}: march them in groups of their own")
    made = (_ready(*subject, case.settings, case.crank) for subject, case in zip(subjects, cases, strict=True))
    ready, begun = zip(*made, strict=True)
    state, loose = zip(*begun, strict=True)
    paths = [case.track for case in cases] if along is None else along
    fill = [*range(len(cases)), *[len(cases) - 1] * (WIDTH - len(cases))]
    varied = np.array([ready[j].model for j in fill]).T[_OF_ANY]
    if not of_any and (unlike := _unlike(varied)):
        raise ValueError(f"rows of one unit and soil differ in {', '.join(unlike)}: march them as rows of any")
    return Group(
        model=ModelOfAny(*ready[0].model) if of_any else ready[0].model,
        law=law_named(lead.gas),
        ready=ready,
        varied=varied,
        which=np.array([cases[j].track for j in fill], dtype=np.int64),
        along=np.array([paths[j] for j in fill], dtype=np.int64),
        z_bar=np.array([ready[j].setting.toolbar_height for j in fill]),
        state=_at_rest(np.array([state[j] for j in fill]).T),
        sunk=np.zeros(2 * WIDTH),
        met=np.full(WIDTH, -1, dtype=np.int64),
        limits=np.array([arm_limits(subjects[j].unit) for j in fill]).T.copy(),
        sums=np.zeros((3, WIDTH)),
        stored=np.full(WIDTH, np.nan),
        rows=len(cases),
        loose=np.array([loose[j] for j in fill]).T.copy() if is_worn(unit) else None,
    )


def _unlike(varied: NDArray[np.float64]) -> list[str]:
    """Names of numbers (len(VARIED_OF_ANY), 8) in which rows differ and those of one unit and soil may not."""
    differ = (varied[_BY_UNIT] != varied[_BY_UNIT, :1]).any(axis=1)
    return [VARIED_OF_ANY[k] for k, one in zip(_BY_UNIT, differ.tolist(), strict=True) if one]


def _at_rest(y: NDArray[np.float64]) -> NDArray[np.float64]:
    """What is carried from chunk to chunk before the first, with nothing of a step before: y (8 quantities, 8 rows)."""
    carried = np.zeros((CARRIED, WIDTH))
    carried[: len(y)] = carried[len(y) : 2 * len(y)] = y
    return carried


def worn_of(group: Group) -> tuple[NDArray[np.float64], ...]:
    """The play of a group's rows, flat, as the last argument of the compiled loops; nothing without wear."""
    return () if group.loose is None else (group.loose.reshape(-1),)


def for_each(group: Group, value: Each) -> NDArray[np.float64]:
    """A number of all rows, or the numbers of each, for all lanes, (8,): those that do not count repeat the last."""
    given = np.broadcast_to(np.asarray(value, dtype=np.float64), (group.rows,))
    return np.concatenate([given, np.repeat(given[-1], WIDTH - group.rows)])


def steps_of(group: Group, step: Each) -> tuple[float, NDArray[np.float64]]:
    """Travel in a step [m], and the step of each row (8,) [s]. Raises ValueError where rows do not travel alike."""
    steps = for_each(group, step)
    travels = {travel_in(*pair) for pair in zip(steps.tolist(), group.speeds.tolist(), strict=True)}
    if len(travels) > 1:
        raise ValueError(
            f"rows of one group travel from {min(travels) * 1e3:.4g} to {max(travels) * 1e3:.4g} mm in a step: march "
            "them in groups of their own"
        )
    return travels.pop(), steps


def _here(group: Group, grounds: Grounds, x_start: Each, step: Each) -> NDArray[np.float64]:
    """`sim.march.march_rows.rows_at` the step that a group has come to; `grounds` must hold it."""
    out = np.empty((3, WIDTH))
    rows_at(
        ModelOfAny(*group.model), group.varied.reshape(-1), group.law, grounds.tables, group.which, grounds.x0,
        1.0 / grounds.dx, grounds.paths, group.along, group.z_bar, for_each(group, x_start), *steps_of(group, step),
        grounds.path_first, group.step, group.state.reshape(-1), group.sunk, out, *worn_of(group),
    )  # fmt: skip
    return out


def varied_of(group: Group) -> NDArray[np.float64]:
    """What differs between a group's rows, flat, as its march reads it."""
    return (group.varied if isinstance(group.model, ModelOfAny) else group.varied[_OF_ONE]).reshape(-1)


def begin_balance(group: Group, grounds: Grounds, x_start: Each, step: Each) -> None:
    """Note what a group has stored before its first step; nothing where it is under way. Arguments as `march_group`."""
    if group.step == 0:
        group.stored = _here(group, grounds, x_start, step)[0]


def residual_share(group: Group, grounds: Grounds, x_start: Each, step: Each) -> NDArray[np.float64]:
    """Energy left over so far as a share of the toolbar's traffic, by row: `sim.record.Energy.sampled_share`."""
    stored, power, passed = _here(group, grounds, x_start, step)
    kept, traffic, behind = group.sums
    left = kept + behind * power - (stored - group.stored)
    return (np.abs(left) / np.maximum(traffic + behind * passed, 1e-9))[: group.rows]


def march_group(
    group: Group, grounds: Grounds, x_start: Each, step: Each, steps: int, chunk: int = CHUNK
) -> Iterator[tuple[int, NDArray[np.float64]]]:
    """March a group on to `steps` steps in all; yields (first step, channels (n, CHUNK_WIDTH, 8)) chunk by chunk.

    The array is used again for the next chunk: reduce or copy it. x_start [m] as `sim.run.start_position` and
    step [s], of all rows or of each. Raises RowsError where a row leaves what the model can describe.
    """
    buffer = np.empty((chunk, CHUNK_WIDTH, WIDTH))
    (travel, each), starts = steps_of(group, step), for_each(group, x_start)
    info = np.zeros(3)
    begin_balance(group, grounds, x_start, step)
    while group.step < steps:
        n = min(chunk, steps - group.step)
        out = buffer[:n]
        status = march_rows(
            group.model, varied_of(group), group.law, grounds.tables, grounds.stones, group.which, grounds.x0,
            1.0 / grounds.dx, grounds.paths, group.along, group.z_bar, starts, travel, each, group.limits.reshape(-1),
            grounds.path_first, group.step, group.state.reshape(-1), group.sunk, group.met, group.sums.reshape(-1),
            out.reshape(-1), info, *worn_of(group),
        )  # fmt: skip
        if status != kernel.OK:
            rows = [j for j in range(group.rows) if int(info[2]) >> j & 1]
            raise RowsError(rows, (group.step + info[0]) * each[rows[0]])
        first = group.step
        group.step += n
        yield first, out
    group.cut_steps = int(info[1])
