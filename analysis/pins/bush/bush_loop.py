"""One pass over a pin's steps: loads of its bushes, summed and with their peaks. Compiled."""

from __future__ import annotations

import math

from analysis.crossing.peaks import refined
from sim.arithmetic.compiled import kernel

(SIZE, SQUARE, WORN, PEAK) = range(4)  # sums over steps of F, F² and F·|ω|, and the largest F² between steps
N_SUMS = 4
NEARLY = 1.2  # a sample this much below the largest square can be no peak that lies between samples


@kernel
def reduce_pin(pins, pin, columns, couple, per_span, bushes, rate, squares, sums, shared):
    """Bushes of one pin of a run, pins flat (n × columns × 2) [N], couple (2, n) [N m] or (2, 0).

    per_span: 1/span, of two bushes; rate (n,) [rad/s]; squares (3, n): work. sums (3, N_SUMS): left, right bush (a
    single one: left), the pin itself. shared: size of the couple [N m], |ω| and ω² summed, step of the worst bush.
    """
    n = rate.size
    half = 0.5 if bushes > 1 else 1.0
    worst = -1.0
    for i in range(n):
        at = (i * columns + pin) * 2
        x, z = pins[at], pins[at + 1]
        squares[2, i] = x * x + z * z
        more_x, more_z = 0.0, 0.0
        if couple.shape[1] > 0:
            shared[0] += math.sqrt(couple[0, i] * couple[0, i] + couple[1, i] * couple[1, i])
            if bushes > 1:  # about x: y·Fz, about z: −y·Fx, with y = ± span/2
                more_x, more_z = -couple[1, i] * per_span, couple[0, i] * per_span
        x, z = half * x, half * z
        squares[0, i] = (x + more_x) * (x + more_x) + (z + more_z) * (z + more_z)
        squares[1, i] = (x - more_x) * (x - more_x) + (z - more_z) * (z - more_z)
        turned = abs(rate[i])
        shared[1] += turned
        shared[2] += turned * turned
        for k in range(3):
            square = squares[k, i]
            size = math.sqrt(square)
            sums[k, SIZE] += size
            sums[k, SQUARE] += square
            sums[k, WORN] += size * turned
            if k < bushes and square > worst:
                worst, shared[3] = square, i
    for k in range(3):
        row = squares[k]
        for i in range(n):
            if row[i] * NEARLY > sums[k, PEAK]:
                sums[k, PEAK] = max(sums[k, PEAK], refined(row, i, 1, i, n - 1 - i))
