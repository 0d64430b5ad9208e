"""The compiled time loop for eight rows at once.

The same equations as `sim.march.loop`, read with `Lanes`: eight rows share the travel in a step, each has its own
track, unit, soil and settings. A step of all takes as many evaluations as one of them asks for; one in which a contact
of one row switches is repeated for that row alone, cut as `sim.march.loop` does. The loop runs over a chunk of steps
and writes the channels below for each of them; whoever calls it reduces the chunk and calls again, so that memory stays
flat in distance.
"""

from __future__ import annotations

import numpy as np

from sim.arithmetic.compiled import kernel, part, routine
from sim.arithmetic.constants import with_varied
from sim.arithmetic.gather import gather_four
from sim.arithmetic.simd import (
    WIDTH,
    anywhere,
    as_lanes,
    lane,
    largest,
    load,
    load_index,
    magnitude,
    mask_bits,
    moved,
    put,
    select,
    store,
    whole,
    with_lane,
)
from sim.laws.contact import COLUMN, COLUMNS, Tracks, read_table
from sim.laws.gas import SMALLEST_SHARE
from sim.march.instant import bar_node, channels, evaluate, in_contact, power_kept, slopes, wheels_down
from sim.march.loop import N_PINS, NEAR_STONE, OK, OPEN_CLOSURE, cut_step
from sim.march.rule import ahead, either, foreseen, middle, reach, stages, trial, weight
from sim.mechanism.energy import moving_energy
from sim.mechanism.kinematics import Bar, State
from sim.mechanism.pins import Pins, pin_forces
from sim.mechanism.play import crossed, keep_rows, lift_at, play_of, plays_of, row_shift, shift_from, shift_to
from sim.record import PINS

# channels of a chunk, in this order, then the squared size of each pin's force [N²]
ROW_CHANNELS = (
    "depth",
    "ground_shape",
    "tyre_and_sinkage",
    "linkage",
    "toolbar_pitch",
    "lift_off",
    "gauge_load",
    "press_load",
    "press_squash",
    "rock_force",
    "stone_gives_way",
    "stop_force",
    "spare_load",
    "oil_pressure",
    "gas_volume",
    "gas_temperature",
    "arm_angle",
    "disc_slip",
    "disc_vertical",
)
N_STATE = len(State._fields)
CARRIED = 3 * N_STATE + 1  # numbers of a row that are carried from chunk to chunk, see `march_chunk`
CHUNK_WIDTH = len(ROW_CHANNELS) + len(PINS)

_rows_model, _row_model = with_varied(all_rows=True), with_varied(all_rows=False)


@part
def _bar(paths, start, z_bar, x, i):
    """Toolbar of each row at node i (Lanes) → Bar of Lanes; `start` is where each row's path begins in `paths`."""
    at = moved(start, whole(6.0 * i))
    z, vz, az, p = gather_four(paths, at, 0)
    _, _, vp, ap = gather_four(paths, at, 2)
    return Bar(x, z_bar + z, vz, az, p, vp, ap)


@part
def _states(numbers, first):
    at = first * WIDTH
    return State(
        load(numbers, at), load(numbers, at + WIDTH), load(numbers, at + 2 * WIDTH), load(numbers, at + 3 * WIDTH),
        load(numbers, at + 4 * WIDTH), load(numbers, at + 5 * WIDTH), load(numbers, at + 6 * WIDTH),
        load(numbers, at + 7 * WIDTH),
    )  # fmt: skip


@part
def _row_state(y, j):
    return State(
        lane(y.th, j), lane(y.om, j), lane(y.ps, j), lane(y.ops, j),
        lane(y.dg, j), lane(y.dp, j), lane(y.tg, j), lane(y.vo, j),
    )  # fmt: skip


@part
def _with_row(y, j, r):
    return State(
        with_lane(y.th, j, r.th), with_lane(y.om, j, r.om), with_lane(y.ps, j, r.ps), with_lane(y.ops, j, r.ops),
        with_lane(y.dg, j, r.dg), with_lane(y.dp, j, r.dp), with_lane(y.tg, j, r.tg), with_lane(y.vo, j, r.vo),
    )  # fmt: skip


@part
def _square(x, z):
    return x * x + z * z


def _chooser(name: str):
    """Compiled function that takes ROW_CHANNELS out of Channels, then the squared size of each pin's force."""
    ends = zip(Pins._fields[0:N_PINS:2], Pins._fields[1:N_PINS:2], strict=True)
    taken = [f"row.{channel}" for channel in ROW_CHANNELS] + [f"square(p.{x}, p.{z})" for x, z in ends]
    space: dict = {"square": _square}
    exec(f"def {name}(row, p):\n    return ({', '.join(taken)})\n", space)
    return part(space[name])


_chosen = _chooser("chosen")


@part
def _unsunk(near, sink, met, stones, which, hx, x0, inv):
    """Sinking of the stone under each disc, 0 where it is another than before; near: bits of the rows to look at."""
    for j in range(WIDTH):
        if (near >> j) & 1:
            at = min(max(int((lane(hx, j) - x0) * inv + 0.5), 0), stones.shape[1] - 1)
            if stones[which[j], at] != met[j]:
                met[j] = stones[which[j], at]
                sink = with_lane(sink, j, 0.0)
    return sink


@routine
def march_chunk(
    m, varied, law, tables, stones, which, x0, inv, paths, along, z_bar, x_start, travel, steps, limits,
    path_first, first, state, sunk, met, sums, out, info, loose=None,
):  # fmt: skip
    """March steps first … first + chunk of eight rows.

    m Model or ModelOfAny, varied (its number, 8) flat, law GasLaw · tables (tracks, COLUMNS, n), stones (tracks, n),
    which (8) int64 track of each row, x0, inv = 1/dx, paths (number, nodes, 6), along (8) int64 path of each row,
    z_bar (8), x_start (8) position of O and travel in a step of all [m], steps (8) [s], limits (2·8) flat: allowed
    arm angles, path_first: node at which `paths` begins (even) · first: number of the first step; state (CARRIED·8)
    flat, sunk (2·8), met (8), sums (3·8) flat: carried from chunk to chunk; state: where the rows stand, where
    their slopes are read next (as the step before foresaw it), the slopes at its middle, and 1 where the next step
    may be linked to it (`sim.march.rule`); sums: of each row ∫`power_kept` dt and ∫|the toolbar's power| dt [J] as
    in `march`, and the time behind the next step that the powers read at its start stand for [s]; loose (N_PLAY·8)
    flat: play of worn pins, carried too (None: no wear) · out (chunk·CHUNK_WIDTH·8) flat, info (3): steps done, cut
    steps, rows at fault as bits.
    Returns a status of `sim.march.loop`.
    """
    step = load(steps, 0)
    half = 0.5 * step
    n = out.size // (CHUNK_WIDTH * WIDTH)
    rows = _rows_model(m, varied, 0)
    samples = tables.shape[2]
    starts = np.empty(WIDTH)
    path_starts = np.empty(WIDTH, dtype=np.int64)
    for j in range(WIDTH):
        starts[j] = which[j] * samples * COLUMNS
        path_starts[j] = along[j] * paths.shape[1] * 6
    ground = Tracks(tables.reshape(-1), samples, load(starts, 0))
    flat_paths = paths.reshape(-1)
    path_start = load_index(path_starts, 0)
    z, from_x = load(z_bar, 0), load(x_start, 0)
    low, high = load(limits, 0), load(limits, WIDTH)
    sink, gave = load(sunk, 0), load(sunk, WIDTH)
    y = _states(state, 0)
    ys = _states(state, N_STATE)  # where the next slope is read
    at_middle = _states(state, 2 * N_STATE)  # slope of the step before
    going_on = load(state, 3 * N_STATE * WIDTH)  # 1 for rows that may link the next step to it
    play = plays_of(loose)
    after = play
    shift = shift_from(play)
    kept = load(sums, 0)
    traffic = load(sums, WIDTH)
    behind = load(sums, 2 * WIDTH)
    gained, passed = kept, kept
    total, at_start, at_end = y, y, y
    signature, down = as_lanes(0.0), as_lanes(0.0)
    none = signature > 0.0
    switched, moved_on, touching, linked = none, none, none, none
    close, all_linked = False, False
    count = 0
    stage = 0
    closing = False  # whether the evaluation is that at the end of the step, the first of the next
    while True:
        i = first + count
        if closing and anywhere(switched):
            bits = mask_bits(switched)
            for j in range(WIDTH):
                if (bits >> j) & 1:
                    one = _row_model(m, varied, j)
                    r, deep, way, in_it, through = cut_step(
                        one, law, _row_state(y, j), i - path_first // 2, tables[which[j]], x0, inv, paths[along[j]],
                        z_bar[j], x_start[j] + 0.5 * travel * path_first, steps[j], lane(sink, j),
                        row_shift(shift, j),
                    )  # fmt: skip
                    total = _with_row(total, j, r)
                    ys = _with_row(ys, j, r)
                    sink = with_lane(sink, j, deep)
                    gave = with_lane(gave, j, way)
                    gained = with_lane(gained, j, in_it)
                    passed = with_lane(passed, j, through)
                    behind = with_lane(behind, j, 0.0)
                    going_on = with_lane(going_on, j, 0.0)
                    info[1] += 1
            linked = linked & (going_on > 0.0)
            switched = none
        at = reach(3, touching) if closing else reach(stage, touching)
        node = 2.0 * (i + at)
        x_bar = from_x + 0.5 * travel * node
        bar = _bar(flat_paths, path_start, z, x_bar, node - path_first)
        lift = lift_at(shift, at, step)
        k, pt, gr, f, b, acc = evaluate(rows, law, bar, ys, ground, x0, inv, sink, lift)
        slope = slopes(ys, f, acc)
        if closing:
            ended = ahead(total, slope, select(linked, step / 6.0, 0.0))
            switched = linked & (f.signature != signature)
            apart = linked & (moved_on | (wheels_down(f) != down))
            if anywhere(switched | apart):
                # read once more: of rows that are cut, and where a step came out in which a wheel lifted or came down
                total = either(apart, ended, total)
                ys = either(apart, ended, ys)
                going_on = select(apart, 0.0, going_on)
                linked = linked & (going_on > 0.0)
                continue
            # the steps stand, and this evaluation begins the next
            y = ended
            kept = kept + gained
            traffic = traffic + passed
            play = after
            shift = shift_from(play)
            count += 1
            if count == n:
                break
            stage = 0
            closing = False
        if stage == 0:
            total = y
            at_start = slope
            bad = (ys.th < low) | (ys.th > high) | (ys.th != ys.th) | (f.volume < SMALLEST_SHARE * rows.v_acc)
            if anywhere(bad):
                info[0] = count
                info[2] = mask_bits(bad)
                return OPEN_CLOSURE
            # stones are rare: look only where a disc is about to meet one
            near = f.penetration > -NEAR_STONE
            if anywhere(near):
                sink = _unsunk(mask_bits(near), sink, met, stones, which, pt.hx, x0, inv)
                sink = largest(sink, f.penetration - rows.rock_limit)
            surface, _ = read_table(ground, COLUMN.surface, x0, inv, pt.hx)
            row = channels(rows, bar, ys, k, pt, gr, f, b, acc, surface, gave, x_bar, lift)
            pins = pin_forces(rows, bar, ys, k, pt, f, b, acc)
            after = crossed(play, rows, k, pins, step)
            shift = shift_to(play, after)
            put(out, count * CHUNK_WIDTH * WIDTH, _chosen(row, pins))
            gave = as_lanes(0.0)
            signature, down = f.signature, wheels_down(f)
            touching = in_contact(rows, f)
            close = anywhere(touching)
            linked = (going_on > 0.0) & (signature <= 0.0)
            all_linked = not anywhere(select(linked, 0.0, as_lanes(1.0)) > 0.0)
            going_on = select(signature <= 0.0, 1.0, 0.0)
            switched, moved_on = none, none
            gained, passed = as_lanes(0.0), as_lanes(0.0)
        counted = weight(stage, touching, linked)
        # powers: of all rows at the start of the step, of rows in contact at every stage
        if stage == 0 or close:
            power = power_kept(rows, ys, f, acc)
            size = magnitude(acc.power)
            if stage == 0:
                kept = kept + behind * power
                traffic = traffic + behind * size
                behind = select(touching, 0.0, half)
            now = select(touching, step / 6.0 * counted, half * (1.0 if stage == 0 else 0.0))
            gained = gained + now * power
            passed = passed + now * size
        switched = switched | (select(counted > 0.0, f.signature, signature) != signature)
        total = ahead(total, slope, step / 6.0 * counted)
        if stage == 0:
            # with nothing of the step before, `middle` is as `trial`
            ys = middle(y, ys, at_start, either(linked, at_middle, at_start), step)
        elif stage == 1:
            moved_on = wheels_down(f) != down
            at_end = foreseen(y, at_start, at_middle, slope, step)
            at_middle = slope
        stage += 1
        if stage == stages(close, all_linked):
            closing = True
            ys = either(linked, at_end, total)
        elif stage > 1:
            ys = trial(y, slope, at_start, stage, touching, step)
    put(state, 0, y)
    put(state, N_STATE * WIDTH, ys)
    put(state, 2 * N_STATE * WIDTH, at_middle)
    store(state, 3 * N_STATE * WIDTH, going_on)
    store(sunk, 0, sink)
    store(sunk, WIDTH, gave)
    keep_rows(loose, play)
    store(sums, 0, kept)
    store(sums, WIDTH, traffic)
    store(sums, 2 * WIDTH, behind)
    info[0] = n
    return OK


@kernel
def march_rows(
    m, varied, law, tables, stones, which, x0, inv, paths, along, z_bar, x_start, travel, steps, limits,
    path_first, first, state, sunk, met, sums, out, info, loose=None,
):  # fmt: skip
    """`march_chunk`, called from Python."""
    return march_chunk(
        m, varied, law, tables, stones, which, x0, inv, paths, along, z_bar, x_start, travel, steps, limits,
        path_first, first, state, sunk, met, sums, out, info, loose,
    )  # fmt: skip


@kernel
def rows_at(
    m, varied, law, tables, which, x0, inv, paths, along, z_bar, x_start, travel, steps, path_first, at, state, sunk,
    out, loose=None,
):  # fmt: skip
    """Eight rows at step `at`: `moving_energy` [J], `power_kept` and |the toolbar's power| [W] → out (3, 8).

    Arguments as `march_chunk`.
    """
    behind = 0.5 * travel * path_first
    seen = _states(state, N_STATE)
    for j in range(WIDTH):
        one = _row_model(m, varied, j)
        y = _row_state(seen, j)
        bar = bar_node(paths[along[j]], z_bar[j], x_start[j] + behind, one.speed, 0.5 * steps[j], 2 * at - path_first)
        lift = lift_at(shift_from(play_of(loose, WIDTH, j)), 0.0, steps[j])
        k, pt, _, f, b, acc = evaluate(one, law, bar, y, tables[which[j]], x0, inv, sunk[j], lift)
        out[0, j] = moving_energy(one, bar, y, k, pt, b)
        out[1, j] = power_kept(one, y, f, acc)
        out[2, j] = abs(acc.power)
