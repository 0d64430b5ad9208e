"""Wheel-off episodes and breakouts found step by step: one compiled machine for whole runs and for rows in a march.

Each row is a column j of a table of numbers that is carried from step to step; finished events are written as rows
of another. What an event is stands in `analysis.episodes` and `analysis.breakouts`; here is only how it is followed.
Steps count from the first that is measured.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np

from analysis.peaks import refined
from analysis.spans import ROUNDING
from sim.compiled import part
from sim.record import PINS

LEAST = 0.10  # travel that makes an episode [m]
GAP = 0.05  # contact over less travel than this does not end an episode [m]
ROCK_BEFORE = 0.30  # a stone met so shortly before counts as the cause [m]
AFTER = 0.30  # what happens this far behind the last contact still counts as the stone's doing [m] (assumed)

EPISODE_COLUMNS = 8  # row, first, last, start, rise, gap, shallow steps, cause
BREAKOUT_COLUMNS = 10  # row, first, last, start, rise, step back at depth (−1: never), disc, pressure, pin, its square

ROCK, AT_STOP, NO_CUSHION, TOO_HARD, THROWN = range(5)

# the table's rows: episode (what was met up to now, then the same up to the last step without load)
(
    E_OPEN, E_FIRST, E_LAST, E_START, E_LAST_ROCK,
    E_RISE, E_GAP, E_SHALLOW, E_SPARE, E_STOP, E_OUT,
    K_RISE, K_GAP, K_SHALLOW, K_SPARE, K_STOP, K_OUT, K_ROCK,
    B_PHASE, B_FIRST, B_END, B_START, B_COUNTS, B_FROM_DEPTH, B_FROM_ARM,
    B_LEAST, B_BACK, B_ARM, B_RISE, B_DISC, B_PRESSURE, B_PIN, B_SQUARE,
) = range(33)  # fmt: skip
TABLE = 33
N_PINS = len(PINS)
IDLE, MET, WAITING = 0.0, 1.0, 2.0  # phases of a breakout: none, in an encounter, behind one and not yet at depth


class Rules(NamedTuple):
    """Limits of the events; lengths in steps."""

    tolerance: float  # of the depth [m]
    accumulator: float  # volume [m³]
    high_arm: float  # arm angle that counts as a breakout [rad]
    gap: float  # contact over so many steps ends an episode
    least: float  # steps that make an episode
    before: float  # steps before it in which a stone is its cause
    apart: float  # so many steps without a stone end an encounter
    after: float  # steps behind a stone that still count


def rules(travel: float, tolerance: float, accumulator: float, high_arm: float) -> Rules:
    """Rules at a travel per step [m]; tolerance [m], accumulator [m³], high_arm [rad]."""
    return Rules(
        tolerance,
        accumulator,
        high_arm,
        gap=_steps(GAP, travel),
        least=_steps(LEAST, travel),
        before=float(int(ROCK_BEFORE / travel + ROUNDING)),
        apart=_steps(AFTER, travel),
        after=float(int(AFTER / travel + ROUNDING)),
    )


def _steps(length: float, travel: float) -> float:
    """Smallest number of steps that covers a length [m], to rounding."""
    n = max(math.ceil((length - ROUNDING) / travel), 1)
    while n > 1 and (n - 1) * travel >= length - ROUNDING:
        n -= 1
    while n * travel < length - ROUNDING:
        n += 1
    return float(n)


def empty_table(rows: int):
    """A table in which nothing has been met: (TABLE, rows)."""
    table = np.zeros((TABLE, rows))
    table[E_LAST_ROCK] = table[K_ROCK] = -np.inf
    return table


@part
def episode_step(table, j, r, s, x, load, rock, stop, volume, spare, short, lift, events, count):
    """Step s of row j; x position of the disc, used where an episode begins, short = set depth − depth.

    events (capacity, EPISODE_COLUMNS) with room for one more; returns the number of them.
    """
    if rock > 0.0:
        table[E_LAST_ROCK, j] = s
    off = load <= 0.0
    if table[E_OPEN, j] == 0.0:
        if not off:
            return count
        table[E_OPEN, j] = 1.0
        table[E_FIRST, j] = s
        table[E_START, j] = x
        table[E_RISE, j] = -np.inf
        table[E_GAP, j] = -np.inf
        for k in range(E_SHALLOW, E_OUT + 1):
            table[k, j] = 0.0
    table[E_RISE, j] = max(table[E_RISE, j], short)
    table[E_GAP, j] = max(table[E_GAP, j], -lift)
    table[E_SPARE, j] += spare
    if short > r.tolerance:
        table[E_SHALLOW, j] += 1.0
    if stop != 0.0:
        table[E_STOP, j] = 1.0
    if volume > r.accumulator:
        table[E_OUT, j] = 1.0
    if off:
        for k in range(K_RISE, K_OUT + 1):
            table[k, j] = table[k - K_RISE + E_RISE, j]
        table[K_ROCK, j] = table[E_LAST_ROCK, j]
        table[E_LAST, j] = s + 1.0
    elif s + 1.0 - table[E_LAST, j] >= r.gap:
        return episode_end(table, j, r, events, count)
    return count


@part
def episode_end(table, j, r, events, count):
    """Close the episode of row j and write it if it is long enough; returns the number of events."""
    first, last = table[E_FIRST, j], table[E_LAST, j]
    table[E_OPEN, j] = 0.0
    if last - first < r.least:
        return count
    if table[K_ROCK, j] >= max(first - r.before, 0.0):
        cause = ROCK
    elif table[K_STOP, j] != 0.0:
        cause = AT_STOP
    elif table[K_OUT, j] != 0.0:
        cause = NO_CUSHION
    elif table[K_SPARE, j] <= 0.0:
        cause = TOO_HARD
    else:
        cause = THROWN
    events[count, 0] = j
    events[count, 1] = first
    events[count, 2] = last
    events[count, 3] = table[E_START, j]
    events[count, 4] = table[K_RISE, j]
    events[count, 5] = table[K_GAP, j]
    events[count, 6] = table[K_SHALLOW, j]
    events[count, 7] = cause
    return count + 1


@part
def breakout_step(
    table, j, r, s, x, rock, depth, set_depth, arm, stone, pressure, squares, at, stride, pin_stride, before, after,
    events, count,
):  # fmt: skip
    """Step s of row j where a stone is touched or a breakout may be under way; x position of the disc [m].

    stone: height of stones over the ground at the disc [m] · squares[at + k·pin_stride]: squared load of pin k, its
    neighbours `stride` apart; before and after: samples that there are on either side · events (capacity,
    BREAKOUT_COLUMNS) with room for two more; returns the number of them.
    """
    touching = rock > 0.0
    if table[B_PHASE, j] == MET:
        passed = s - table[B_END, j]
        if passed >= r.after and not (touching and passed < r.apart):
            count = _leave_stone(table, j, s, events, count)
    if table[B_PHASE, j] == WAITING:
        _follow(table, j, r, s, rock, depth, set_depth, stone, pressure)
        _worst_pin(table, j, squares, at, stride, pin_stride, before, after)
        if table[B_BACK, j] >= 0.0:
            count = _write_breakout(table, j, s + 1.0, events, count)
        elif touching:  # a stone met before depth is regained belongs to the same breakout
            table[B_PHASE, j] = MET
            table[B_END, j] = s + 1.0
            return count
    if table[B_PHASE, j] == IDLE and touching:
        _begin(table, j, r, s, x, depth, set_depth, arm)
    if table[B_PHASE, j] == MET:
        _follow(table, j, r, s, rock, depth, set_depth, stone, pressure)
        _worst_pin(table, j, squares, at, stride, pin_stride, before, after)
        dug_up = table[B_FROM_DEPTH, j] != 0.0 and depth < 0.5 * set_depth
        swung_up = table[B_FROM_ARM, j] != 0.0 and arm > r.high_arm
        if dug_up or swung_up:
            table[B_COUNTS, j] = 1.0
        if touching:
            table[B_END, j] = s + 1.0
    return count


@part
def _begin(table, j, r, s, x, depth, set_depth, arm):
    table[B_PHASE, j] = MET
    table[B_FIRST, j] = s
    table[B_START, j] = x
    table[B_COUNTS, j] = 0.0
    table[B_FROM_DEPTH, j] = 1.0 if depth >= 0.5 * set_depth else 0.0
    table[B_FROM_ARM, j] = 1.0 if arm <= r.high_arm else 0.0
    table[B_LEAST, j] = np.inf
    table[B_BACK, j] = -1.0
    for k in (B_RISE, B_DISC, B_PRESSURE, B_SQUARE):
        table[k, j] = -np.inf


@part
def _follow(table, j, r, s, rock, depth, set_depth, stone, pressure):
    """The shallowest step, the first from there on at depth again, and the largest values."""
    if depth < table[B_LEAST, j]:
        table[B_LEAST, j] = depth
        table[B_BACK, j] = -1.0
    if table[B_BACK, j] < 0.0 and depth >= set_depth - r.tolerance:
        table[B_BACK, j] = s
    table[B_RISE, j] = max(table[B_RISE, j], set_depth - depth + stone)
    table[B_DISC, j] = max(table[B_DISC, j], rock)
    table[B_PRESSURE, j] = max(table[B_PRESSURE, j], pressure)


@part
def _worst_pin(table, j, squares, at, stride, pin_stride, before, after):
    """The largest squared pin load of the step; of equal ones the first pin."""
    for k in range(N_PINS):
        here = at + k * pin_stride
        if before < 1 or after < 1 or 1.25 * squares[here] >= table[B_SQUARE, j]:  # a peak adds a quarter at most
            y = refined(squares, here, stride, before, after)
            most = table[B_SQUARE, j]
            if y > most or (y == most and k < table[B_PIN, j]):
                table[B_SQUARE, j] = y
                table[B_PIN, j] = k


@part
def _leave_stone(table, j, s, events, count):
    """The encounter ended behind step s − 1: forget it, write it, or wait for the depth to come back."""
    if table[B_COUNTS, j] == 0.0:
        table[B_PHASE, j] = IDLE
    elif table[B_BACK, j] >= 0.0:
        return _write_breakout(table, j, s, events, count)
    else:
        table[B_PHASE, j] = WAITING
    return count


@part
def _write_breakout(table, j, last, events, count):
    table[B_PHASE, j] = IDLE
    events[count, 0] = j
    events[count, 1] = table[B_FIRST, j]
    events[count, 2] = last
    events[count, 3] = table[B_START, j]
    events[count, 4] = table[B_RISE, j]
    events[count, 5] = table[B_BACK, j]
    events[count, 6] = table[B_DISC, j]
    events[count, 7] = table[B_PRESSURE, j]
    events[count, 8] = table[B_PIN, j]
    events[count, 9] = table[B_SQUARE, j]
    return count + 1


@part
def breakout_end(table, j, steps, events, count):
    """The run ends after `steps` steps: write what is under way and counts; returns the number of events."""
    if table[B_PHASE, j] == WAITING or (table[B_PHASE, j] == MET and table[B_COUNTS, j] != 0.0):
        return _write_breakout(table, j, steps, events, count)
    table[B_PHASE, j] = IDLE
    return count


@part
def stone_over(heights, at, x0, inverse_dx, x):
    """Height of the stones over the ground at x [m], linear between the samples heights[at], heights[at + 1] …"""
    cell = (x - x0) * inverse_dx
    i = int(cell)
    low = heights[at + i]
    return low + (cell - i) * (heights[at + i + 1] - low)
