"""One pass over the steps of pins: loads of its bushes, summed and with their peaks. Compiled."""

from __future__ import annotations

import math

import numpy as np

from analysis.crossing.peaks import refined
from sim.arithmetic.compiled import kernel

(SIZE, SQUARE, WORN, PEAK) = range(4)  # sums over steps of F, F² and F·|ω|, and the largest F² between steps
N_SUMS = 4
NEARLY = 1.2  # a sample this much below the largest square can be no peak that lies between samples
BLOCK = 256  # steps that are looked at together: what they need stays in the nearest cache
HALO = 2  # steps on either side that a peak between steps needs


@kernel
def reduce_pins(pins, columns, which, couples, per_span, rates, sums, shared):
    """Bushes of pins that carry couples, pins flat (n × columns × 2) [N]; one pass over the steps for all of them.

    Of each of them, in one order: which: its column, couples: flat (2 × n) [N m], per_span: 1/span, 0 for a single
    bush, rates: |ω| (n,) [rad/s]. sums (pins, 2, N_SUMS): left and right bush (a single one: both times the pin
    itself); shared (pins, 3): size of the couple [N m] summed, step of the worst bush, its F².
    """
    n = pins.size // (2 * columns)
    squares = np.empty((2, BLOCK + 2 * HALO))
    sizes = np.empty(BLOCK)
    for begin in range(0, n, BLOCK):
        size = min(BLOCK, n - begin)
        low, high = max(begin - HALO, 0), min(begin + size + HALO, n)
        first = begin - low
        for p in range(which.size):
            couple, rate, share = couples[p], rates[p], per_span[p]
            half = 0.5 if share > 0.0 else 1.0
            for i in range(low, high):
                at = (i * columns + which[p]) * 2
                x, z = half * pins[at], half * pins[at + 1]
                # about x: y·Fz, about z: −y·Fx, with y = ± span/2
                more_x, more_z = -couple[n + i] * share, couple[i] * share
                squares[0, i - low] = (x + more_x) * (x + more_x) + (z + more_z) * (z + more_z)
                squares[1, i - low] = (x - more_x) * (x - more_x) + (z - more_z) * (z - more_z)
            for j in range(size):
                about_x, about_z = couple[begin + j], couple[n + begin + j]
                sizes[j] = math.sqrt(about_x * about_x + about_z * about_z)
            turned = 0.0
            for j in range(size):
                turned += sizes[j]
            shared[p, 0] += turned
            for k in range(2):
                row = squares[k]
                for j in range(size):
                    sizes[j] = math.sqrt(row[first + j])
                a, b, c = 0.0, 0.0, 0.0
                for j in range(size):
                    a += sizes[j]
                    b += row[first + j]
                    c += sizes[j] * rate[begin + j]
                sums[p, k, SIZE] += a
                sums[p, k, SQUARE] += b
                sums[p, k, WORN] += c
                most = sums[p, k, PEAK]
                for j in range(size):
                    square = row[first + j]
                    if square * NEARLY > most:
                        most = max(most, refined(row, first + j, 1, begin + j, n - 1 - begin - j))
                        if square > shared[p, 2]:
                            shared[p, 1], shared[p, 2] = begin + j, square
                sums[p, k, PEAK] = most


@kernel
def worn_bushes(pins, pin, columns, couple, per_span, rate, every, out):
    """Of both bushes of a pin the mean of F·|ω| over every so many steps → out (2,); per_span: 1/span."""
    n = rate.size
    half = 0.5 if per_span > 0.0 else 1.0
    a, b = 0.0, 0.0
    for i in range(0, n, every):
        at = (i * columns + pin) * 2
        x, z = half * pins[at], half * pins[at + 1]
        more_x, more_z = -couple[n + i] * per_span, couple[i] * per_span
        a += rate[i] * math.sqrt((x + more_x) * (x + more_x) + (z + more_z) * (z + more_z))
        b += rate[i] * math.sqrt((x - more_x) * (x - more_x) + (z - more_z) * (z - more_z))
    many = (n + every - 1) // every
    out[0] = a / many
    out[1] = b / many
