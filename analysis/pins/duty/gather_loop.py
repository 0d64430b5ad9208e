"""One pass over a run's steps that gathers everything of its pins: sums, peaks, roses, cycles. Compiled.

Steps are taken in blocks that stay in the nearest cache, eight at once where nothing hangs on the step before.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from analysis.crossing.peaks import refined
from analysis.pins.duty.rainflow_loop import BINS, RANGES, candidates, drain, put_away
from analysis.pins.duty.stand_loop import CARRIER, CRANK, N_PARTS, TOOLBAR, stand_eight
from sim.arithmetic.compiled import kernel, part
from sim.arithmetic.simd import WIDTH, any_lane, as_lanes, load, magnitude, root, select, store, total

N_PINS = 14
SECTORS = 36  # of a rose, 10° each, the first about a part's own line
DIRECTIONS = 3  # in which cycles are counted: 0, 60 and 120° from the second-named part's own line
N_HISTORIES = N_PINS * DIRECTIONS
BLOCK = 128  # steps that are looked at together
HALO = 8  # room on either side: a peak between steps needs two more, eight keep loads in line
ROW = BLOCK + 2 * HALO
SQUARE, SIZE, TURNED, TURNED_SQUARE, WORN = range(5)  # sums over steps: F², F, |ω|, ω², F|ω|
N_SUMS = 5
WAITING = 192  # candidates for turning points of a history that wait for being counted together
FULL = WAITING + BLOCK + 2 * WIDTH
EVERY = 4  # steps of which the roses take one: some 30 mm of travel
PACKED = BLOCK // EVERY + WIDTH
_HIGH = math.sqrt(0.75)
_C05, _C15, _C25, _C35 = (math.cos(math.radians(angle)) for angle in (5, 15, 25, 35))
_S05, _S15, _S25, _S35 = (math.sin(math.radians(angle)) for angle in (5, 15, 25, 35))


class Scratch(NamedTuple):
    """What a block needs, flat."""

    steps: Any  # θ, θ′, ψ, ψ′: (4 × BLOCK)
    line_x: Any  # (N_PARTS × BLOCK)
    line_z: Any
    rate: Any
    x: Any  # force on the second-named part, (N_PINS × ROW) [N]
    z: Any
    square: Any  # of one pin, (ROW)
    worn: Any  # (BLOCK)
    component: Any  # (DIRECTIONS × ROW)
    few_line_x: Any  # the same at every fourth step, (… × PACKED)
    few_line_z: Any
    few_x: Any
    few_z: Any
    sector: Any  # of both parts of one pin, (2 × PACKED)


@part
def _scratch(cos_crank, sin_crank):
    line_x, line_z = np.zeros(N_PARTS * BLOCK), np.zeros(N_PARTS * BLOCK)
    line_x[TOOLBAR * BLOCK : (TOOLBAR + 1) * BLOCK] = 1.0
    line_x[CARRIER * BLOCK : (CARRIER + 1) * BLOCK] = 1.0
    line_x[CRANK * BLOCK : (CRANK + 1) * BLOCK] = cos_crank
    line_z[CRANK * BLOCK : (CRANK + 1) * BLOCK] = sin_crank
    return Scratch(
        np.zeros(4 * BLOCK), line_x, line_z, np.zeros(N_PARTS * BLOCK), np.zeros(N_PINS * ROW), np.zeros(N_PINS * ROW),
        np.zeros(ROW), np.zeros(BLOCK), np.zeros(DIRECTIONS * ROW), np.zeros(N_PARTS * PACKED),
        np.zeros(N_PARTS * PACKED), np.zeros(N_PINS * PACKED), np.zeros(N_PINS * PACKED), np.zeros(2 * PACKED),
    )  # fmt: skip


@part
def _read_block(m, theta, omega, psi, psi_rate, pins, begin, size, w):
    """Steps begin … begin + size into the scratch, the rest of the block at rest and without load."""
    n = theta.size
    steps, stop = w.steps, begin + size
    steps[BLOCK : BLOCK + BLOCK] = 0.0
    steps[3 * BLOCK : 4 * BLOCK] = 0.0
    steps[0:BLOCK] = theta[stop - 1]
    steps[2 * BLOCK : 3 * BLOCK] = psi[stop - 1]
    steps[0:size] = theta[begin:stop]
    steps[BLOCK : BLOCK + size] = omega[begin:stop]
    steps[2 * BLOCK : 2 * BLOCK + size] = psi[begin:stop]
    steps[3 * BLOCK : 3 * BLOCK + size] = psi_rate[begin:stop]
    for at in range(0, BLOCK, WIDTH):
        stand_eight(
            m, steps[0:BLOCK], steps[BLOCK : 2 * BLOCK], steps[2 * BLOCK : 3 * BLOCK], steps[3 * BLOCK :], at, BLOCK,
            w.line_x, w.line_z, w.rate,
        )  # fmt: skip
    low, high = max(begin - HALO, 0), min(stop + HALO, n)
    if size < BLOCK:
        w.x[:] = 0.0
        w.z[:] = 0.0
    for i in range(low, high):
        for p in range(N_PINS):
            w.x[p * ROW + HALO + i - begin] = pins[(i * N_PINS + p) * 2]
            w.z[p * ROW + HALO + i - begin] = pins[(i * N_PINS + p) * 2 + 1]
    return HALO - (begin - low), HALO + high - begin


@part
def sector(x, z):
    """Sector of a rose that (x, z) points into, as Lanes: 0 about x, from −5 to 5°, and so on counter-clockwise."""
    a, b = magnitude(x), magnitude(z)
    k = select(b * _C05 > a * _S05, 1.0, 0.0) + select(b * _C15 > a * _S15, 1.0, 0.0)
    k = k + select(b * _C25 > a * _S25, 1.0, 0.0) + select(b * _C35 > a * _S35, 1.0, 0.0)
    k = k + select(b > a, 1.0, 0.0) + select(b * _S35 > a * _C35, 1.0, 0.0)
    k = k + select(b * _S25 > a * _C25, 1.0, 0.0) + select(b * _S15 > a * _C15, 1.0, 0.0)
    k = k + select(b * _S05 > a * _C05, 1.0, 0.0)
    k = select(x < 0.0, SECTORS // 2 - k, k)
    k = select(z < 0.0, SECTORS - k, k)
    return select(k > SECTORS - 0.5, 0.0, k)


@part
def _loads(w, p, f, g, sums):
    """Size and turning of one pin over the block."""
    zero = as_lanes(0.0)
    s0, s1, s2, s3, s4 = zero, zero, zero, zero, zero
    for at in range(0, BLOCK, WIDTH):
        x, z = load(w.x, p * ROW + HALO + at), load(w.z, p * ROW + HALO + at)
        square = x * x + z * z
        size = root(square)
        turn = magnitude(load(w.rate, g * BLOCK + at) - load(w.rate, f * BLOCK + at))
        worn = size * turn
        store(w.square, HALO + at, square)
        store(w.worn, at, worn)
        s0, s1, s2, s3, s4 = s0 + square, s1 + size, s2 + turn, s3 + turn * turn, s4 + worn
    sums[p, SQUARE] += total(s0)
    sums[p, SIZE] += total(s1)
    sums[p, TURNED] += total(s2)
    sums[p, TURNED_SQUARE] += total(s3)
    sums[p, WORN] += total(s4)


@part
def _components(w, p, g):
    """Components of the force on a pin's second part in that part's own axes, in three directions."""
    for at in range(0, BLOCK, WIDTH):
        c, s = load(w.line_x, g * BLOCK + at), load(w.line_z, g * BLOCK + at)
        x, z = load(w.x, p * ROW + HALO + at), load(w.z, p * ROW + HALO + at)
        along, across = x * c + z * s, z * c - x * s
        store(w.component, HALO + at, along)
        store(w.component, ROW + HALO + at, 0.5 * along + _HIGH * across)
        store(w.component, 2 * ROW + HALO + at, _HIGH * across - 0.5 * along)


@part
def _peak(w, p, first, last, most):
    """Largest F² of one pin in the block, between steps too; first … last: places in a row that hold steps."""
    for i in range(first, HALO):
        x, z = w.x[p * ROW + i], w.z[p * ROW + i]
        w.square[i] = x * x + z * z
    for i in range(HALO + BLOCK, last):
        x, z = w.x[p * ROW + i], w.z[p * ROW + i]
        w.square[i] = x * x + z * z
    for at in range(HALO, HALO + BLOCK, WIDTH):
        if any_lane(1.125 * load(w.square, at) > most):
            for i in range(at, min(at + WIDTH, last)):
                most = max(most, refined(w.square, i, 1, i - first, last - 1 - i))
    return most


@part
def _pack(w, begin, size):
    """Every fourth step of the block's lines and loads, one behind the other; returns the first one and how many."""
    first = (-begin) % EVERY
    many = (size - first + EVERY - 1) // EVERY
    for k in range(many):
        j = first + k * EVERY
        for one in range(N_PARTS):
            w.few_line_x[one * PACKED + k], w.few_line_z[one * PACKED + k] = (
                w.line_x[one * BLOCK + j],
                w.line_z[one * BLOCK + j],
            )
        for p in range(N_PINS):
            w.few_x[p * PACKED + k], w.few_z[p * PACKED + k] = w.x[p * ROW + HALO + j], w.z[p * ROW + HALO + j]
    return first, many


@part
def _roses(w, p, f, g, first, many, steps, worn):
    """Sectors of the forces on both parts of a pin, at every fourth step alone.

    Two roses are filled by turns, and those of both parts together: a processor waits for a number that it has just
    added to.
    """
    for at in range(0, many, WIDTH):
        x, z = load(w.few_x, p * PACKED + at), load(w.few_z, p * PACKED + at)
        c, s = load(w.few_line_x, f * PACKED + at), load(w.few_line_z, f * PACKED + at)
        store(w.sector, at, sector(-(x * c + z * s), x * s - z * c))
        c, s = load(w.few_line_x, g * PACKED + at), load(w.few_line_z, g * PACKED + at)
        store(w.sector, PACKED + at, sector(x * c + z * s, z * c - x * s))
    for k in range(many):
        turn, of = w.worn[first + k * EVERY], ((k & 1) * N_PINS + p) * 2 * SECTORS
        one, other = of + int(w.sector[k]), of + SECTORS + int(w.sector[PACKED + k])
        steps[one] += 1
        worn[one] += turn
        steps[other] += 1
        worn[other] += turn


@kernel
def gather(
    m, theta, omega, psi, psi_rate, cos_crank, sin_crank, pins, first, second,
    sums, peaks, rose_steps, rose_worn, closed, numbers, sizes, stack, room, depth,
):  # fmt: skip
    """All steps of a run; series (n,), pins flat (n × 14 × 2) [N], first and second: part of every pin (14,).

    sums (14, N_SUMS), peaks (14) of F² and roses, flat (2 by turns × 14 × 2 parts × SECTORS), grow, so do the cycles,
    flat by pin, direction and bin; stack: flat, `room` turning points for every pin and direction, depth (14 ×
    DIRECTIONS): how many are on it. Returns False where the room was too small.
    """
    n = theta.size
    w = _scratch(cos_crank, sin_crank)
    points = np.zeros(N_HISTORIES * FULL)
    turns, kept = np.zeros(FULL), np.zeros(FULL)
    size, mean = np.zeros((room + FULL) // 2 + WIDTH), np.zeros((room + FULL) // 2 + WIDTH)
    ends = np.arange(N_HISTORIES) * FULL
    last, way = np.zeros(N_HISTORIES), np.zeros(N_HISTORIES)
    for begin in range(0, n, BLOCK):
        steps = min(BLOCK, n - begin)
        over = begin + steps == n
        low, high = _read_block(m, theta, omega, psi, psi_rate, pins, begin, steps, w)
        few, many = _pack(w, begin, steps)
        for p in range(N_PINS):
            _loads(w, p, first[p], second[p], sums)
            _components(w, p, second[p])
            peaks[p] = _peak(w, p, low, high, peaks[p])
            _roses(w, p, first[p], second[p], few, many, rose_steps, rose_worn)
            for d in range(DIRECTIONS):
                q = p * DIRECTIONS + d
                ends[q] = candidates(w.component, d * ROW + HALO, steps, points, ends[q])
                if over or ends[q] - q * FULL >= WAITING:
                    found, last[q], way[q], depth[q] = drain(
                        points, q * FULL, ends[q], over, last[q], way[q], turns, kept, stack, q * room, room, depth[q],
                        size, mean,
                    )  # fmt: skip
                    if depth[q] < 0:
                        return False
                    put_away(found, size, mean, 0, closed, q * BINS, numbers, sizes, q * RANGES)
                    ends[q] = q * FULL
    return True
