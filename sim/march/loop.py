"""The compiled time loop: Runge–Kutta steps over the whole track, with the records of every step.

A step takes two evaluations (`sim.march.rule`), the second of them at its end: that is the first of the next step and
carries its records. It takes three where nothing is known of the step before or the cylinder is out of oil, and four
while a stone or a stop is touched. One in which a switching contact (stone, travel stop, out of oil) opens or closes is
cut into CUTS of three evaluations each; behind one in which a wheel lifts off or comes down, the next begins anew where
it came out. Argument groups, in this order: model · settings · state · out.
"""

from __future__ import annotations

import math

import numpy as np

from sim.arithmetic.compiled import kernel, part, routine
from sim.arithmetic.simd import put
from sim.laws.contact import COLUMN, read_table
from sim.laws.gas import SMALLEST_SHARE
from sim.march.instant import (
    add_powers,
    bar_at,
    bar_node,
    channels,
    evaluate,
    in_contact,
    power_kept,
    slopes,
    wheels_down,
)
from sim.march.rule import ahead, foreseen, middle, reach, stages, trial, weight
from sim.mechanism.energy import moving_energy, resting_energy
from sim.mechanism.pins import Pins, pin_forces
from sim.mechanism.play import crossed, keep_row, lift_at, play_of, shift_from, shift_to
from sim.record import CHANNELS, PINS, Sums

BLOCK = 64  # steps whose channels wait in the first cache before each joins its series
CUTS = 8  # parts of a step in which a contact switches
NEAR_STONE = 0.15  # height over the hard profile from which on a disc is about to meet a stone [m]

N_CHANNELS = len(CHANNELS)
N_PINS = 2 * len(PINS)  # x and z
N_SUMS = len(Sums._fields)
N_CHECKS = len(Pins._fields) - N_PINS  # what follows them in Pins: actuator and left-over equations
N_INFO = 8  # what a march tells of itself besides: see `march`

OK, OPEN_CLOSURE, NOT_FINITE, GAS_RANGE = range(4)  # status of a march


@part
def _copy(numbers, to):
    """Number by number: a slice would compile what tells that sizes differ, 2 s."""
    for i in range(numbers.size):
        to[i] = numbers[i]


@part
def _turn(block, first, count, n, out):
    """Channels of `count` steps from `first` on, step by step in `block` → out: one behind the other, n steps each."""
    for j in range(count):
        for channel in range(N_CHANNELS):
            out[channel * n + first + j] = block[j * N_CHANNELS + channel]


@routine
def cut_step(m, law, y, i, table, x0, inv, path, z_bar, x_start, step, sunk, shift=None):
    """Step i of one row in CUTS parts → new state, sinking of the stone, 1 if it gave way, and over the step
    ∫`power_kept` dt and ∫|the toolbar's power| dt [J]. shift: the Shift of worn pins over the step.
    """
    half = 0.5 * step
    h = step / CUTS
    gave = 0.0
    kept = 0.0
    traffic = 0.0
    for cut in range(CUTS):
        total = y
        slope = y
        begun = y
        ys = y
        for stage in range(stages(False, False)):
            at = cut + reach(stage, False)
            bar = bar_at(path, z_bar, x_start, m.speed, half, 2.0 * (i + at / CUTS))
            if stage > 0:
                ys = trial(y, slope, begun, stage, False, h)
            lift = lift_at(shift, at / CUTS, step)
            _, _, _, f, _, acc = evaluate(m, law, bar, ys, table, x0, inv, sunk, lift)
            if stage == 0:
                sunk = max(sunk, f.penetration - m.rock_limit)
            gave = max(gave, f.gives_way)
            slope = slopes(ys, f, acc)
            if stage == 0:
                begun = slope
            now = h / 6.0 * weight(stage, False, False)
            total = ahead(total, slope, now)
            kept += now * power_kept(m, ys, f, acc)
            traffic += now * abs(acc.power)
        y = total
    return y, sunk, gave, kept, traffic


@kernel
def march(
    m, law, table, stone, x0, inv, path, z_bar, x_start, step, limit_low, limit_high, y, out, pins_out, checks,
    sums, info, loose=None,
):  # fmt: skip
    """March as many steps as `out` holds.

    m Model, law GasLaw · table (COLUMNS, n) ground columns, stone (n,) stone under the disc, x0 [m], inv = 1/dx ·
    path (2·steps + 1, 6) toolbar nodes half a step apart, z_bar height of O on flat ground, x_start [m], step [s],
    allowed arm angles [rad] · y State · out (channels, steps), pins_out (steps, 28) and checks (steps, 4: actuator and
    left-over equations) given flat, sums (N_SUMS), info (N_INFO): steps done, cut steps, energy stored at start and
    end [J], ∫`power_kept` dt and ∫|the toolbar's power| dt [J] as rows have them, from powers read once a step
    (trapezoidal rule; of steps that are cut or begin in contact with a stone or a stop: at all their stages), and what
    moving bodies and tyres have stored at start and end; loose (N_PLAY): play of worn pins, carried on (None: no wear).
    Returns a status. A step that must be cut is tried once whole and then marched in CUTS parts by the same lines
    (as `cut_step` does for a row among others).
    """
    half = 0.5 * step
    n = out.size // N_CHANNELS
    block = np.empty(BLOCK * N_CHANNELS)
    sunk = 0.0
    met = -1
    gave = 0.0  # 1 where a stone gave way in the step before, which was cut
    kept = np.empty(sums.size)  # sums at the start of the step
    _copy(sums, kept)
    before, before_all = 0.0, 0.0  # info[4] and info[5] there
    power, passed = 0.0, 0.0  # `power_kept` and |the toolbar's power| there
    behind = 0.0  # time behind the start of the step that they stand for [s]
    play = play_of(loose, 1, 0)
    after = play
    shift = shift_from(play)
    status = OK
    i = 0
    h = step
    parts_left = 0  # of a step that is being cut
    stage = 0
    closing = False  # whether the evaluation is that at the end of the step, the first of the next
    switched = False  # a contact opened or closed in the step
    contact, linked = False, False  # rule of the step
    going_on, sampled = False, False  # whether the next may be linked; whether `power` is read at both ends only
    signature, down = 0.0, 0.0  # contacts and wheels at the start of the step
    moved = False  # whether a wheel lifted off or came down by its middle
    ys, total = y, y
    at_start, at_middle = y, y  # slopes: the latter of the step before, till the middle is passed
    while True:
        if switched and closing:
            # once more, in parts, with sums as they were
            _copy(kept, sums)
            info[1] += 1
            info[4], info[5] = before, before_all
            behind = 0.0
            parts_left = CUTS
            h = step / CUTS
            stage = 0
            switched, closing = False, False
            contact, linked, going_on, sampled = False, False, False, False
            ys, total = y, y
        if parts_left > 0:
            at = (CUTS - parts_left + reach(stage, False)) / CUTS
            bar = bar_at(path, z_bar, x_start, m.speed, half, 2.0 * (i + at))
        else:
            at = 1.0 if closing else reach(stage, contact)
            bar = bar_node(path, z_bar, x_start, m.speed, half, 2 * i + int(2.0 * at))
        lift = lift_at(shift, at, step)
        k, pt, gr, f, b, acc = evaluate(m, law, bar, ys, table, x0, inv, sunk, lift)
        slope = slopes(ys, f, acc)
        if closing:
            if linked:
                switched = f.signature != signature
                if switched:
                    continue
                total = ahead(total, slope, h / 6.0)
                add_powers(sums, h / 6.0, f, acc, pt, lift)
                if moved or wheels_down(f) != down:
                    # what comes next is not foreseen across a blow of a wheel: read it where the step came out
                    linked, going_on = False, False
                    ys = total
                    continue
            y = total
            _copy(sums, kept)
            behind = 0.0
            if sampled:
                info[4] += half * power
                info[5] += half * passed
                behind = half
            play = after
            shift = shift_from(play)
            i += 1
            stage = 0
            closing = False
        if stage == 0:
            if parts_left == 0 and f.penetration > -NEAR_STONE:
                # a new stone starts unsunk
                j = min(max(int((pt.hx - x0) * inv + 0.5), 0), stone.size - 1)
                if stone[j] != met:
                    met = stone[j]
                    sunk = 0.0
            # the stone met sinks as far as it was pressed beyond its strength
            sunk = max(sunk, f.penetration - m.rock_limit)
            at_start = slope
            total = y
        if stage == 0 and parts_left == 0:
            if not (ys.th > limit_low and ys.th < limit_high):
                status = OPEN_CLOSURE if math.isfinite(ys.th) else NOT_FINITE
            elif f.volume < SMALLEST_SHARE * m.v_acc:
                status = GAS_RANGE
            if status != OK:
                break
            surface, _ = read_table(table, COLUMN.surface, x0, inv, pt.hx)
            put(
                block, i % BLOCK * N_CHANNELS, channels(m, bar, ys, k, pt, gr, f, b, acc, surface, gave, i * step, lift)
            )
            if i % BLOCK == BLOCK - 1:
                _turn(block, i + 1 - BLOCK, BLOCK, n, out)
            gave = 0.0
            pins = pin_forces(m, bar, ys, k, pt, f, b, acc)
            after = crossed(play, m, k, pins, step)
            shift = shift_to(play, after)
            put(pins_out, i * N_PINS, pins[:N_PINS])
            put(checks, i * N_CHECKS, pins[N_PINS:])
            power, passed = power_kept(m, ys, f, acc), abs(acc.power)
            info[4] += behind * power
            info[5] += behind * passed
            before, before_all = info[4], info[5]
            if i in (0, n - 1):
                info[7] = moving_energy(m, bar, ys, k, pt, b)
                info[3] = info[7] + resting_energy(m, law, ys, f, sunk)
                if i == 0:
                    info[2], info[6] = info[3], info[7]
                if i == n - 1:
                    keep_row(loose, play)
                    break
            signature, down = f.signature, wheels_down(f)
            contact = in_contact(m, f)
            sampled = not contact
            linked = going_on and signature == 0.0
            going_on = signature == 0.0
            switched, moved = False, False
        if parts_left > 0:
            gave = max(gave, f.gives_way)
        else:
            switched = switched or f.signature != signature
            moved = moved or wheels_down(f) != down
        now = h / 6.0 * weight(stage, contact, linked)
        total = ahead(total, slope, now)
        add_powers(sums, now, f, acc, pt, lift)
        if contact or parts_left > 0:
            info[4] += now * power_kept(m, ys, f, acc)
            info[5] += now * abs(acc.power)
        stage += 1
        if stage < stages(contact, linked):
            ys = middle(y, ys, at_start, at_middle, h) if linked else trial(y, slope, at_start, stage, contact, h)
        elif parts_left > 1:
            parts_left -= 1
            stage = 0
            y = total
            ys = y
        else:
            parts_left = 0
            h = step
            closing = True
            ys = foreseen(y, at_start, at_middle, slope, h) if linked else total
        if stage == 2:
            at_middle = slope
    done = n if status == OK else i
    _turn(block, done - done % BLOCK, done % BLOCK, n, out)
    info[0] = done
    return status
