"""What is kept of one cell of a window, the crossing of one ground at one pressure and speed; and its grounds."""

from __future__ import annotations

import hashlib
from collections.abc import Hashable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scenarios.doubt.varied import lie_alike
from scenarios.scenario import Scenario
from sim.ground_tables import GroundTables, ground_tables
from sim.heeds import Heed
from sim.laws.contact import COLUMNS
from sim.track import Track
from sim.unit import Unit

NAN = float("nan")


class Crossing(NamedTuple):
    """What is kept of one crossing, SI units: `analysis.crossing.measures.in_window` by name.

    None of them where it could not be made (`problem` says why).
    """

    values: Mapping[str, float] = MappingProxyType({})
    problem: str = ""
    heeds: tuple[Heed, ...] = ()  # what a run of it would warn of

    def value(self, name: str) -> float:
        """A measure; NaN where it is not known."""
        return self.values.get(name, NAN)


@dataclass(frozen=True)
class Laid:
    """The ground of one seed, laid and made ready for the unit's wheels and disc as soon as it is crossed.

    path: where the toolbar's path over it is kept, the first that is asked for, by what it depends on; None: not kept.
    room: where the table is put; grounds that lie together are marched over without a copy. None: one of its own.
    """

    seed: int
    track: Track
    unit: Unit
    set_depth: float  # of the disc [m]
    path: dict[Hashable, NDArray[np.float64]] | None = field(default=None, compare=False, repr=False)
    room: NDArray[np.float64] | None = field(default=None, compare=False, repr=False)

    @cached_property
    def tables(self) -> GroundTables:
        """The ground as wheels and disc feel it."""
        return ground_tables(self.unit, self.track, self.set_depth, self.room)

    def tables_in(self, into: NDArray[np.float64], *, keep: bool) -> GroundTables:
        """`tables`, put into a room (COLUMNS, n); keep: they are asked for again, so that they are kept here too."""
        if keep or "tables" in vars(self):
            into[:] = self.tables.table
            return replace(self.tables, table=into)
        return ground_tables(self.unit, self.track, self.set_depth, into)

    @cached_property
    def digest(self) -> bytes:
        """BLAKE2b of all that `tables` and the toolbar's path are made of (twice as quick as SHA-256 in software)."""
        track = self.track
        ends = (track.x0, track.dx, track.x_from, track.x_to, track.rock, self.unit, self.set_depth)
        made = hashlib.blake2b(repr(ends).encode(), digest_size=32)
        for values in (track.ground, track.stone_top, track.stone_id, track.strength):
            bits = np.ascontiguousarray(values).view(f"u{values.itemsize}")
            alike = bits.size > 0 and bool((bits == bits[0]).all())  # no stones, one strength
            made.update(repr((values.dtype.str, values.shape, alike)).encode())
            made.update(bits[:1].data if alike else bits.data)
        return made.digest()


def lay(scenario: Scenario, seeds: tuple[int, ...]) -> tuple[Laid, ...]:
    """Grounds of a scenario by seed; of seeds that give one and the same ground only the first is kept."""
    laid: list[Laid] = []
    room = None
    for seed in seeds:
        track = scenario.track(seed)
        if not any(_same(track, other.track) for other in laid):
            if room is None:
                room = np.empty((len(seeds), COLUMNS, track.ground.size))  # takes memory where something is put only
            place = room[len(laid)]
            laid.append(Laid(seed, track, scenario.unit, scenario.settings.set_depth, room=place))
    return tuple(laid)


class Alike:
    """Grounds of scenarios that differ in a few values: those that lie like the first have its grounds, laid once, and
    where the toolbar's path over them is kept; others get grounds of their own each time.
    """

    def __init__(self, seeds: tuple[int, ...]) -> None:
        self.seeds = seeds
        self._first: tuple[Scenario, tuple[Laid, ...]] | None = None

    def of(self, scenario: Scenario) -> tuple[Laid, ...]:
        """Grounds of a scenario."""
        if self._first is not None and lie_alike(self._first[0], scenario):
            return self._first[1]
        made = lay(scenario, self.seeds)
        if self._first is None:
            made = tuple(replace(ground, path={}) for ground in made)
            self._first = scenario, made
        return made


def lay_from(scenario: Scenario, seeds: tuple[int, ...], first: int | None) -> tuple[Laid, ...]:
    """The same with the ground of one seed in front, where it is among them."""
    return lay(scenario, tuple(sorted(seeds, key=lambda seed: seed != first)))


def _same(a: Track, b: Track) -> bool:
    return all(
        np.array_equal(getattr(a, name), getattr(b, name)) for name in ("ground", "stone_top", "stone_id", "strength")
    )
