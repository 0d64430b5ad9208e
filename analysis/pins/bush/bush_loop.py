"""One pass over the steps of pins: loads of its bushes, summed and with their peaks. Compiled."""

from __future__ import annotations

import math

import numpy as np

from analysis.crossing.peaks import refined
from sim.arithmetic.compiled import kernel, part
from sim.arithmetic.simd import WIDTH, any_lane, as_lanes, load, root, store, total

(SIZE, SQUARE, WORN, PEAK) = range(4)  # sums over steps of F, F² and F·|ω|, and the largest F² between steps
N_SUMS = 4
NEARLY = 1.2  # a sample this much below the largest square can be no peak that lies between samples
BLOCK = 128  # steps that are looked at together: what they need stays in the nearest cache
NEAR = 2  # steps on either side that a peak between steps needs
HALO = 8  # room on either side, that loads stay in line
ROW = BLOCK + 2 * HALO


@part
def _bushes(x, z, about_x, about_z, share, rate, squares, sums, shared, p):
    """Both bushes of a pin over a block: half its load ± what the couple adds."""
    zero = as_lanes(0.0)
    a0, a1, a2, b0, b1, b2, turned = zero, zero, zero, zero, zero, zero, zero
    for at in range(0, BLOCK, WIDTH):
        fx, fz, cx, cz = load(x, HALO + at), load(z, HALO + at), load(about_x, HALO + at), load(about_z, HALO + at)
        turned = turned + root(cx * cx + cz * cz)
        mx, mz = -cz * share, cx * share  # about x: y·Fz, about z: −y·Fx, with y = ± span/2
        left = (fx + mx) * (fx + mx) + (fz + mz) * (fz + mz)
        right = (fx - mx) * (fx - mx) + (fz - mz) * (fz - mz)
        store(squares, HALO + at, left)
        store(squares, ROW + HALO + at, right)
        turn, size = load(rate, at), root(left)
        a0, a1, a2 = a0 + size, a1 + left, a2 + size * turn
        size = root(right)
        b0, b1, b2 = b0 + size, b1 + right, b2 + size * turn
    shared[p, 0] += total(turned)
    sums[p, 0, SIZE] += total(a0)
    sums[p, 0, SQUARE] += total(a1)
    sums[p, 0, WORN] += total(a2)
    sums[p, 1, SIZE] += total(b0)
    sums[p, 1, SQUARE] += total(b1)
    sums[p, 1, WORN] += total(b2)


@part
def _beside(x, z, about_x, about_z, share, squares, first, last):
    """The squares of steps next to a block."""
    for i in range(first, last):
        more_x, more_z = -about_z[i] * share, about_x[i] * share
        left_x, left_z, right_x, right_z = x[i] + more_x, z[i] + more_z, x[i] - more_x, z[i] - more_z
        squares[i] = left_x * left_x + left_z * left_z
        squares[ROW + i] = right_x * right_x + right_z * right_z


@part
def _highest(squares, row, size, begin, n, sums, shared, p, k):
    """Largest F² of a bush so far, between steps too, and the step of the pin's worst bush."""
    most = sums[p, k, PEAK]
    for at in range(0, size, WIDTH):
        if any_lane(NEARLY * load(squares, row + HALO + at) > most):
            for j in range(at, min(at + WIDTH, size)):
                square = squares[row + HALO + j]
                most = max(most, refined(squares, row + HALO + j, 1, begin + j, n - 1 - begin - j))
                if square > shared[p, 2]:
                    shared[p, 1], shared[p, 2] = begin + j, square
    sums[p, k, PEAK] = most


@kernel
def reduce_pins(pins, columns, which, couples, per_span, rates, sums, shared):
    """Bushes of pins that carry couples, pins flat (n × columns × 2) [N]; one pass over the steps for all of them.

    Of each of them, in one order: which: its column, couples: flat (2 × n) [N m], per_span: 1/span, 0 for a single
    bush, rates: |ω| (n,) [rad/s]. sums (pins, 2, N_SUMS): left and right bush (a single one: both times the pin
    itself); shared (pins, 3): size of the couple [N m] summed, step of the worst bush, its F².
    """
    n = pins.size // (2 * columns)
    x, z, about_x, about_z = np.zeros(ROW), np.zeros(ROW), np.zeros(ROW), np.zeros(ROW)
    squares, rate = np.zeros(2 * ROW), np.zeros(BLOCK)
    for begin in range(0, n, BLOCK):
        size = min(BLOCK, n - begin)
        low, high = max(begin - NEAR, 0), min(begin + size + NEAR, n)
        first, last = HALO + low - begin, HALO + high - begin
        for p in range(which.size):
            couple, share = couples[p], per_span[p]
            half = 0.5 if share > 0.0 else 1.0
            if size < BLOCK:
                x[:], z[:], about_x[:], about_z[:], rate[:] = 0.0, 0.0, 0.0, 0.0, 0.0
            at = (low * columns + which[p]) * 2
            for j in range(first, last):
                x[j], z[j] = half * pins[at], half * pins[at + 1]
                at += 2 * columns
            about_x[first:last] = couple[low:high]
            about_z[first:last] = couple[n + low : n + high]
            rate[:size] = rates[p][begin : begin + size]
            _bushes(x, z, about_x, about_z, share, rate, squares, sums, shared, p)
            _beside(x, z, about_x, about_z, share, squares, first, HALO)
            _beside(x, z, about_x, about_z, share, squares, HALO + size, last)
            for k in range(2):
                _highest(squares, k * ROW, size, begin, n, sums, shared, p, k)


@kernel
def worn_bushes(pins, pin, columns, couple, per_span, rate, every, out):
    """Of both bushes of a pin the mean of F·|ω| over every so many steps → out (2,); per_span: 1/span.

    couple: flat (2 × many) at those steps alone; pins and rate at all of them.
    """
    many = couple.size // 2
    half = 0.5 if per_span > 0.0 else 1.0
    a, b = 0.0, 0.0
    for k in range(many):
        i = k * every
        at = (i * columns + pin) * 2
        x, z = half * pins[at], half * pins[at + 1]
        more_x, more_z = -couple[many + k] * per_span, couple[k] * per_span
        a += rate[i] * math.sqrt((x + more_x) * (x + more_x) + (z + more_z) * (z + more_z))
        b += rate[i] * math.sqrt((x - more_x) * (x - more_x) + (z - more_z) * (z - more_z))
    out[0] = a / many
    out[1] = b / many


@kernel
def tilted_bush(pins, pin, columns, couple, rate, diameter, length):
    """A single bush that carries a couple: highest pressure along it [Pa] (`pressure.edge_pressure`, step by step) and
    the sum of |couple|·|ω| over steps.

    pins flat (n × columns × 2) [N], couple flat (2 × n) [N m], rate: |ω| (n,) [rad/s], sizes of the bush [m].
    """
    n = rate.size
    area = diameter * length
    most, turned = 0.0, 0.0
    for i in range(n):
        at = (i * columns + pin) * 2
        force = math.sqrt(pins[at] * pins[at] + pins[at + 1] * pins[at + 1])
        about = math.sqrt(couple[i] * couple[i] + couple[n + i] * couple[n + i])
        turned += about * rate[i]
        if 6.0 * about <= force * length:
            edge = force / area + 6.0 * about / (area * length)
        else:
            rest = 0.5 * length * force - about  # of the bush that touches, times the force
            edge = 2.0 * force * force / (3.0 * diameter * rest) if rest > 0.0 else math.inf
        most = max(most, edge)
    return most, turned
