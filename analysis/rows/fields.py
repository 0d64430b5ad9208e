"""Grounds and toolbars' paths that rows are marched over: one scenario's at one speed, or of rows of several."""

from __future__ import annotations

import threading
from collections.abc import Hashable, Sequence, Set
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.rows.cells import Laid
from analysis.rows.reducer import stack_stones, whole_run
from scenarios.scenario import Scenario
from sim.laws.contact import COLUMNS
from sim.march.rows import Grounds, stack_tables
from sim.run import start_position
from sim.step import choose_step
from sim.toolbar.path import path
from sim.unit import Settings


class Lain:
    """Tables of all grounds of a scenario, made when first asked for."""

    def __init__(self, laid: Sequence[Laid]):
        self.laid = laid
        self._lock = threading.Lock()
        self._made: tuple[NDArray[np.float64], NDArray[np.int32], NDArray[np.float64]] | None = None

    def tables(self) -> tuple[NDArray[np.float64], NDArray[np.int32], NDArray[np.float64]]:
        """Ground tables, stones and heights of the stones, each (tracks, …)."""
        with self._lock:
            if self._made is None:
                self._made = tables_of(self.laid)
            return self._made


def tables_of(laid: Sequence[Laid]) -> tuple[NDArray[np.float64], NDArray[np.int32], NDArray[np.float64]]:
    """Ground tables, stones and heights of the stones, each (tracks, …)."""
    return (*stack_tables([ground.tables for ground in laid]), stack_stones([ground.track for ground in laid]))


class Field:
    """The toolbar's paths over all grounds of a scenario at one speed, each made when first asked for.

    shared: settings of any of the rows; what is used of them all share. Raises StepError.
    """

    def __init__(self, scenario: Scenario, laid: Sequence[Laid], shared: Settings):
        self.scenario, self.laid = scenario, laid
        self.speed = shared.speed
        self.carried = shared.toolbar == "carried"
        self.step = choose_step(scenario.unit, scenario.soil, scenario.stones.contact, shared).seconds
        self.bounds = whole_run(laid[0].track, self.speed, self.step)
        self.x_start = start_position(scenario.unit, laid[0].track.x_from)
        self._users, self._lock = 0, threading.Lock()
        self._locks = [threading.Lock() for _ in laid]
        self._paths: NDArray[np.float64] | None = None
        self._done: set[int] = set()

    @property
    def nodes(self) -> int:
        """Nodes of a path."""
        return 2 * int(self.bounds[-1]) + 3

    @property
    def path_key(self) -> tuple[Hashable, ...]:
        """What a path over one ground depends on."""
        return self.scenario.unit.toolbar, self.x_start, self.speed, self.step, self.nodes, self.carried

    def paths(self, grounds: set[int]) -> NDArray[np.float64]:
        """Paths (tracks, nodes, 6), of which those over the grounds named are there."""
        with self._lock:
            if self._paths is None:
                self._paths = np.empty((len(self.laid), self.nodes, 6))
            made = self._paths
        for k in sorted(grounds):
            with self._locks[k]:
                if k not in self._done:
                    self.put_path(k, made[k])
                    self._done.add(k)
        return made

    def put_path(self, ground: int, into: NDArray[np.float64]) -> None:
        """Put the toolbar's path over a ground into (nodes, 6): the one kept with it where that is the same."""
        laid, unit, nodes = self.laid[ground], self.scenario.unit, len(into)
        t, asked = laid.track, self.path_key
        kept = None if laid.path is None else laid.path.get(asked)
        if kept is not None:
            into[:] = kept
            return
        path(unit, t.surface, t.x0, t.dx, self.x_start, self.speed, 0.5 * self.step, nodes, self.carried, into)
        if laid.path == {}:
            laid.path[asked] = into.copy()

    def enter(self) -> None:
        """One march more that will ask for paths."""
        self._users += 1

    def leave(self) -> None:
        """One march is done; the last one drops the paths."""
        with self._lock:
            self._users -= 1
            if self._users == 0:
                self._paths = None


def grounds_of(lain: Lain, field: Field, tracks: set[int]) -> tuple[Grounds, NDArray[np.float64]]:
    """What rows of one field are marched over: its grounds by their numbers, and the heights of the stones."""
    tables, stone_numbers, stones = lain.tables()
    x0, dx = lain.laid[0].tables.x0, lain.laid[0].tables.dx
    return Grounds(tables, stone_numbers, x0, dx, field.paths(tracks)), stones


class Gathered(NamedTuple):
    """What rows of several fields are marched over, and which of it is each row's."""

    grounds: Grounds
    stones: NDArray[np.float64]
    tracks: list[int]
    along: list[int]  # paths


def gathered(members: Sequence[tuple[Field, int]], once: Set[int]) -> Gathered:
    """Grounds and paths of rows, each given by its field and the number of its ground there; what two share is there
    once.

    once: `id` of grounds that no other march needs: their tables are not kept. Tables that lie side by side are not
    copied.
    """
    grounds: dict[int, Laid] = {}
    ways: dict[tuple[Hashable, ...], tuple[Field, int]] = {}
    tracks, along = [], []
    for field, k in members:
        laid = field.laid[k]
        grounds.setdefault(id(laid), laid)
        way = (id(laid), *field.path_key)
        ways.setdefault(way, (field, k))
        tracks.append(list(grounds).index(id(laid)))
        along.append(list(ways).index(way))
    paths = np.empty((len(ways), members[0][0].nodes, 6))
    for into, (field, k) in zip(paths, ways.values(), strict=True):
        field.put_path(k, into)
    lain = list(grounds.values())
    if once.isdisjoint(grounds):
        tables, stone_numbers, stones = tables_of(lain)
    else:
        tables = np.empty((len(lain), COLUMNS, lain[0].track.ground.size))
        made = [laid.tables_in(into, keep=id(laid) not in once) for laid, into in zip(lain, tables, strict=True)]
        stone_numbers, stones = np.stack([one.stone for one in made]), stack_stones([laid.track for laid in lain])
    track = lain[0].track
    return Gathered(Grounds(tables, stone_numbers, track.x0, track.dx, paths), stones, tracks, along)
