"""One pass over the steps: who takes the couples, what every bush of the pins that carry them bears. Compiled.

Steps are taken in blocks that stay in the nearest cache, eight at once.
"""

from __future__ import annotations

import math
from typing import Any, NamedTuple

import numpy as np

from analysis.crossing.peaks import refined
from sim.arithmetic.compiled import kernel, part
from sim.arithmetic.simd import WIDTH, any_lane, as_lanes, lane, largest, load, root, select, store, total

(SIZE, SQUARE, WORN, PEAK) = range(4)  # sums over steps of F, F² and F·|ω|, and the largest F² between steps
N_SUMS = 4
# of a pin: size of its couple summed, that times |ω|, highest pressure along a single bush; at the step of the worst
# bush its F², the couple's square and the pin's own F²
(COUPLE, COUPLE_TURNED, EDGE, WORST, WORST_COUPLE, WORST_PIN) = range(6)
N_SHARED = 6
N_PINS = 6  # in the order of `couples.COUPLED`: four main pins, gauge arm, press arm
N_MAIN = 4
CYLINDER = N_PINS  # the row behind them: the cylinder's pin on the lower link
RATE_OF = (0, 0, 0, 0, 1, 2)  # which turning rate each pin has: main link, gauge arm, press arm
NEARLY = 1.2  # a sample this much below the largest square can be no peak that lies between samples
BLOCK = 128  # steps that are looked at together: what they need stays in the nearest cache
HALO = 8  # room on either side: a peak between steps needs two more, eight keep loads in line
ROW = BLOCK + 2 * HALO


class Sharing(NamedTuple):
    """Numbers by which the main links share what they hold."""

    spacing: float  # of the links [m]
    share: float  # of side force and couples that the upper link takes
    cylinder: float  # place of the cylinder beside the plane [m]
    weight: float  # of a link, down a side slope [N]


class Series(NamedTuple):
    """What is read, step by step: all (n,) unless said otherwise."""

    pins: Any  # flat (n × columns × 2) [N]
    moment: Any  # on the carrier, flat (2 × n) [N m]
    force: Any  # side force on it [N]
    gauge: Any  # couples of the pivots of gauge arm and press arm, flat (2 × n) [N m]
    press: Any
    front_x: Any  # links' rear pins from the front ones [m]
    front_z: Any
    arm_rate: Any  # |ω| of main link, gauge arm, press arm [rad/s]
    gauge_rate: Any
    press_rate: Any


class Scratch(NamedTuple):
    """What a block needs, flat, rows of ROW."""

    x: Any  # of all pins and the cylinder's
    z: Any
    about_x: Any  # couples of all pins
    about_z: Any
    held: Any  # moment (2), side force, links' rear pins (2)
    rates: Any  # (3)
    squares: Any  # of both bushes of one pin (2)


@part
def _read(s, columns, which, begin, n, w):
    """Steps of a block and those next to it into the scratch, nothing where there are none."""
    low, high = max(begin - HALO, 0), min(begin + BLOCK + HALO, n)
    first, last = HALO + low - begin, HALO + high - begin
    if last - first < ROW:
        w.x[:], w.z[:], w.about_x[:], w.about_z[:], w.held[:], w.rates[:] = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
    for j in range(first, last):
        row = (begin - HALO + j) * columns
        for p in range(N_PINS + 1):
            at = (row + which[p]) * 2
            w.x[p * ROW + j], w.z[p * ROW + j] = s.pins[at], s.pins[at + 1]
    w.held[first:last] = s.moment[low:high]
    w.held[ROW + first : ROW + last] = s.moment[n + low : n + high]
    w.held[2 * ROW + first : 2 * ROW + last] = s.force[low:high]
    w.held[3 * ROW + first : 3 * ROW + last] = s.front_x[low:high]
    w.held[4 * ROW + first : 4 * ROW + last] = s.front_z[low:high]
    gauge, press = N_MAIN * ROW, (N_MAIN + 1) * ROW
    w.about_x[gauge + first : gauge + last] = s.gauge[low:high]
    w.about_z[gauge + first : gauge + last] = s.gauge[n + low : n + high]
    w.about_x[press + first : press + last] = s.press[low:high]
    w.about_z[press + first : press + last] = s.press[n + low : n + high]
    w.rates[first:last] = s.arm_rate[low:high]
    w.rates[ROW + first : ROW + last] = s.gauge_rate[low:high]
    w.rates[2 * ROW + first : 2 * ROW + last] = s.press_rate[low:high]


@part
def _share(w, m, share, at):
    """Couples of the main pins at eight steps, where the upper link takes `share`, into their rows.

    Both rear pins hold the side force; that of the upper one, `spacing` over the lower, turns about x too. A link
    passes its own on to its front pin, with the side force times its length; the lower one what the cylinder does
    beside it.
    """
    side, x, z = load(w.held, 2 * ROW + at), load(w.held, 3 * ROW + at), load(w.held, 4 * ROW + at)
    all_x, all_z = -load(w.held, at) - m.spacing * share * side, -load(w.held, ROW + at)
    for link in range(2):
        part_of = share if link == 0 else 1.0 - share
        front, rear = 2 * link * ROW + at, (2 * link + 1) * ROW + at
        rear_x, rear_z, pull = part_of * all_x, part_of * all_z, -part_of * side
        store(w.about_x, rear, rear_x)
        store(w.about_z, rear, rear_z)
        beside = m.cylinder if link == 1 else 0.0
        more_x = 0.5 * m.weight * z - beside * load(w.z, CYLINDER * ROW + at)
        more_z = beside * load(w.x, CYLINDER * ROW + at) - 0.5 * m.weight * x
        store(w.about_x, front, rear_x - z * pull + more_x)
        store(w.about_z, front, rear_z + x * pull + more_z)


@part
def _both(w, p, at, half, per_span):
    """F² of both bushes of a pin at eight steps: half its load ± what the couple adds."""
    fx, fz = half * load(w.x, p * ROW + at), half * load(w.z, p * ROW + at)
    # about x: y·Fz, about z: −y·Fx, with y = ± span/2
    mx, mz = -load(w.about_z, p * ROW + at) * per_span, load(w.about_x, p * ROW + at) * per_span
    return (fx + mx) * (fx + mx) + (fz + mz) * (fz + mz), (fx - mx) * (fx - mx) + (fz - mz) * (fz - mz)


@part
def _couple(w, p, at):
    """Size of a pin's couple at eight steps [N m]."""
    x, z = load(w.about_x, p * ROW + at), load(w.about_z, p * ROW + at)
    return root(x * x + z * z)


@part
def _bushes(w, p, rate, half, per_span, sums, shared):
    """Sums of both bushes of a pin over a block."""
    zero = as_lanes(0.0)
    a0, a1, a2, b0, b1, b2, couple = zero, zero, zero, zero, zero, zero, zero
    for at in range(HALO, HALO + BLOCK, WIDTH):
        couple = couple + _couple(w, p, at)
        left, right = load(w.squares, at), load(w.squares, ROW + at)
        turn, size = load(w.rates, rate * ROW + at), root(left)
        a0, a1, a2 = a0 + size, a1 + left, a2 + size * turn
        size = root(right)
        b0, b1, b2 = b0 + size, b1 + right, b2 + size * turn
    shared[p, COUPLE] += total(couple)
    sums[p, 0, SIZE] += total(a0)
    sums[p, 0, SQUARE] += total(a1)
    sums[p, 0, WORN] += total(a2)
    sums[p, 1, SIZE] += total(b0)
    sums[p, 1, SQUARE] += total(b1)
    sums[p, 1, WORN] += total(b2)


@part
def along_bush(force, couple, diameter, length):
    """Highest pressure along a single bush with a couple, at eight steps [Pa] (`pressure.edge_pressure`)."""
    area = diameter * length
    rest = 0.5 * length * force - couple  # of the bush that touches, times the force
    partly = select(rest > 0.0, 2.0 * force * force / (3.0 * diameter * rest), math.inf)
    return select(6.0 * couple <= force * length, force / area + 6.0 * couple / (area * length), partly)


@part
def _alone(w, p, rate, pin, shared):
    """A single bush that carries a couple: pressure at its edge, and what the couple adds to F·|ω| there."""
    turned, most = as_lanes(0.0), as_lanes(0.0)
    for at in range(HALO, HALO + BLOCK, WIDTH):
        couple = _couple(w, p, at)
        turned = turned + couple * load(w.rates, rate * ROW + at)
        most = largest(most, along_bush(root(load(w.squares, at)), couple, pin[1], pin[2]))
    shared[p, COUPLE_TURNED] += total(turned)
    for j in range(WIDTH):
        shared[p, EDGE] = max(shared[p, EDGE], lane(most, j))


@part
def _highest(w, p, k, size, begin, n, sums, shared):
    """Largest F² of a bush so far, between steps too, and what is there at the pin's worst bush."""
    most, row = sums[p, k, PEAK], k * ROW + HALO
    for at in range(0, size, WIDTH):
        if any_lane(NEARLY * load(w.squares, row + at) > most):
            for j in range(at, min(at + WIDTH, size)):
                square = w.squares[row + j]
                most = max(most, refined(w.squares, row + j, 1, begin + j, n - 1 - begin - j))
                if square > shared[p, WORST]:
                    i = p * ROW + HALO + j
                    shared[p, WORST] = square
                    shared[p, WORST_COUPLE] = w.about_x[i] * w.about_x[i] + w.about_z[i] * w.about_z[i]
                    shared[p, WORST_PIN] = w.x[i] * w.x[i] + w.z[i] * w.z[i]
    sums[p, k, PEAK] = most


@part
def _end(w, p, half, per_span, end):
    """F·|ω| of both bushes of a main pin, and what its couple adds at the edge of a single one, over a block."""
    zero = as_lanes(0.0)
    left, right, turned = zero, zero, zero
    for at in range(HALO, HALO + BLOCK, WIDTH):
        a, b = _both(w, p, at, half, per_span)
        rate = load(w.rates, at)
        left, right = left + root(a) * rate, right + root(b) * rate
        if per_span == 0.0:
            turned = turned + _couple(w, p, at) * rate
    end[p, 0] += total(left)
    end[p, 1] += total(right)
    end[p, 2] += total(turned)


@kernel
def reduce_bushes(s, m, columns, which, pins, sums, shared, shares, ends):
    """Bushes of the pins that carry couples over all steps.

    s Series, m Sharing; which: their columns and the cylinder's (N_PINS + 1); pins (N_PINS, 3): 1/span (0: a single
    bush), diameter and length of the bush [m]. Growing: sums (N_PINS, 2, N_SUMS), left and right bush (a single one:
    both times the pin itself), shared (N_PINS, N_SHARED), and for each share of the upper link in `shares` ends
    (shares, N_MAIN, 3): ∫F|ω| of both bushes and that of a couple at a single one, as sums over steps.
    """
    n = s.force.size
    rows = np.zeros(((N_PINS + 1) * 4 + 10) * ROW)
    a, b, c, d = (N_PINS + 1) * ROW, 2 * (N_PINS + 1) * ROW, 3 * (N_PINS + 1) * ROW, 4 * (N_PINS + 1) * ROW
    w = Scratch(
        rows[:a], rows[a:b], rows[b:c], rows[c:d], rows[d : d + 5 * ROW], rows[d + 5 * ROW : d + 8 * ROW],
        rows[d + 8 * ROW :],
    )  # fmt: skip
    for begin in range(0, n, BLOCK):
        size = min(BLOCK, n - begin)
        _read(s, columns, which, begin, n, w)
        for at in range(0, ROW, WIDTH):
            _share(w, m, m.share, at)
        for p in range(N_PINS):
            per_span, rate = pins[p, 0], RATE_OF[p]
            half = 0.5 if per_span > 0.0 else 1.0
            for at in range(0, ROW, WIDTH):
                left, right = _both(w, p, at, half, per_span)
                store(w.squares, at, left)
                store(w.squares, ROW + at, right)
            _bushes(w, p, rate, half, per_span, sums, shared)
            if per_span == 0.0:
                _alone(w, p, rate, pins[p], shared)
            for k in range(2):
                _highest(w, p, k, size, begin, n, sums, shared)
        for k in range(shares.size):
            for at in range(HALO, HALO + BLOCK, WIDTH):
                _share(w, m, shares[k], at)
            for p in range(N_MAIN):
                _end(w, p, 0.5 if pins[p, 0] > 0.0 else 1.0, pins[p, 0], ends[k])
