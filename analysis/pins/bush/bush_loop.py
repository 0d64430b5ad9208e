"""One pass over a pin's steps: loads of its bushes, summed and with their peaks. Compiled."""

from __future__ import annotations

import math

import numpy as np

from analysis.crossing.peaks import refined
from sim.arithmetic.compiled import kernel

(SIZE, SQUARE, WORN, PEAK) = range(4)  # sums over steps of F, F² and F·|ω|, and the largest F² between steps
N_SUMS = 4
NEARLY = 1.2  # a sample this much below the largest square can be no peak that lies between samples
BLOCK = 512  # steps that are looked at together: what they need stays in the nearest cache


@kernel
def reduce_pin(pins, pin, columns, couple, per_span, rate, squares, sums, shared):
    """Bushes of one pin that carries a couple, pins flat (n × columns × 2) [N], couple flat (2 × n) [N m].

    per_span: 1/span, 0 for a single bush; rate: |ω| (n,) [rad/s]; squares: flat (2 × n), work. sums (2, N_SUMS): left
    and right bush (a single one: both times the pin itself). shared: size of the couple [N m] summed, step of the worst
    bush.
    """
    n = rate.size
    half = 0.5 if per_span > 0.0 else 1.0
    sizes = np.empty(BLOCK)
    for begin in range(0, n, BLOCK):
        size = min(BLOCK, n - begin)
        for j in range(size):
            i = begin + j
            at = (i * columns + pin) * 2
            x, z = half * pins[at], half * pins[at + 1]
            about_x, about_z = couple[i], couple[n + i]
            sizes[j] = math.sqrt(about_x * about_x + about_z * about_z)
            # about x: y·Fz, about z: −y·Fx, with y = ± span/2
            more_x, more_z = -about_z * per_span, about_x * per_span
            squares[i] = (x + more_x) * (x + more_x) + (z + more_z) * (z + more_z)
            squares[n + i] = (x - more_x) * (x - more_x) + (z - more_z) * (z - more_z)
        turned = 0.0
        for j in range(size):
            turned += sizes[j]
        shared[0] += turned
        for k in range(2):
            base = k * n + begin
            for j in range(size):
                sizes[j] = math.sqrt(squares[base + j])
            a, b, c = 0.0, 0.0, 0.0
            for j in range(size):
                a += sizes[j]
                b += squares[base + j]
                c += sizes[j] * rate[begin + j]
            sums[k, SIZE] += a
            sums[k, SQUARE] += b
            sums[k, WORN] += c
    worst = -1.0
    for k in range(2):
        row = squares[k * n : (k + 1) * n]
        most, high = 0.0, 0.0
        for i in range(n):
            if row[i] * NEARLY > most:
                most = max(most, refined(row, i, 1, i, n - 1 - i))
                if row[i] > high:
                    high = row[i]
                    if high > worst:
                        worst, shared[1] = high, i
        sums[k, PEAK] = most


@kernel
def worn_bushes(pins, pin, columns, couple, per_span, rate, every, out):
    """Of both bushes of a pin the mean of F·|ω| over every so many steps → out (2,); arguments as `reduce_pin`."""
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
