"""The compiled step from a chunk of channels to sums, histograms and events of eight rows."""

from __future__ import annotations

from typing import NamedTuple

from numpy.typing import NDArray

from analysis.crossing.events import (
    encounter_end,
    encounter_from,
    encounter_step,
    keep_all,
    rules_of_rows,
    wheel_end,
    wheel_from,
    wheel_step,
)
from analysis.crossing.peaks import BESIDE
from analysis.rows.sums import (
    ARM,
    DEPTH,
    GAUGE,
    LIFT,
    PRESSURE,
    ROCK,
    SPARE,
    SQUARES,
    STOP,
    STRIDE,
    VOLUME,
    add_counts,
    add_depth,
    add_loads,
    add_pins,
    add_places,
    add_stones,
    open_record,
)
from sim.arithmetic.compiled import kernel, part, routine
from sim.arithmetic.elementary import sincos
from sim.arithmetic.gather import gather
from sim.arithmetic.simd import (
    WIDTH,
    anywhere,
    as_lanes,
    largest,
    load,
    load_index,
    moved,
    smallest,
    store,
    truncate,
    whole,
)
from sim.march.loop import OK
from sim.march.march_rows import march_chunk

KEPT = 4  # steps carried from one chunk to the next
BLOCK = 32  # steps that are summed up and then looked through for events: they stay in the first cache meanwhile
LATE = BESIDE  # a step is reduced when so many behind it are known: peaks lie between samples

# what `place` counts
SEEN, SECTION, EPISODES, BREAKOUTS = range(4)


class Where(NamedTuple):
    """Where discs are: geometry of the unit, the toolbar's paths, stones; for one chunk."""

    unit: NDArray  # (5·8), flat: length of the main links, upper pin from O forward and up, hub from the rear one [m]
    x_start: NDArray  # (8) position of O at the start [m]
    travel: float  # in a step [m]
    steps: NDArray  # (8) step of each row [s]
    base: int  # number of the first step that is measured
    paths: NDArray  # (tracks, nodes, 6)
    path_first: int
    stones: NDArray  # (tracks, n) height of stones over the ground, (0, 0) where there are none [m]
    x0: float
    inverse_dx: float


class Kept(NamedTuple):
    """What a reducer carries from chunk to chunk."""

    place: NDArray  # int64: SEEN …
    bounds: NDArray  # int64 (sections + 1): first step of each section, from the first measured
    head: NDArray  # (2·KEPT·STRIDE): the last steps of the chunk before, then the first of this one
    late: NDArray  # (2·LATE·8): positions of the discs, then heights of the stones there, at the last steps
    state: NDArray  # of the event machine
    record: NDArray  # (len(RECORD)·8)
    error_counts: NDArray  # (sections or 1: over all, bins + 2, 8); sections 0: none wanted
    gauge_counts: NDArray
    set_depth: NDArray  # (8)
    zero: NDArray  # (8) zeros
    tracks: NDArray  # (8): track of each row
    path_starts: NDArray  # int64 (8): where its path begins, flat
    rows: int


@part
def _discs(w, kept, flat, row, s):
    """Positions of the discs at step s [m], and the height of the stones over the ground there."""
    node = 2 * (w.base + s)
    starts = load_index(kept.path_starts, 0)
    pitch = gather(w.paths.reshape(-1), moved(starts, 6 * (node - w.path_first)), 3)
    sin_p, cos_p = sincos(pitch)
    sin_t, cos_t = sincos(load(flat, row * STRIDE + ARM))
    length = load(w.unit, 0)
    rx = load(w.unit, WIDTH) - length * cos_t + load(w.unit, 3 * WIDTH)
    rz = load(w.unit, 2 * WIDTH) + length * sin_t + load(w.unit, 4 * WIDTH)
    x = load(w.x_start, 0) + 0.5 * w.travel * node + cos_p * rx - sin_p * rz
    stone = x * 0.0
    if w.stones.size > 0:
        samples = w.stones.shape[1]
        cell = smallest(largest((x - w.x0) * w.inverse_dx, 0.0), samples - 1.0)
        i = smallest(truncate(cell), samples - 2.0)
        at = whole(i + load(kept.tracks, 0) * samples)
        heights = w.stones.reshape(-1)
        low = gather(heights, at, 0)
        stone = low + (cell - i) * (gather(heights, at, 1) - low)
    return x, stone


@part
def _events(w, kept, r, flat, row, n, s, entered, newest, episodes, breakouts):
    """Follow the events of all rows over n steps from step s on; `newest`: the last step that is known."""
    wanted = (1 << kept.rows) - 1
    target = load(kept.set_depth, 0)
    e, b = wheel_from(kept.state, target), encounter_from(kept.state, target)
    found, broken = kept.place[EPISODES], kept.place[BREAKOUTS]
    for i in range(n):
        at = (row + i) * STRIDE
        gauge, rock = load(flat, at + GAUGE), load(flat, at + ROCK)
        lifted = (gauge <= 0.0) | (e.open > 0.5)
        struck = (rock > 0.0) | (b.phase > 0.5)
        if not anywhere(lifted | struck):
            continue
        x, stone = as_lanes(0.0), as_lanes(0.0)
        if anywhere(struck | ((gauge <= 0.0) & (e.open < 0.5))):
            if s + i < entered:
                back = (entered - 1 - s - i) * WIDTH
                x, stone = load(kept.late, back), load(kept.late, LATE * WIDTH + back)
            else:
                x, stone = _discs(w, kept, flat, row + i, s + i)
        depth = load(flat, at + DEPTH)
        now = float(s + i)
        e, found = wheel_step(
            e, now, r, wanted, x, gauge, rock, load(flat, at + STOP), load(flat, at + VOLUME), load(flat, at + SPARE),
            target - depth, load(flat, at + LIFT), episodes, found,
        )  # fmt: skip
        if anywhere(struck):
            b, broken = encounter_step(
                b, now, r, wanted, x, stone, rock, depth, target, load(flat, at + ARM), load(flat, at + PRESSURE),
                flat, at + ROCK, STRIDE, flat, at + SQUARES, STRIDE, WIDTH, s + i, newest - s - i, breakouts, broken,
            )  # fmt: skip
    keep_all(kept.state, e, b)
    kept.place[EPISODES], kept.place[BREAKOUTS] = found, broken


@routine
def _reduce(w, kept, r, flat, row, n, s, entered, newest, done, bins, episodes, breakouts):
    """Reduce n rows of `flat` from `row` on; the first is step s. Sections that end are written to done."""
    each = rules_of_rows(r)
    while n > 0:
        section = kept.place[SECTION]
        if s == kept.bounds[section]:
            open_record(kept.record, flat, row, kept.set_depth)
        here = min(n, kept.bounds[section + 1] - s, BLOCK)
        add_depth(kept.record, flat, row, here, kept.set_depth, r.tolerance)
        add_loads(kept.record, flat, row, here, each.accumulator, s)
        add_places(kept.record, flat, row, here, kept.set_depth, r.tolerance, r.place)
        add_pins(kept.record, flat, row, here, s, newest - s)
        add_stones(kept.record, flat, row, here, s, newest - s)
        if kept.error_counts.size > 0:
            e, g = bins
            k = min(section, len(kept.error_counts) - 1)
            add_counts(kept.error_counts[k].reshape(-1), flat, row, here, DEPTH, kept.set_depth, e[0], e[1], e[2])
            add_counts(kept.gauge_counts[k].reshape(-1), flat, row, here, GAUGE, kept.zero, g[0], g[1], g[2])
        _events(w, kept, each, flat, row, here, s, entered, newest, episodes, breakouts)
        n -= here
        s += here
        row += here
        if s == kept.bounds[section + 1]:
            for k in range(kept.record.size):
                done[section, k // WIDTH, k % WIDTH] = kept.record[k]
            kept.place[SECTION] += 1


@routine
def feed_chunk(w, kept, r, chunk, n, ends, done, bins, episodes, breakouts):
    """Take n steps of a chunk (flat): reduce all but the last LATE, and keep the last KEPT for the next call.

    ends: nothing follows; the last steps are reduced too and events under way are ended. done (sections, len(RECORD),
    8); bins: (lowest, 1/width, number) of the histograms of depth error and gauge load; episodes and breakouts with
    room for all that n + KEPT steps of eight rows can give.
    """
    seen = kept.place[SEEN]
    for k in range(min(n, KEPT) * STRIDE):
        kept.head[KEPT * STRIDE + k] = chunk[k]
    newest = seen + n - 1
    total = seen + n
    for stretch in range(3):
        flat = chunk if stretch == 1 else kept.head
        if stretch == 0:  # steps that waited, and the first of this chunk
            first, last, row = max(seen - LATE, 0), min(seen + LATE, total - LATE), KEPT
        elif stretch == 1:
            first, last, row = seen + LATE, total - LATE, 0
        else:  # the last steps
            _keep(w, kept, chunk, n, newest)
            kept.place[SEEN] = total
            seen = total
            first, last, row = max(total - LATE, 0), total if ends else 0, KEPT
        if last > first:
            _reduce(
                w, kept, r, flat, row + first - seen, last - first, first, seen, newest, done, bins, episodes, breakouts
            )
    if ends:
        wanted = (1 << kept.rows) - 1
        like = load(kept.zero, 0)
        e, b = wheel_from(kept.state, like), encounter_from(kept.state, like)
        kept.place[EPISODES] = wheel_end(e, r, wanted, episodes, kept.place[EPISODES])
        kept.place[BREAKOUTS] = encounter_end(b, float(total), wanted, breakouts, kept.place[BREAKOUTS])


@part
def _keep(w, kept, chunk, n, newest):
    """Carry the last KEPT steps, and where the discs were at the last LATE of them."""
    if n >= KEPT:
        for k in range(KEPT * STRIDE):
            kept.head[k] = chunk[(n - KEPT) * STRIDE + k]
    else:
        for k in range(KEPT * STRIDE):
            kept.head[k] = kept.head[k + n * STRIDE]
    for back in range(LATE - 1, -1, -1):
        at, of_stones = back * WIDTH, (LATE + back) * WIDTH
        if back < n:
            x, stone = _discs(w, kept, chunk, n - 1 - back, newest - back)
        else:
            x, stone = load(kept.late, at - n * WIDTH), load(kept.late, of_stones - n * WIDTH)
        store(kept.late, at, x)
        store(kept.late, of_stones, stone)


@kernel
def feed(w, kept, r, chunk, n, ends, done, bins, episodes, breakouts):
    """`feed_chunk`, called from Python."""
    feed_chunk(w, kept, r, chunk, n, ends, done, bins, episodes, breakouts)


@routine
def _march_and_feed(
    m, varied, law, tables, stones, which, along, z_bar, limits, first, last, ends, state, sunk, met,
    sums, buffer, info, w, kept, r, done, bins, episodes, breakouts, loose=None,
):  # fmt: skip
    """March eight rows from step `first` to `last` (`sim.march.march_rows.march_chunk`) and reduce each chunk at once.

    buffer: room for one chunk, flat; small enough to stay in the second cache. Stops early, at the step in info[3],
    where the tables of events may not hold what the next chunk gives. ends: as `feed_chunk`. Returns a status of
    `sim.march.loop`.
    """
    # written as constants, "not yet" and "no more steps" would be compiled for themselves, 1 s
    info[3] = first
    while first < last:
        n = min(buffer.size // STRIDE, last - first)
        room = WIDTH * (n + KEPT + 2)
        if kept.place[EPISODES] + room > len(episodes) or kept.place[BREAKOUTS] + room > len(breakouts):
            return OK
        out = buffer[: n * STRIDE]
        status = march_chunk(
            m, varied, law, tables, stones, which, w.x0, w.inverse_dx, w.paths, along, z_bar, w.x_start, w.travel,
            w.steps, limits, w.path_first, first, state, sunk, met, sums, out, info, loose,
        )  # fmt: skip
        if status != OK:
            return status
        begin = min(max(w.base + kept.place[SEEN] - first, 0), n)
        end = min(max(w.base + kept.bounds[-1] - first, begin), n)
        if end > begin:
            feed_chunk(
                w, kept, r, out[begin * STRIDE :], end - begin, first > last, done, bins, episodes, breakouts
            )  # fmt: skip
        first += n
        info[3] = first
    if ends:
        feed_chunk(w, kept, r, buffer, first - last, ends, done, bins, episodes, breakouts)
    return OK


@kernel
def march_and_feed(
    m, varied, law, tables, stones, which, along, z_bar, limits, first, last, ends, state, sunk, met,
    sums, buffer, info, w, kept, r, done, bins, episodes, breakouts, loose=None,
):  # fmt: skip
    """`_march_and_feed` of rows of one unit and soil, called from Python."""
    return _march_and_feed(
        m, varied, law, tables, stones, which, along, z_bar, limits, first, last, ends, state, sunk, met, sums, buffer,
        info, w, kept, r, done, bins, episodes, breakouts, loose,
    )  # fmt: skip


@kernel
def march_and_feed_any(
    m, varied, law, tables, stones, which, along, z_bar, limits, first, last, ends, state, sunk, met,
    sums, buffer, info, w, kept, r, done, bins, episodes, breakouts, loose=None,
):  # fmt: skip
    """The same of rows of any units and soils (`sim.model.ModelOfAny`)."""
    return _march_and_feed(
        m, varied, law, tables, stones, which, along, z_bar, limits, first, last, ends, state, sunk, met, sums, buffer,
        info, w, kept, r, done, bins, episodes, breakouts, loose,
    )  # fmt: skip
