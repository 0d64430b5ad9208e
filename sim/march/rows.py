"""Many rows at one speed, eight in a march: chunks of channels come out, memory stays flat in distance.

Rows may differ in track and in settings (pressures, precharge, depth, setting redone or not), not in unit, soil
constants, speed, gas temperature or the stones' contact law. `march_group` yields the channels of
`sim.march.march_rows.ROW_CHANNELS` and the squared pin forces for a chunk of steps at a time.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.simd import WIDTH
from sim.errors import GridError, RowsError
from sim.ground_tables import GroundTables
from sim.laws.gas import GasLaw, law_named
from sim.march import loop as kernel
from sim.march.march_rows import CARRIED, CHUNK_WIDTH, march_rows, rows_at
from sim.mechanism.kinematics import State
from sim.model import VARIED, Model
from sim.run import Prepared, arm_limits, prepare, start, start_position
from sim.toolbar.path import path
from sim.track import Track
from sim.unit import Rock, Settings, Soil, Unit
from sim.worn import is_worn

CHUNK = 256  # steps in a chunk: its channels stay in the second cache

SHARED = ("speed", "gas_temperature", "precharge_temperature", "gas", "oil", "press_notch", "toolbar")


@dataclass(frozen=True)
class Grounds:
    """Tables of several tracks on one grid, and the toolbar's path over each at one speed and step."""

    tables: NDArray[np.float64]  # (tracks, COLUMNS, n)
    stones: NDArray[np.int32]  # (tracks, n)
    x0: float
    dx: float
    paths: NDArray[np.float64]  # (tracks, nodes, 6)
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


@dataclass
class Group:
    """Up to eight rows ready to march; the arrays are the rows' state and move with the march."""

    model: Model
    law: GasLaw
    ready: tuple[Prepared, ...]  # by row
    varied: NDArray[np.float64]  # (len(VARIED), 8)
    which: NDArray[np.int64]  # (8,)
    z_bar: NDArray[np.float64]  # (8,)
    state: NDArray[np.float64]  # (CARRIED, 8) as `sim.march.march_rows.march_chunk` carries it on
    sunk: NDArray[np.float64]  # (16,) sinking of the stones met [m], then 1 where one gave way in the last step
    met: NDArray[np.int64]  # (8,)
    limits: tuple[float, float]  # allowed arm angles [rad]
    sums: NDArray[np.float64]  # (3, 8) as `sim.march.march_rows.march_chunk` carries them on
    stored: NDArray[np.float64]  # (8,) `sim.mechanism.energy.moving_energy` at the start [J]
    rows: int  # rows that count; the other lanes repeat the last
    loose: NDArray[np.float64] | None = None  # (N_PLAY, 8) play of worn pins; None: no wear
    cut_steps: int = 0
    step: int = 0  # steps done


@lru_cache(maxsize=512)
def _ready(
    unit: Unit, soil: Soil, rock: Rock, settings: Settings, crank: float | None
) -> tuple[Prepared, tuple[State, NDArray[np.float64] | None]]:
    """What stands before the first step, and the state and play there (remembered: many rows share one)."""
    ready = prepare(unit, soil, rock, settings, crank)
    return ready, start(unit, soil, ready)


def prepare_group(unit: Unit, soil: Soil, rock: Rock, cases: Sequence[Case]) -> Group:
    """Settings and equilibria of one to eight rows. Errors as `sim.run.prepare`; ValueError for unlike rows."""
    if not 1 <= len(cases) <= WIDTH:
        raise ValueError(f"{len(cases)} rows in a group: allowed are 1 to {WIDTH}")
    lead = cases[0].settings
    for case in cases:
        unlike = [name for name in SHARED if getattr(case.settings, name) != getattr(lead, name)]
        if unlike:
            raise ValueError(f"rows of one group differ in {', '.join(unlike)}: march them in groups of their own")
    ready, begun = zip(*(_ready(unit, soil, rock, case.settings, case.crank) for case in cases), strict=True)
    state, loose = zip(*begun, strict=True)
    fill = [*range(len(cases)), *[len(cases) - 1] * (WIDTH - len(cases))]
    return Group(
        model=ready[0].model,
        law=law_named(lead.gas),
        ready=ready,
        varied=np.array([[getattr(ready[j].model, f) for j in fill] for f in VARIED]),
        which=np.array([cases[j].track for j in fill], dtype=np.int64),
        z_bar=np.array([ready[j].setting.toolbar_height for j in fill]),
        state=_at_rest(np.array([state[j] for j in fill]).T),
        sunk=np.zeros(2 * WIDTH),
        met=np.full(WIDTH, -1, dtype=np.int64),
        limits=arm_limits(unit),
        sums=np.zeros((3, WIDTH)),
        stored=np.full(WIDTH, np.nan),
        rows=len(cases),
        loose=np.array([loose[j] for j in fill]).T.copy() if is_worn(unit) else None,
    )


def _at_rest(y: NDArray[np.float64]) -> NDArray[np.float64]:
    """What is carried from chunk to chunk before the first, with nothing of a step before: y (8 quantities, 8 rows)."""
    carried = np.zeros((CARRIED, WIDTH))
    carried[: len(y)] = carried[len(y) : 2 * len(y)] = y
    return carried


def worn_of(group: Group) -> tuple[NDArray[np.float64], ...]:
    """The play of a group's rows, flat, as the last argument of the compiled loops; nothing without wear."""
    return () if group.loose is None else (group.loose.reshape(-1),)


def _here(group: Group, grounds: Grounds, x_start: float, step: float) -> NDArray[np.float64]:
    """`sim.march.march_rows.rows_at` the step that a group has come to; `grounds` must hold it."""
    out = np.empty((3, WIDTH))
    rows_at(
        group.model, group.varied.reshape(-1), group.law, grounds.tables, group.which, grounds.x0, 1.0 / grounds.dx,
        grounds.paths, group.z_bar, x_start, step, grounds.path_first, group.step, group.state.reshape(-1), group.sunk,
        out, *worn_of(group),
    )  # fmt: skip
    return out


def begin_balance(group: Group, grounds: Grounds, x_start: float, step: float) -> None:
    """Note what a group has stored before its first step; nothing where it is under way. Arguments as `march_group`."""
    if group.step == 0:
        group.stored = _here(group, grounds, x_start, step)[0]


def residual_share(group: Group, grounds: Grounds, x_start: float, step: float) -> NDArray[np.float64]:
    """Energy left over so far as a share of the toolbar's traffic, by row: `sim.record.Energy.sampled_share`."""
    stored, power, passed = _here(group, grounds, x_start, step)
    kept, traffic, behind = group.sums
    left = kept + behind * power - (stored - group.stored)
    return (np.abs(left) / np.maximum(traffic + behind * passed, 1e-9))[: group.rows]


def march_group(
    group: Group, grounds: Grounds, x_start: float, step: float, steps: int, chunk: int = CHUNK
) -> Iterator[tuple[int, NDArray[np.float64]]]:
    """March a group on to `steps` steps in all; yields (first step, channels (n, CHUNK_WIDTH, 8)) chunk by chunk.

    The array is used again for the next chunk: reduce or copy it. x_start [m] as `sim.run.start_position`, step [s].
    Raises RowsError where a row leaves what the model can describe.
    """
    buffer = np.empty((chunk, CHUNK_WIDTH, WIDTH))
    info = np.zeros(3)
    begin_balance(group, grounds, x_start, step)
    while group.step < steps:
        n = min(chunk, steps - group.step)
        out = buffer[:n]
        status = march_rows(
            group.model, group.varied.reshape(-1), group.law, grounds.tables, grounds.stones, group.which, grounds.x0,
            1.0 / grounds.dx, grounds.paths, group.z_bar, x_start, step, *group.limits, grounds.path_first,
            group.step, group.state.reshape(-1), group.sunk, group.met, group.sums.reshape(-1), out.reshape(-1), info,
            *worn_of(group),
        )  # fmt: skip
        if status != kernel.OK:
            rows = [j for j in range(group.rows) if int(info[2]) >> j & 1]
            raise RowsError(rows, (group.step + info[0]) * step)
        first = group.step
        group.step += n
        yield first, out
    group.cut_steps = int(info[1])
