"""Rows marched and reduced at once: chunks of channels in, measures by row and section out; no series is kept.

    reducer = Reducer(group, x_start, step, bounds, tolerance)
    reducer.march(group, grounds, stones, int(bounds[-1]))
    reduced = reducer.finish()

Where the ground comes in windows, `march` is called with each in turn, up to the last step that it holds. Where the
channels themselves are wanted too, `feed` takes the chunks that `sim.march.rows.march_group` yields instead. A row's
measures depend neither on windows and chunks nor on the other rows.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.crossing import events as machine
from analysis.crossing.breakouts import ARM_ANGLE, stone_heights
from analysis.rows.feed import (
    BREAKOUTS,
    EPISODES,
    KEPT,
    LATE,
    SEEN,
    Kept,
    Where,
    feed,
    march_and_feed,
    march_and_feed_any,
)
from analysis.rows.reduced import ERROR_BINS, GAUGE_BINS, Histogram, Reduced, values_of
from analysis.rows.sums import RECORD, STRIDE
from sim.arithmetic.simd import WIDTH
from sim.errors import RowsError
from sim.laws.contact import COLUMNS
from sim.march.loop import OK
from sim.march.rows import Each, Grounds, Group, begin_balance, for_each, residual_share, steps_of, varied_of, worn_of
from sim.model import ModelOfAny
from sim.run import measured_steps
from sim.track import Track
from sim.worn import knocks_of

Bounds = NDArray[np.int64]

UNIT = ("l", "u0x", "u0z", "hub_x", "hub_z")  # numbers of the model that say where a disc is (`feed.Where`)
CHUNK = 128  # steps in a chunk: its channels stay in the second cache


def whole_run(track: Track, speed: float, step: float) -> Bounds:
    """One section: all steps that are measured."""
    return np.array(measured_steps(track, speed, step), dtype=np.int64)


def sections(track: Track, speed: float, step: float, length: float) -> Bounds:
    """Sections of a length [m], to the nearest step; the last one takes what is left, if that is half of one or more.

    → (sections + 1,) first steps and the end, counted from the start of the march.
    """
    first, last = measured_steps(track, speed, step)
    per_section = length / (speed * step)
    return even_bounds(first, max(1, round((last - first) / per_section)), per_section, last)


def even_bounds(first: int, number: int, per_section: float, last: int) -> Bounds:
    """A number of sections of so many steps, the last one up to step `last` → (number + 1,)."""
    bounds = first + np.round(np.arange(number + 1) * per_section).astype(np.int64)
    bounds[-1] = last
    return bounds


def stack_stones(tracks: list[Track]) -> NDArray[np.float64]:
    """Height of the stones over the ground of several tracks, (tracks, n) [m]; (0, 0) where no track has any."""
    if not any((track.stone_id >= 0).any() for track in tracks):
        return np.zeros((0, 0))
    return np.stack([stone_heights(track) for track in tracks])


class Reducer:
    """Takes the chunks of a group of rows and gives their measures.

    group before its march · x_start [m] and step [s] of that march, of all rows or of each · bounds (sections + 1,) of
    the sections, rising · tolerance of the depth [m] · histograms of depth error and gauge load: "whole" over all
    sections, "sections" one for each, "" none.
    Memory does not grow with the number of steps, only with sections and events.
    """

    def __init__(
        self,
        group: Group,
        x_start: Each,
        step: Each,
        bounds: Bounds,
        tolerance: float,
        *,
        histograms: str = "",
    ):
        self._start = x_start, step
        self._kernel = march_and_feed_any if isinstance(group.model, ModelOfAny) else march_and_feed
        if np.any(np.diff(bounds) <= 0) or len(bounds) < 2:
            raise ValueError(f"bounds of sections {bounds}: allowed are two or more that rise")
        self.bounds = np.asarray(bounds, dtype=np.int64)
        self.travel, steps = steps_of(group, step)
        self._group = group
        self._where = Where(
            np.ravel([for_each(group, [getattr(ready.model, name) for ready in group.ready]) for name in UNIT]),
            for_each(group, x_start), self.travel, steps, int(bounds[0]), np.zeros((1, 1, 6)), 0,
            np.zeros((0, 0)), 0.0, 1.0,
        )  # fmt: skip
        number = self.bounds.size - 1
        kept_counts = {"": 0, "whole": 1, "sections": number}[histograms]
        self._rules = machine.rules(
            self.travel,
            tolerance,
            for_each(group, [ready.model.v_acc for ready in group.ready]),
            for_each(group, [ready.unit.main_links.angle_nominal + ARM_ANGLE for ready in group.ready]),
        )
        self._kept = Kept(
            place=np.zeros(4, dtype=np.int64),
            bounds=self.bounds - self.bounds[0],
            head=np.zeros(2 * KEPT * STRIDE),
            late=np.zeros(2 * LATE * WIDTH),
            state=machine.nothing_met(WIDTH),
            record=np.zeros(len(RECORD) * WIDTH),
            error_counts=_counts(kept_counts, ERROR_BINS),
            gauge_counts=_counts(kept_counts, GAUGE_BINS),
            set_depth=for_each(group, [ready.model.set_depth for ready in group.ready]),
            zero=np.zeros(WIDTH),
            tracks=group.which.astype(np.float64),
            path_starts=np.zeros(WIDTH, dtype=np.int64),
            rows=group.rows,
        )
        self._done = np.empty((number, len(RECORD), WIDTH))
        self._marched: tuple[Any, ...] | None = None
        self._energy = np.full(group.rows, np.nan)
        self._events = {
            EPISODES: np.empty((0, machine.EPISODE_COLUMNS)),
            BREAKOUTS: np.empty((0, machine.BREAKOUT_COLUMNS)),
        }

    def feed(
        self, first: int, chunk: NDArray[np.float64], grounds: Grounds, stones: NDArray[np.float64] | None = None
    ) -> None:
        """Take the next chunk: its first step and its channels, as `march_group` yields them.

        grounds: those it was marched on · stones (tracks, n): `stack_stones` on the same grid, None where there are
        none. Steps ahead of the first section and behind the last are passed over. Raises ValueError for a gap.
        """
        expected = int(self.bounds[0] + self._kept.place[SEEN])
        begin = min(max(expected - first, 0), len(chunk))
        wanted = chunk[begin : max(int(self.bounds[-1]) - first, begin)]
        if not len(wanted):
            return
        if first + begin != expected:
            raise ValueError(f"a chunk from step {first} on, but step {expected} is next: feed every chunk, in order")
        self._make_room(len(wanted))
        where, results = self._at(grounds, stones), self._results()
        feed(where, *results[:2], wanted.reshape(-1), len(wanted), False, *results[2:])
        self._balance(grounds)

    def march(
        self, group: Group, grounds: Grounds, stones: NDArray[np.float64] | None, steps: int, chunk: int = CHUNK
    ) -> None:
        """March the group on to `steps` steps in all and reduce on the way; the same as `feed` with every chunk, but
        in compiled code throughout.

        grounds, stones: as `feed`; they must hold what the rows meet on the way. Raises RowsError where a row leaves
        what the model can describe: group and reducer are then of no more use.
        """
        info, buffer = np.zeros(4), np.empty(chunk * STRIDE)
        where = self._at(grounds, stones)
        begin_balance(group, grounds, *self._start)
        while group.step < steps:
            self._make_room(chunk)
            self._marched = self._given(group, grounds, where, steps, buffer, info)
            status = self._kernel(*self._marched, *self._results(), *worn_of(group))
            group.cut_steps = int(info[1])
            if status != OK:
                bad = [j for j in range(group.rows) if int(info[2]) >> j & 1]
                raise RowsError(bad, (info[3] + info[0]) * where.steps[bad[0]])
            group.step = int(info[3])
        self._balance(grounds)

    @staticmethod
    def _given(
        group: Group, grounds: Grounds, where: Where, steps: int, buffer: NDArray[np.float64], info: NDArray[np.float64]
    ) -> tuple[Any, ...]:
        return (
            group.model, varied_of(group), group.law, grounds.tables, grounds.stones, group.which,
            group.along, group.z_bar, group.limits.reshape(-1), group.step, steps, False, group.state.reshape(-1),
            group.sunk, group.met, group.sums.reshape(-1), buffer, info, where,
        )  # fmt: skip

    def first_call(self) -> tuple[Any, tuple[Any, ...]]:
        """The compiled loop and what it is called with, over ground of no meaning: for its types."""
        nowhere = Grounds(np.zeros((1, COLUMNS, 2)), np.zeros((1, 2), dtype=np.int32), 0.0, 1.0, np.zeros((1, 3, 6)))
        given = self._given(self._group, nowhere, self._at(nowhere, None), 0, np.empty(STRIDE), np.zeros(4))
        return self._kernel, (*given, *self._results(), *worn_of(self._group))

    def finish(self) -> Reduced:
        """The measures. Raises ValueError where steps of the sections are missing."""
        seen, wanted = int(self._kept.place[SEEN]), int(self.bounds[-1] - self.bounds[0])
        if seen != wanted:
            raise ValueError(f"{seen} of {wanted} steps were fed: feed the rest before finishing")
        self._make_room(0)
        if self._marched is None:
            feed(self._where, *self._results()[:2], np.empty(0), 0, True, *self._results()[2:])
        else:
            end = list(self._marched)
            end[9] = end[10]
            end[11] = True
            self._kernel(*end, *self._results(), *worn_of(self._group))
        kept = self._kept
        histograms = kept.error_counts.size > 0
        return Reduced(
            bounds=self.bounds,
            travel=self.travel,
            set_depth=kept.set_depth[: kept.rows],
            values=values_of(self._done, np.diff(self.bounds), kept.rows),
            found_episodes=self._found(EPISODES),
            found_breakouts=self._found(BREAKOUTS),
            energy_share=self._energy,
            error_counts=kept.error_counts[:, :, : kept.rows].copy() if histograms else None,
            gauge_counts=kept.gauge_counts[:, :, : kept.rows].copy() if histograms else None,
            knocks=()
            if self._group.loose is None
            else tuple(
                knocks_of(numbers, self._group.step, self.travel) for numbers in self._group.loose.T[: kept.rows]
            ),
        )

    def _balance(self, grounds: Grounds) -> None:
        """What is left over of the rows' energy, once they have come to the end."""
        if self._group.step >= self.bounds[-1]:
            self._energy = residual_share(self._group, grounds, *self._start)

    def _at(self, grounds: Grounds, stones: NDArray[np.float64] | None) -> Where:
        """Where discs are on these grounds."""
        self._kept.path_starts[:] = self._group.along * grounds.paths[0].size
        return self._where._replace(
            paths=grounds.paths,
            path_first=grounds.path_first,
            stones=np.zeros((0, 0)) if stones is None else stones,
            x0=grounds.x0,
            inverse_dx=1.0 / grounds.dx,
        )

    def _make_room(self, steps: int) -> None:
        """Tables of events that hold what so many steps more can give: one a row and step at most."""
        for kind, events in self._events.items():
            used = int(self._kept.place[kind])
            most = used + WIDTH * (steps + KEPT + 2)
            if most > len(events):
                grown = np.empty((max(most, 2 * len(events)), events.shape[1]))
                grown[:used] = events[:used]
                self._events[kind] = grown

    def _results(self) -> tuple[Any, ...]:
        return self._kept, self._rules, self._done, _BINS, self._events[EPISODES], self._events[BREAKOUTS]

    def _found(self, kind: int) -> tuple[NDArray[np.float64], ...]:
        """Events by row, in order."""
        events = self._events[kind][: int(self._kept.place[kind])]
        return tuple(events[events[:, 0] == j] for j in range(self._kept.rows))


_BINS = tuple((h.low, 1.0 / h.width, float(h.bins)) for h in (ERROR_BINS, GAUGE_BINS))


def _counts(number: int, bins: Histogram) -> NDArray[np.int32]:
    return np.zeros((number, bins.bins + 2, WIDTH), dtype=np.int32)


def reduce_group(
    group: Group,
    grounds: Grounds,
    stones: NDArray[np.float64],
    x_start: Each,
    step: Each,
    bounds: Bounds,
    tolerance: float,
    *,
    histograms: str = "",
    chunk: int = CHUNK,
) -> Reduced:
    """March a group over the whole of its grounds and reduce it; arguments as `Reducer`. Raises RowsError."""
    reducer = Reducer(group, x_start, step, bounds, tolerance, histograms=histograms)
    reducer.march(group, grounds, stones, int(bounds[-1]), chunk)
    return reducer.finish()
