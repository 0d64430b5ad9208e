"""Compiled sums over the chunks of `sim.march.rows.march_group`: eight rows side by side, in the order of the steps.

A record holds the sums of one section for eight rows, (len(RECORD), 8) given flat. Every quantity is added up step by
step, so that neither the size of a chunk nor the other rows change a bit of it. Sums of squares are taken from the
section's first value, so that a small scatter about a large mean keeps its digits.
"""

from __future__ import annotations

import numpy as np

from analysis.crossing.peaks import refined
from sim.arithmetic.compiled import part
from sim.arithmetic.simd import WIDTH, anywhere, lane, largest, load, magnitude, select, smallest, store, with_lane
from sim.march.march_rows import CHUNK_WIDTH, ROW_CHANNELS
from sim.record import CAUSES, PINS

STRIDE = CHUNK_WIDTH * WIDTH  # numbers between a channel's value at one step and the next

DEPTH = ROW_CHANNELS.index("depth") * WIDTH
PARTS = ROW_CHANNELS.index(CAUSES[0]) * WIDTH  # the five parts follow one another
GAUGE = ROW_CHANNELS.index("gauge_load") * WIDTH
PRESS = ROW_CHANNELS.index("press_load") * WIDTH
SQUASH = ROW_CHANNELS.index("tyre_and_sinkage") * WIDTH
PRESS_SQUASH = ROW_CHANNELS.index("press_squash") * WIDTH
ROCK = ROW_CHANNELS.index("rock_force") * WIDTH
GIVES_WAY = ROW_CHANNELS.index("stone_gives_way") * WIDTH
STOP = ROW_CHANNELS.index("stop_force") * WIDTH
SPARE = ROW_CHANNELS.index("spare_load") * WIDTH
PRESSURE = ROW_CHANNELS.index("oil_pressure") * WIDTH
VOLUME = ROW_CHANNELS.index("gas_volume") * WIDTH
GAS = ROW_CHANNELS.index("gas_temperature") * WIDTH
ARM = ROW_CHANNELS.index("arm_angle") * WIDTH
SLIP = ROW_CHANNELS.index("disc_slip") * WIDTH
LIFT = ROW_CHANNELS.index("lift_off") * WIDTH
SQUARES = len(ROW_CHANNELS) * WIDTH  # squared pin forces, to the end
N_PARTS, N_PINS = len(CAUSES), len(PINS)
assert tuple(ROW_CHANNELS[1 : 1 + N_PARTS]) == CAUSES

RECORD = (
    *("error_from", *(f"{part}_from" for part in CAUSES)),
    *("on_depth", "error_sum", "error_square"),
    *(f"{part}_{what}" for part in CAUSES for what in ("sum", "square", "with_error")),
    *("gauge_load_from", "press_load_from", "gauge_load_sum", "gauge_load_square", "wheel_off"),
    *("press_load_sum", "press_load_square", "disc_slip", "out_of_oil"),
    *("pressure_min", "pressure_max", "gas_coldest", "gas_hottest"),
    *("squash_change_max", "squash_change_step", "press_squash_max", "press_squash_step", "rock_peak"),
    *(f"{pin}_sum" for pin in PINS),  # of squared loads
    *(f"{pin}_peak" for pin in PINS),  # squared
    "stone_gave_way",  # 1 where one did
    *("error_max", "error_min", "gauge_load_max"),
    *("off_depth_gap", "off_depth_here", "off_depth_most"),  # steps: since the last, at this place, at the worst
    *("wheel_off_gap", "wheel_off_here", "wheel_off_most"),
)
# how two stretches of a record join: numbers of steps add up · of moments mean and deviations are put together · the
# extreme of both · what belongs to the highest of another goes with it
COUNTS = ("on_depth", "wheel_off", "disc_slip", "out_of_oil")
MOMENTS = ("error", *CAUSES, "gauge_load", "press_load")  # of each: `_from`, `_sum`, `_square`
EXTREMES = {
    "pressure_min": np.min, "pressure_max": np.max, "gas_coldest": np.min, "gas_hottest": np.max,
    "squash_change_max": np.max, "press_squash_max": np.max, "rock_peak": np.max, "stone_gave_way": np.max,
    "error_max": np.max, "error_min": np.min, "gauge_load_max": np.max, "off_depth_most": np.max,
    "wheel_off_most": np.max,
}  # fmt: skip
WITH_HIGHEST = {"squash_change_step": "squash_change_max", "press_squash_step": "press_squash_max"}

FROM, ON, ERROR = 0, RECORD.index("on_depth"), RECORD.index("error_sum")
EACH = RECORD.index(f"{CAUSES[0]}_sum")
LOADS = RECORD.index("gauge_load_from")
ENDS = RECORD.index("pressure_min")
ROCK_PEAK, GAVE_WAY = RECORD.index("rock_peak"), RECORD.index("stone_gave_way")
WORST, PLACES = RECORD.index("error_max"), RECORD.index("off_depth_gap")
PIN_SUMS, PIN_PEAKS = RECORD.index(f"{PINS[0]}_sum"), RECORD.index(f"{PINS[0]}_peak")
assert N_PARTS == 5


@part
def open_record(record, flat, row, set_depth):
    """Empty a record for the section that begins at a row of a chunk; a place goes on from the section before."""
    for k in range(PLACES * WIDTH):
        record[k] = 0.0
    for j in range(WIDTH):
        record[(PLACES + 2) * WIDTH + j] = 0.0
        record[(PLACES + 5) * WIDTH + j] = 0.0
    at = row * STRIDE
    store(record, FROM * WIDTH, load(flat, at + DEPTH) - load(set_depth, 0))
    for k in range(N_PARTS):
        store(record, (FROM + 1 + k) * WIDTH, load(flat, at + PARTS + k * WIDTH))
    store(record, LOADS * WIDTH, load(flat, at + GAUGE))
    store(record, (LOADS + 1) * WIDTH, load(flat, at + PRESS))
    for j in range(WIDTH):
        record[ENDS * WIDTH + j] = np.inf
        record[(ENDS + 1) * WIDTH + j] = -np.inf
        record[(ENDS + 2) * WIDTH + j] = np.inf
        for k in (3, 4, 6):
            record[(ENDS + k) * WIDTH + j] = -np.inf
        record[ROCK_PEAK * WIDTH + j] = -np.inf
        record[WORST * WIDTH + j] = -np.inf
        record[(WORST + 1) * WIDTH + j] = np.inf
        record[(WORST + 2) * WIDTH + j] = -np.inf
        for k in range(N_PINS):
            record[(PIN_PEAKS + k) * WIDTH + j] = -np.inf


@part
def _moments(flat, at, origin, d, total, square, product):
    """Add one part of the depth error: its sum, square and product with the error, both from their first values."""
    p = load(flat, at) - origin
    return total + p, square + p * p, product + p * d


@part
def add_depth(record, flat, row, n, set_depth, tolerance):
    """Depth error, steps on depth, and the five parts, over n rows of a chunk."""
    target = load(set_depth, 0)
    e0 = load(record, FROM * WIDTH)
    f0, f1, f2 = load(record, WIDTH), load(record, 2 * WIDTH), load(record, 3 * WIDTH)
    f3, f4 = load(record, 4 * WIDTH), load(record, 5 * WIDTH)
    on, es, ee = load(record, ON * WIDTH), load(record, ERROR * WIDTH), load(record, (ERROR + 1) * WIDTH)
    b = EACH * WIDTH
    s0, q0, c0 = load(record, b), load(record, b + WIDTH), load(record, b + 2 * WIDTH)
    s1, q1, c1 = load(record, b + 3 * WIDTH), load(record, b + 4 * WIDTH), load(record, b + 5 * WIDTH)
    s2, q2, c2 = load(record, b + 6 * WIDTH), load(record, b + 7 * WIDTH), load(record, b + 8 * WIDTH)
    s3, q3, c3 = load(record, b + 9 * WIDTH), load(record, b + 10 * WIDTH), load(record, b + 11 * WIDTH)
    s4, q4, c4 = load(record, b + 12 * WIDTH), load(record, b + 13 * WIDTH), load(record, b + 14 * WIDTH)
    for i in range(row, row + n):
        at = i * STRIDE
        error = load(flat, at + DEPTH) - target
        on = on + select(magnitude(error) <= tolerance, 1.0, 0.0)
        d = error - e0
        es = es + d
        ee = ee + d * d
        s0, q0, c0 = _moments(flat, at + PARTS, f0, d, s0, q0, c0)
        s1, q1, c1 = _moments(flat, at + PARTS + WIDTH, f1, d, s1, q1, c1)
        s2, q2, c2 = _moments(flat, at + PARTS + 2 * WIDTH, f2, d, s2, q2, c2)
        s3, q3, c3 = _moments(flat, at + PARTS + 3 * WIDTH, f3, d, s3, q3, c3)
        s4, q4, c4 = _moments(flat, at + PARTS + 4 * WIDTH, f4, d, s4, q4, c4)
    store(record, ON * WIDTH, on)
    store(record, ERROR * WIDTH, es)
    store(record, (ERROR + 1) * WIDTH, ee)
    store(record, b, s0)
    store(record, b + WIDTH, q0)
    store(record, b + 2 * WIDTH, c0)
    store(record, b + 3 * WIDTH, s1)
    store(record, b + 4 * WIDTH, q1)
    store(record, b + 5 * WIDTH, c1)
    store(record, b + 6 * WIDTH, s2)
    store(record, b + 7 * WIDTH, q2)
    store(record, b + 8 * WIDTH, c2)
    store(record, b + 9 * WIDTH, s3)
    store(record, b + 10 * WIDTH, q3)
    store(record, b + 11 * WIDTH, c3)
    store(record, b + 12 * WIDTH, s4)
    store(record, b + 13 * WIDTH, q4)
    store(record, b + 14 * WIDTH, c4)


@part
def _at_place(bad, gap, here, most, apart):
    """Count one step of what is bad at one place: steps since the last, steps at this place and at the worst one.

    More than `apart` steps without begin another place.
    """
    gap = select(bad, 0.0, gap + 1.0)
    here = select(gap > apart, 0.0, here) + select(bad, 1.0, 0.0)
    return gap, here, largest(most, here)


@part
def add_places(record, flat, row, n, set_depth, tolerance, apart):
    """The worst depth errors and gauge load, and the steps off depth and without gauge load at the worst place."""
    target = load(set_depth, 0)
    w, b = WORST * WIDTH, PLACES * WIDTH
    deep, shallow, heavy = load(record, w), load(record, w + WIDTH), load(record, w + 2 * WIDTH)
    g0, h0, m0 = load(record, b), load(record, b + WIDTH), load(record, b + 2 * WIDTH)
    g1, h1, m1 = load(record, b + 3 * WIDTH), load(record, b + 4 * WIDTH), load(record, b + 5 * WIDTH)
    for i in range(row, row + n):
        at = i * STRIDE
        error, gauge = load(flat, at + DEPTH) - target, load(flat, at + GAUGE)
        deep = largest(deep, error)
        shallow = smallest(shallow, error)
        heavy = largest(heavy, gauge)
        g0, h0, m0 = _at_place(magnitude(error) > tolerance, g0, h0, m0, apart)
        g1, h1, m1 = _at_place(gauge <= 0.0, g1, h1, m1, apart)
    store(record, w, deep)
    store(record, w + WIDTH, shallow)
    store(record, w + 2 * WIDTH, heavy)
    store(record, b, g0)
    store(record, b + WIDTH, h0)
    store(record, b + 2 * WIDTH, m0)
    store(record, b + 3 * WIDTH, g1)
    store(record, b + 4 * WIDTH, h1)
    store(record, b + 5 * WIDTH, m1)


@part
def add_loads(record, flat, row, n, accumulator, s):
    """Wheel loads, steps without gauge load, with a slipping disc and out of oil; ends of pressures, gas temperature
    and the wheels' squash. The first row is step s.
    """
    b = LOADS * WIDTH
    g0, p0 = load(record, b), load(record, b + WIDTH)
    gs, gg, off = load(record, b + 2 * WIDTH), load(record, b + 3 * WIDTH), load(record, b + 4 * WIDTH)
    ps, pp = load(record, b + 5 * WIDTH), load(record, b + 6 * WIDTH)
    slip, out = load(record, b + 7 * WIDTH), load(record, b + 8 * WIDTH)
    low, high = load(record, b + 9 * WIDTH), load(record, b + 10 * WIDTH)
    cold, hot = load(record, b + 11 * WIDTH), load(record, b + 12 * WIDTH)
    gauge_in, gauge_step = load(record, b + 13 * WIDTH), load(record, b + 14 * WIDTH)
    press_in, press_step = load(record, b + 15 * WIDTH), load(record, b + 16 * WIDTH)
    for i in range(row, row + n):
        at = i * STRIDE
        gauge = load(flat, at + GAUGE)
        off = off + select(gauge <= 0.0, 1.0, 0.0)
        g = gauge - g0
        gs = gs + g
        gg = gg + g * g
        p = load(flat, at + PRESS) - p0
        ps = ps + p
        pp = pp + p * p
        slip = slip + load(flat, at + SLIP)
        out = out + select(load(flat, at + VOLUME) > accumulator, 1.0, 0.0)
        pressure = load(flat, at + PRESSURE)
        low = smallest(low, pressure)
        high = largest(high, pressure)
        gas = load(flat, at + GAS)
        cold = smallest(cold, gas)
        hot = largest(hot, gas)
        now = float(s + i - row)
        squash = load(flat, at + SQUASH)
        gauge_step = select(squash > gauge_in, now, gauge_step)
        gauge_in = largest(gauge_in, squash)
        squash = load(flat, at + PRESS_SQUASH)
        press_step = select(squash > press_in, now, press_step)
        press_in = largest(press_in, squash)
    store(record, b + 2 * WIDTH, gs)
    store(record, b + 3 * WIDTH, gg)
    store(record, b + 4 * WIDTH, off)
    store(record, b + 5 * WIDTH, ps)
    store(record, b + 6 * WIDTH, pp)
    store(record, b + 7 * WIDTH, slip)
    store(record, b + 8 * WIDTH, out)
    store(record, b + 9 * WIDTH, low)
    store(record, b + 10 * WIDTH, high)
    store(record, b + 11 * WIDTH, cold)
    store(record, b + 12 * WIDTH, hot)
    store(record, b + 13 * WIDTH, gauge_in)
    store(record, b + 14 * WIDTH, gauge_step)
    store(record, b + 15 * WIDTH, press_in)
    store(record, b + 16 * WIDTH, press_step)


@part
def add_stones(record, flat, row, n, before, after):
    """The largest force of a stone and whether one gave way; before, after as `add_pins`."""
    most, gave = load(record, ROCK_PEAK * WIDTH), load(record, GAVE_WAY * WIDTH)
    at = row * STRIDE + ROCK
    for i in range(n):
        y = load(flat, at)
        most = largest(most, y)
        if anywhere(1.25 * y > most):  # between steps a quarter higher at most
            for j in range(WIDTH):
                top = refined(flat, at + j, STRIDE, before + i, after - i)
                most = with_lane(most, j, max(lane(most, j), top))
        gave = largest(gave, load(flat, at + GIVES_WAY - ROCK))
        at += STRIDE
    store(record, ROCK_PEAK * WIDTH, most)
    store(record, GAVE_WAY * WIDTH, gave)


@part
def add_pins(record, flat, row, n, before, after):
    """Squared pin loads: sums and peaks over n rows; before the first there are `before` samples, after it `after`."""
    for k in range(N_PINS):
        total = load(record, (PIN_SUMS + k) * WIDTH)
        most = load(record, (PIN_PEAKS + k) * WIDTH)
        at = row * STRIDE + SQUARES + k * WIDTH
        left = load(flat, at - STRIDE)
        y = load(flat, at)
        for i in range(n):
            right = load(flat, at + STRIDE)
            total = total + y
            most = largest(most, y)
            bound = y + 0.125 * (2.0 * y - left - right)  # no parabola rises higher
            if anywhere(bound > most):
                for j in range(WIDTH):
                    if lane(bound, j) > lane(most, j):
                        top = refined(flat, at + j, STRIDE, before + i, after - i)
                        most = with_lane(most, j, max(lane(most, j), top))
            left = y
            y = right
            at += STRIDE
        store(record, (PIN_SUMS + k) * WIDTH, total)
        store(record, (PIN_PEAKS + k) * WIDTH, most)


@part
def add_counts(counts, flat, row, n, channel, origin, low, per_width, bins):
    """Histogram of a channel less `origin` (8): counts (bins + 2, 8) flat, the first and last for what lies beyond."""
    for i in range(row, row + n):
        at = i * STRIDE + channel
        for j in range(WIDTH):
            place = min(max((flat[at + j] - origin[j] - low) * per_width + 1.0, 0.0), bins + 1.0)
            counts[int(place) * WIDTH + j] += 1
