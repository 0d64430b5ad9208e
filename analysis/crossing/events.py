"""Wheel-off episodes and breakouts found step by step: one compiled machine for whole runs and for rows in a march.

Written for floats and `Lanes` alike: one row, or eight side by side. What an event is stands in
`analysis.crossing.episodes` and `analysis.crossing.breakouts`; here is only how it is followed. A step may be left
out for a row in which the wheel carries, no stone is touched and no event is under way; what a row gathers outside of
events is emptied where one begins. Steps count from the first that is measured; finished events are written as rows
of a table.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.one_or_eight import bits_of, fetch, of_row, rows_of, with_row
from analysis.crossing.peaks import refined
from analysis.crossing.spans import ROUNDING
from sim.arithmetic.compiled import part
from sim.arithmetic.simd import anywhere, largest, load, put, select
from sim.record import PINS

LEAST = 0.10  # travel that makes an episode [m]
GAP = 0.05  # contact over less travel than this does not end an episode [m]
ROCK_BEFORE = 0.30  # a stone met so shortly before counts as the cause [m]
PLACE = 5.0  # what lies less travel apart than this is off depth, or without load, at one place [m] (assumed)
AFTER = 0.30  # what happens this far behind the last contact still counts as the stone's doing [m] (assumed)

EPISODE_COLUMNS = 8  # row, first, last, start, rise, gap, shallow steps, cause (index of CAUSES_IN_ORDER)
BREAKOUT_COLUMNS = 10  # row, first, last, start, rise, step back at depth (−1: never), disc, pressure, pin, its square

N_PINS = len(PINS)
ROCK, AT_STOP, NO_CUSHION, TOO_HARD, THROWN = range(5)


OfRows = float | NDArray[np.float64]


class Rules(NamedTuple):
    """Limits of the events; lengths in steps."""

    tolerance: float  # of the depth [m]
    accumulator: Any  # volume [m³]
    high_arm: Any  # arm angle that counts as a breakout [rad]
    gap: float  # contact over so many steps ends an episode
    least: float  # steps that make an episode
    before: float  # steps before it in which a stone is its cause
    apart: float  # so many steps without a stone end an encounter
    after: float  # steps behind a stone that still count
    place: float  # more steps in between begin another place


def rules(travel: float, tolerance: float, accumulator: OfRows, high_arm: OfRows) -> Rules:
    """Rules at a travel per step [m]; tolerance [m]; accumulator [m³], high_arm [rad] of one row, or (8,) of each."""
    return Rules(
        tolerance,
        accumulator,
        high_arm,
        gap=_steps(GAP, travel),
        least=_steps(LEAST, travel),
        before=float(int(ROCK_BEFORE / travel + ROUNDING)),
        apart=_steps(AFTER, travel),
        after=float(int(AFTER / travel + ROUNDING)),
        place=_steps(PLACE, travel),
    )


def _steps(length: float, travel: float) -> float:
    """Smallest number of steps that covers a length [m], to rounding."""
    n = max(math.ceil((length - ROUNDING) / travel), 1)
    while n > 1 and (n - 1) * travel >= length - ROUNDING:
        n -= 1
    while n * travel < length - ROUNDING:
        n += 1
    return float(n)


@part
def rules_of_rows(r):
    """Rules of eight rows as Lanes."""
    return Rules(
        r.tolerance, load(r.accumulator, 0), load(r.high_arm, 0), r.gap, r.least, r.before, r.apart, r.after, r.place
    )


class Wheel(NamedTuple):
    """A row's wheel-off episode: what was met since it began, and (last_…) up to its last step without load."""

    open: Any  # 1 while one is under way
    first: Any
    last: Any
    start: Any
    rock: Any  # last step in which a stone was touched
    rise: Any
    gap: Any
    shallow: Any
    spare: Any
    stop: Any
    out: Any
    last_rock: Any
    last_rise: Any
    last_gap: Any
    last_shallow: Any
    last_spare: Any
    last_stop: Any
    last_out: Any


class Encounter(NamedTuple):
    """A row's encounter with stones, and the breakout that it may be."""

    phase: Any  # IDLE, MET: in contact or shortly behind, WAITING: a breakout whose depth is not yet back
    first: Any
    end: Any  # step behind the last contact
    start: Any
    counts: Any  # 1: it is a breakout
    from_depth: Any  # 1: it began with at least half the set depth
    from_arm: Any  # 1: it began with the arm below the angle that counts
    least: Any  # depth
    back: Any  # first step from the shallowest on with the depth within the tolerance; −1: none yet
    rise: Any
    disc: Any
    pressure: Any
    pin: Any
    square: Any


IDLE, MET, WAITING = 0.0, 1.0, 2.0
N_WHEEL, N_STATE = len(Wheel._fields), len(Wheel._fields) + len(Encounter._fields)


def nothing_met(rows: int) -> NDArray[np.float64]:
    """Flat state in which nothing has been met: a Wheel and an Encounter of so many rows."""
    state = np.zeros((N_STATE, rows))
    for name in ("rock", "last_rock"):
        state[Wheel._fields.index(name)] = -np.inf
    return state.reshape(-1)


@part
def wheel_from(state, like):
    """Wheel out of a flat state."""
    n = rows_of(like)
    return Wheel(
        fetch(state, 0, like), fetch(state, n, like), fetch(state, 2 * n, like), fetch(state, 3 * n, like),
        fetch(state, 4 * n, like), fetch(state, 5 * n, like), fetch(state, 6 * n, like), fetch(state, 7 * n, like),
        fetch(state, 8 * n, like), fetch(state, 9 * n, like), fetch(state, 10 * n, like), fetch(state, 11 * n, like),
        fetch(state, 12 * n, like), fetch(state, 13 * n, like), fetch(state, 14 * n, like), fetch(state, 15 * n, like),
        fetch(state, 16 * n, like), fetch(state, 17 * n, like),
    )  # fmt: skip


@part
def encounter_from(state, like):
    """Encounter out of a flat state."""
    n = rows_of(like)
    b = N_WHEEL * n
    return Encounter(
        fetch(state, b, like), fetch(state, b + n, like), fetch(state, b + 2 * n, like), fetch(state, b + 3 * n, like),
        fetch(state, b + 4 * n, like), fetch(state, b + 5 * n, like), fetch(state, b + 6 * n, like),
        fetch(state, b + 7 * n, like), fetch(state, b + 8 * n, like), fetch(state, b + 9 * n, like),
        fetch(state, b + 10 * n, like), fetch(state, b + 11 * n, like), fetch(state, b + 12 * n, like),
        fetch(state, b + 13 * n, like),
    )  # fmt: skip


@part
def keep_all(state, e, b):
    """Write a Wheel and an Encounter to a flat state."""
    put(state, 0, e)
    put(state, len(e) * rows_of(e.open), b)


@part
def wheel_step(e, s, r, wanted, x, gauge, rock, stop, volume, spare, short, lift, events, count):
    """Step s of the wheel-off episodes → Wheel, number of events written.

    x: position of the disc [m], used where an episode begins · short = set depth − depth · wanted: rows that count,
    as bits · events (capacity, EPISODE_COLUMNS) with room for one more of every row.
    """
    off = gauge <= 0.0
    touched = select(rock > 0.0, s, e.rock)
    opening = off & (e.open < 0.5)
    rise = largest(select(opening, -np.inf, e.rise), short)
    gap = largest(select(opening, -np.inf, e.gap), -lift)
    shallow = select(opening, 0.0, e.shallow) + select(short > r.tolerance, 1.0, 0.0)
    total = select(opening, 0.0, e.spare) + spare
    stopped = largest(select(opening, 0.0, e.stop), select(stop != 0.0, 1.0, 0.0))
    out = largest(select(opening, 0.0, e.out), select(volume > r.accumulator, 1.0, 0.0))
    is_open = select(off, 1.0, e.open)
    closing = (e.open > 0.5) & (gauge > 0.0) & (s + 1.0 - e.last >= r.gap)
    if anywhere(closing):
        count = _write_episodes(e, bits_of(closing) & wanted, r, events, count)
        is_open = select(closing, 0.0, is_open)
    new = Wheel(
        is_open,
        select(opening, s, e.first),
        select(off, s + 1.0, e.last),
        select(opening, x, e.start),
        touched,
        rise,
        gap,
        shallow,
        total,
        stopped,
        out,
        select(off, touched, e.last_rock),
        select(off, rise, e.last_rise),
        select(off, gap, e.last_gap),
        select(off, shallow, e.last_shallow),
        select(off, total, e.last_spare),
        select(off, stopped, e.last_stop),
        select(off, out, e.last_out),
    )
    return new, count


@part
def wheel_end(e, r, wanted, events, count):
    """The run ends: write the episodes under way; returns the number of events."""
    return _write_episodes(e, bits_of(e.open > 0.5) & wanted, r, events, count)


@part
def _write_episodes(e, bits, r, events, count):
    """Write the episodes of some rows, if they are long enough."""
    for j in range(rows_of(e.open)):
        first, last = of_row(e.first, j), of_row(e.last, j)
        if (bits >> j) & 1 == 0 or last - first < r.least:
            continue
        if of_row(e.last_rock, j) >= max(first - r.before, 0.0):
            cause = ROCK
        elif of_row(e.last_stop, j) != 0.0:
            cause = AT_STOP
        elif of_row(e.last_out, j) != 0.0:
            cause = NO_CUSHION
        elif of_row(e.last_spare, j) <= 0.0:
            cause = TOO_HARD
        else:
            cause = THROWN
        events[count, 0] = j
        events[count, 1] = first
        events[count, 2] = last
        events[count, 3] = of_row(e.start, j)
        events[count, 4] = of_row(e.last_rise, j)
        events[count, 5] = of_row(e.last_gap, j)
        events[count, 6] = of_row(e.last_shallow, j)
        events[count, 7] = cause
        count += 1
    return count


@part
def encounter_step(
    b, s, r, wanted, x, stone, rock, depth, target, arm, pressure, rocks, rock_at, rock_stride, squares, at, stride,
    pin_stride, before, after, events, count,
):  # fmt: skip
    """Step s of the encounters with stones → Encounter, number of events written.

    x: position of the disc [m], stone: height of stones over the ground there [m], target: set depth ·
    rocks[rock_at]: the same force among its neighbours, `rock_stride` apart ·
    squares[at + k·pin_stride]: squared load of pin k, its neighbours `stride` apart; before, after: samples that there
    are on either side · events (capacity, BREAKOUT_COLUMNS) with room for two more of every row.
    """
    touching = rock > 0.0
    passed = s - b.end
    passed = select(touching & (passed < r.apart), -1.0, passed)
    leaving = (b.phase > 0.5) & (b.phase < 1.5) & (passed >= r.after)
    phase = b.phase
    if anywhere(leaving):
        done = leaving & (b.counts > 0.5) & (b.back >= 0.0)
        count = _write_breakouts(b, bits_of(done) & wanted, s, events, count)
        phase = select(leaving, select(b.counts > 0.5, select(b.back >= 0.0, IDLE, WAITING), IDLE), phase)
    # the shallowest step, the first from there on at depth again, and the largest values
    at_depth = depth >= target - r.tolerance
    lower = depth < b.least
    least = select(lower, depth, b.least)
    back = select(lower, -1.0, b.back)
    back = select((back < 0.0) & at_depth, s, back)
    up = target - depth + stone
    top = _between_steps(rock, b.disc, rocks, rock_at, rock_stride, before, after)
    rise, disc, high = largest(b.rise, up), largest(b.disc, top), largest(b.pressure, pressure)
    pin, square = _worst_pin(b.pin, b.square, phase > 0.5, squares, at, stride, pin_stride, before, after)
    b = Encounter(
        phase, b.first, b.end, b.start, b.counts, b.from_depth, b.from_arm, least, back, rise, disc, high, pin, square
    )  # fmt: skip
    finished = (phase > 1.5) & (back >= 0.0)
    if anywhere(finished):
        count = _write_breakouts(b, bits_of(finished) & wanted, s + 1.0, events, count)
        phase = select(finished, IDLE, phase)
    # a stone met before depth is regained belongs to the same breakout
    phase = select((phase > 1.5) & touching, MET, phase)
    first, start, counts, from_depth, from_arm = b.first, b.start, b.counts, b.from_depth, b.from_arm
    beginning = (phase < 0.5) & touching
    if anywhere(beginning):
        phase = select(beginning, MET, phase)
        first, start, counts = select(beginning, s, first), select(beginning, x, start), select(beginning, 0.0, counts)
        from_depth = select(beginning, select(depth >= 0.5 * target, 1.0, 0.0), from_depth)
        from_arm = select(beginning, select(arm <= r.high_arm, 1.0, 0.0), from_arm)
        least, back = select(beginning, depth, least), select(beginning, select(at_depth, s, -1.0), back)
        rise, disc, high = select(beginning, up, rise), select(beginning, top, disc), select(beginning, pressure, high)
        square = select(beginning, -np.inf, square)
        pin, square = _worst_pin(pin, square, beginning, squares, at, stride, pin_stride, before, after)
    met = (phase > 0.5) & (phase < 1.5)
    pushed = ((from_depth > 0.5) & (depth < 0.5 * target)) | ((from_arm > 0.5) & (arm > r.high_arm))
    counts = select(met & pushed, 1.0, counts)
    end = select(met & touching, s + 1.0, b.end)
    new = Encounter(
        phase, first, end, start, counts, from_depth, from_arm, least, back, rise, disc, high, pin, square
    )  # fmt: skip
    return new, count


@part
def encounter_end(b, steps, wanted, events, count):
    """The run ends after `steps` steps: write what is under way and counts; returns the number of events."""
    counts = (b.phase > 0.5) & (b.counts > 0.5)
    return _write_breakouts(b, bits_of(counts) & wanted, steps, events, count)


@part
def _between_steps(rock, most, rocks, at, stride, before, after):
    """A stone's force with what `refined` adds, where that may come to more than `most`; else as it is."""
    near = 1.25 * rock > most
    if anywhere(near):
        bits = bits_of(near)
        for j in range(rows_of(rock)):
            if (bits >> j) & 1:
                rock = with_row(rock, j, refined(rocks, at + j, stride, before, after))
    return rock


@part
def _worst_pin(pin, square, looked_at, squares, at, stride, pin_stride, before, after):
    """The largest squared pin load up to this step, and its pin; of equal ones the first."""
    for k in range(N_PINS):
        here = at + k * pin_stride
        near = looked_at & (1.25 * fetch(squares, here, square) >= square)  # between steps a quarter higher at most
        if anywhere(near):
            bits = bits_of(near)
            for j in range(rows_of(square)):
                if (bits >> j) & 1:
                    top, most = refined(squares, here + j, stride, before, after), of_row(square, j)
                    if top > most or (top == most and k < of_row(pin, j)):
                        square, pin = with_row(square, j, top), with_row(pin, j, float(k))
    return pin, square


@part
def _write_breakouts(b, bits, last, events, count):
    """Write the breakouts of some rows that end ahead of step `last`."""
    for j in range(rows_of(b.phase)):
        if (bits >> j) & 1:
            events[count, 0] = j
            events[count, 1] = of_row(b.first, j)
            events[count, 2] = last
            events[count, 3] = of_row(b.start, j)
            events[count, 4] = of_row(b.rise, j)
            events[count, 5] = of_row(b.back, j)
            events[count, 6] = of_row(b.disc, j)
            events[count, 7] = of_row(b.pressure, j)
            events[count, 8] = of_row(b.pin, j)
            events[count, 9] = of_row(b.square, j)
            count += 1
    return count


@part
def stone_over(heights, samples, x0, inverse_dx, x):
    """Height of the stones over the ground at x [m], linear between the samples of one track."""
    cell = min(max((x - x0) * inverse_dx, 0.0), samples - 1.0)
    i = min(int(cell), samples - 2)
    return heights[i] + (cell - i) * (heights[i + 1] - heights[i])
