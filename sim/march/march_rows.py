"""The compiled time loop for eight rows at once.

The same equations as `sim.march.loop`, read with `Lanes`: eight rows share speed and step, each has its own track and
its own settings. A step in which a contact of one row switches is repeated for that row alone, cut as
`sim.march.loop` does. The loop runs over a chunk of steps and writes the channels below for each of them; whoever
calls it reduces the chunk and calls again, so that memory stays flat in distance.
"""

from __future__ import annotations

import numpy as np

from sim.arithmetic.compiled import kernel, part, routine
from sim.arithmetic.constants import with_varied
from sim.arithmetic.simd import (
    WIDTH,
    anywhere,
    as_lanes,
    gather_four,
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
from sim.march.loop import (
    N_PINS,
    NEAR_STONE,
    OK,
    OPEN_CLOSURE,
    bar_node,
    channels,
    cut_step,
    evaluate,
    in_contact,
    power_kept,
    slopes,
)
from sim.march.rule import ahead, reach, stages, trial, weight
from sim.mechanism.energy import moving_energy
from sim.mechanism.kinematics import Bar, State
from sim.mechanism.pins import Pins, pin_forces
from sim.mechanism.play import crossed, keep_rows, lift_at, play_of, plays_of, row_shift, shift_from, shift_to
from sim.model import MODEL_OF_ROWS
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
CHUNK_WIDTH = len(ROW_CHANNELS) + len(PINS)

_rows_model = with_varied(MODEL_OF_ROWS)
_row_model = with_varied()


@part
def _bar(paths, start, z_bar, x, i):
    """Toolbar of each row at node i (Lanes) → Bar of Lanes; `start` is where each row's path begins in `paths`."""
    at = moved(start, whole(6.0 * i))
    z, vz, az, p = gather_four(paths, at, 0)
    _, _, vp, ap = gather_four(paths, at, 2)
    return Bar(x, z_bar + z, vz, az, p, vp, ap)


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
    m, varied, law, tables, stones, which, x0, inv, paths, z_bar, x_start, step, limit_low, limit_high,
    path_first, first, state, sunk, met, sums, out, info, loose=None,
):  # fmt: skip
    """March steps first … first + chunk of eight rows.

    m Model (shared), varied (len(VARIED)·8) flat, law GasLaw · tables (tracks, COLUMNS, n), stones (tracks, n), which
    (8) int64 track of each row, x0, inv = 1/dx, paths (tracks, nodes, 6), z_bar (8), x_start one position of O for all
    rows [m], step [s], allowed arm angles, path_first: node at which `paths` begins (even) · first: number of the
    first step; state (8·8) flat, sunk (2·8), met (8), sums (3·8) flat: carried from chunk to chunk; sums: of each row
    ∫`power_kept` dt and ∫|the toolbar's power| dt [J] as in `march`, and the time behind the next step that the powers
    read at its start stand for [s]; loose (N_PLAY·8) flat: play of worn pins, carried too (None: no wear) · out
    (chunk·CHUNK_WIDTH·8) flat, info (3): steps done, cut steps, rows at fault as
    bits.
    Returns a status of `sim.march.loop`.
    """
    half = 0.5 * step
    n = out.size // (CHUNK_WIDTH * WIDTH)
    rows = _rows_model(m, varied, 0)
    samples = tables.shape[2]
    starts = np.empty(WIDTH)
    path_starts = np.empty(WIDTH, dtype=np.int64)
    for j in range(WIDTH):
        starts[j] = which[j] * samples * COLUMNS
        path_starts[j] = which[j] * paths.shape[1] * 6
    ground = Tracks(tables.reshape(-1), samples, load(starts, 0))
    flat_paths = paths.reshape(-1)
    path_start = load_index(path_starts, 0)
    z = load(z_bar, 0)
    sink, gave = load(sunk, 0), load(sunk, WIDTH)
    y = State(
        load(state, 0), load(state, 8), load(state, 16), load(state, 24),
        load(state, 32), load(state, 40), load(state, 48), load(state, 56),
    )  # fmt: skip
    play = plays_of(loose)
    after = play
    kept = load(sums, 0)
    traffic = load(sums, WIDTH)
    behind = load(sums, 2 * WIDTH)
    gained = kept
    passed = kept
    for count in range(n):
        i = first + count
        total = y
        slope = y
        begun = y
        ys = y
        signature = as_lanes(0.0)
        switched = signature != 0.0
        close = False
        shift = shift_from(play)
        touching = signature != 0.0
        stage = 0
        while stage < stages(close):
            at = reach(stage, touching)
            node = 2.0 * (i + at)
            x_bar = x_start + m.speed * node * half
            bar = _bar(flat_paths, path_start, z, x_bar, node - path_first)
            if stage > 0:
                ys = trial(y, slope, begun, stage, touching, step)
            lift = lift_at(shift, at, step)
            k, pt, gr, f, b, acc = evaluate(rows, law, bar, ys, ground, x0, inv, sink, lift)
            if stage == 0:
                touching = in_contact(m, f)
                close = anywhere(touching)
                gained = as_lanes(0.0)
                passed = as_lanes(0.0)
                bad = (y.th < limit_low) | (y.th > limit_high) | (y.th != y.th) | (f.volume < SMALLEST_SHARE * m.v_acc)
                if anywhere(bad):
                    info[0] = count
                    info[2] = mask_bits(bad)
                    return OPEN_CLOSURE
                # stones are rare: look only where a disc is about to meet one
                near = f.penetration > -NEAR_STONE
                if anywhere(near):
                    sink = _unsunk(mask_bits(near), sink, met, stones, which, pt.hx, x0, inv)
                    sink = largest(sink, f.penetration - m.rock_limit)
            counted = weight(stage, touching)
            # powers: of all rows at the start of the step, of rows in contact at every stage
            if stage == 0 or close:
                power = power_kept(rows, ys, f, acc)
                size = magnitude(acc.power)
                now = select(touching, step / 6.0 * counted, half if stage == 0 else 0.0)
                gained = gained + now * power
                passed = passed + now * size
                if stage == 0:
                    kept = kept + behind * power
                    traffic = traffic + behind * size
                    surface, _ = read_table(ground, COLUMN.surface, x0, inv, pt.hx)
                    row = channels(rows, bar, y, k, pt, gr, f, b, acc, surface, gave, x_bar, lift)
                    pins = pin_forces(rows, bar, y, k, pt, f, b, acc)
                    after = crossed(play, m, k, pins, step)
                    shift = shift_to(play, after)
                    put(out, count * CHUNK_WIDTH * WIDTH, _chosen(row, pins))
                    signature = f.signature
                    gave = as_lanes(0.0)
            switched = switched | (select(counted > 0.0, f.signature, signature) != signature)
            slope = slopes(ys, f, acc)
            if stage == 0:
                begun = slope
            total = ahead(total, slope, step / 6.0 * counted)
            stage += 1
        behind = select(touching, 0.0, as_lanes(half))
        if anywhere(switched):
            bits = mask_bits(switched)
            for j in range(WIDTH):
                if (bits >> j) & 1:
                    one = _row_model(m, varied, j)
                    r, deep, way, in_it, through = cut_step(
                        one, law, _row_state(y, j), i - path_first // 2, tables[which[j]], x0, inv, paths[which[j]],
                        z_bar[j], x_start + m.speed * path_first * half, step, lane(sink, j),
                        row_shift(shift, j),
                    )  # fmt: skip
                    total = _with_row(total, j, r)
                    sink = with_lane(sink, j, deep)
                    gave = with_lane(gave, j, way)
                    gained = with_lane(gained, j, in_it)
                    passed = with_lane(passed, j, through)
                    behind = with_lane(behind, j, 0.0)
                    info[1] += 1
        y = total
        play = after
        kept = kept + gained
        traffic = traffic + passed
    store(state, 0, y.th)
    store(state, 8, y.om)
    store(state, 16, y.ps)
    store(state, 24, y.ops)
    store(state, 32, y.dg)
    store(state, 40, y.dp)
    store(state, 48, y.tg)
    store(state, 56, y.vo)
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
    m, varied, law, tables, stones, which, x0, inv, paths, z_bar, x_start, step, limit_low, limit_high,
    path_first, first, state, sunk, met, sums, out, info, loose=None,
):  # fmt: skip
    """`march_chunk`, called from Python."""
    return march_chunk(
        m, varied, law, tables, stones, which, x0, inv, paths, z_bar, x_start, step, limit_low, limit_high,
        path_first, first, state, sunk, met, sums, out, info, loose,
    )  # fmt: skip


@kernel
def rows_at(
    m, varied, law, tables, which, x0, inv, paths, z_bar, x_start, step, path_first, at, state, sunk, out, loose=None,
):  # fmt: skip
    """Eight rows at step `at`: `moving_energy` [J], `power_kept` and |the toolbar's power| [W] → out (3, 8).

    Arguments as `march_chunk`.
    """
    half = 0.5 * step
    x_path = x_start + m.speed * path_first * half
    for j in range(WIDTH):
        one = _row_model(m, varied, j)
        y = State(
            state[j], state[8 + j], state[16 + j], state[24 + j],
            state[32 + j], state[40 + j], state[48 + j], state[56 + j],
        )  # fmt: skip
        bar = bar_node(paths[which[j]], z_bar[j], x_path, m.speed, half, 2 * at - path_first)
        lift = lift_at(shift_from(play_of(loose, WIDTH, j)), 0.0, step)
        k, pt, _, f, b, acc = evaluate(one, law, bar, y, tables[which[j]], x0, inv, sunk[j], lift)
        out[0, j] = moving_energy(one, bar, y, k, pt, b)
        out[1, j] = power_kept(one, y, f, acc)
        out[2, j] = abs(acc.power)
