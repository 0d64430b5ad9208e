"""The compiled time loop: RK4 over the whole track, with the records of every step.

A step in which a switching contact (stone, travel stop, out of oil) opens or closes is cut into CUTS; all others
keep the order of the method. Argument groups, in this order: model · settings · state · out.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from numba import njit

from sim.contact import read_table
from sim.lanes import largest, magnitude, root, select, smallest
from sim.linkage import closures
from sim.motion import (
    Bar,
    Ground,
    State,
    accelerations,
    bodies,
    contact_forces,
    contact_points,
    cylinder_geometry,
    stored_energy,
)
from sim.pins import pin_forces
from sim.toolbar import quintic
from sim.unit import ATMOSPHERE, GRAVITY

CUTS = 8  # parts of a step in which a contact switches

# columns of the ground table
SURFACE, AHEAD, HARD, GAUGE, PRESS, STRENGTH = range(6)

# running sums of a march: work of the toolbar, ∫|power|, then the losses (heat, valve, column: gains)
SUMS = (
    "work",
    "traffic",
    "soil",
    "rolling",
    "tyre",
    "rock",
    "stops",
    "press_damper",
    "seal_friction",
    "orifice",
    "atmosphere",
    "heat",
    "valve",
    "column",
)
GAINS = ("heat", "valve", "column")

OK, OPEN_CLOSURE, NOT_FINITE, GAS_RANGE = range(4)  # status of a march


class Rates(NamedTuple):
    """Time derivatives of the state and of the running sums, and the contact signature."""

    th: float
    om: float
    ps: float
    ops: float
    dg: float
    dp: float
    tg: float
    vo: float
    w: tuple
    signature: float


@njit(error_model="numpy", forceinline=True)
def ground_under(m, table, x0, inv, pt, sunk):
    """Read all tables under the contact points → Ground."""
    ahead, _ = read_table(table, AHEAD, x0, inv, pt.hx)
    hard, hard_s = read_table(table, HARD, x0, inv, pt.hx)
    q, _ = read_table(table, STRENGTH, x0, inv, pt.hx)
    gauge, gauge_s = read_table(table, GAUGE, x0, inv, pt.gx)
    press, press_s = read_table(table, PRESS, x0, inv, pt.px)
    return Ground(ahead, hard, hard_s, gauge, gauge_s, press, press_s, largest(q, 0.0), sunk)


@njit(error_model="numpy", forceinline=True)
def _parts(m, law, bar, y, table, x0, inv, sunk):
    """Linkage, points, ground, forces, bodies and accelerations at one instant."""
    k = closures(m, y.th)
    pt = contact_points(m, bar, y, k)
    gr = ground_under(m, table, x0, inv, pt, sunk)
    f = contact_forces(m, law, bar, y, k, pt, gr)
    b = bodies(m, bar, y, k, pt)
    acc = accelerations(m, bar, y, k, pt, f, b)
    return k, pt, gr, f, b, acc


@njit(error_model="numpy", forceinline=True)
def _rates(f, y, acc):
    w = (
        acc.power, magnitude(acc.power), f.w_soil, f.w_rolling, f.w_tyre, f.w_rock, f.w_stops, f.w_damper,
        f.w_friction, f.w_orifice, f.w_atmosphere, f.w_heat, f.w_valve, f.w_column,
    )  # fmt: skip
    return Rates(
        y.om, acc.th, y.ops, acc.ps, f.dg_rate, f.dp_rate, f.tg_rate, f.vo_rate, w, f.signature
    )  # fmt: skip


@njit(error_model="numpy")
def rates(m, law, bar, y, table, x0, inv, sunk):
    """Right-hand side at one instant → Rates."""
    _, _, _, f, _, acc = _parts(m, law, bar, y, table, x0, inv, sunk)
    return _rates(f, y, acc)


@njit(error_model="numpy", forceinline=True)
def _ahead(y, r, h):
    return State(
        y.th + h * r.th, y.om + h * r.om, y.ps + h * r.ps, y.ops + h * r.ops,
        y.dg + h * r.dg, y.dp + h * r.dp, y.tg + h * r.tg, y.vo + h * r.vo,
    )  # fmt: skip


@njit(error_model="numpy", forceinline=True)
def _rk4(m, law, first, bar1, bar2, y, h, table, x0, inv, sunk):
    """Rest of an RK4 step after its first stage → new state, sums (14), True where a contact switched."""
    h2 = 0.5 * h
    r2 = rates(m, law, bar1, _ahead(y, first, h2), table, x0, inv, sunk)
    r3 = rates(m, law, bar1, _ahead(y, r2, h2), table, x0, inv, sunk)
    r4 = rates(m, law, bar2, _ahead(y, r3, h), table, x0, inv, sunk)
    s = h / 6.0
    new = State(
        y.th + s * (first.th + 2.0 * (r2.th + r3.th) + r4.th),
        y.om + s * (first.om + 2.0 * (r2.om + r3.om) + r4.om),
        y.ps + s * (first.ps + 2.0 * (r2.ps + r3.ps) + r4.ps),
        y.ops + s * (first.ops + 2.0 * (r2.ops + r3.ops) + r4.ops),
        y.dg + s * (first.dg + 2.0 * (r2.dg + r3.dg) + r4.dg),
        y.dp + s * (first.dp + 2.0 * (r2.dp + r3.dp) + r4.dp),
        y.tg + s * (first.tg + 2.0 * (r2.tg + r3.tg) + r4.tg),
        y.vo + s * (first.vo + 2.0 * (r2.vo + r3.vo) + r4.vo),
    )
    sig = first.signature
    switched = (r2.signature != sig) | (r3.signature != sig) | (r4.signature != sig)
    return new, r2.w, r3.w, r4.w, switched


@njit(error_model="numpy", forceinline=True)
def _add_sums(sums, s, w1, w2, w3, w4):
    for i in range(14):
        sums[i] += s * (w1[i] + 2.0 * (w2[i] + w3[i]) + w4[i])


@njit(error_model="numpy", forceinline=True)
def bar_at(path, z_bar, x_start, speed, half, t_half):
    """Toolbar at `t_half` half steps from the start (quintic between nodes) → Bar."""
    i = min(int(t_half), path.shape[0] - 2)
    u = t_half - i
    z, vz, az = quintic(path[i, 0], path[i, 1], path[i, 2], path[i + 1, 0], path[i + 1, 1], path[i + 1, 2], half, u)
    p, vp, ap = quintic(path[i, 3], path[i, 4], path[i, 5], path[i + 1, 3], path[i + 1, 4], path[i + 1, 5], half, u)
    return Bar(x_start + speed * t_half * half, z_bar + z, vz, az, p, vp, ap)


@njit(error_model="numpy", forceinline=True)
def bar_node(path, z_bar, x_start, speed, half, i):
    """Toolbar at node i → Bar."""
    return Bar(
        x_start + speed * i * half,
        z_bar + path[i, 0],
        path[i, 1],
        path[i, 2],
        path[i, 3],
        path[i, 4],
        path[i, 5],
    )


@njit(error_model="numpy", forceinline=True)
def channels(m, bar, y, k, pt, gr, f, b, acc, surface, time):
    """One row of the series, in the order of sim.record.CHANNELS."""
    depth = surface - (pt.hz - m.disc_r)
    # five parts of the depth error, each from its own definition
    o_pitched = (pt.gz - m.gauge_r) - (pt.hz - m.disc_r)
    o_level = (pt.rgz - m.gauge_r) - (pt.rhz - m.disc_r)
    ratio = magnitude(cylinder_geometry(m, k)[5]) / (m.l * k.cos)
    chord = root(m.set_depth * (2.0 * m.disc_r - m.set_depth))
    per_q = m.speed_term * (m.edge_w * chord + m.face_k * (2.0 / 3.0) * chord * m.set_depth * m.tilt_sin * m.sweep_cos)
    spare = (
        m.spare_weight
        + (f.p_oil - ATMOSPHERE) * m.area * ratio
        - per_q * gr.q
        - m.boot_kz * m.set_depth * gr.q / m.q_ref
        - f.press_load
    )
    torque = m.face_mu * (f.edge + f.face) * m.disc_r
    slip = select(f.depth > 0.0, select(torque < m.drag_torque, 1.0, 0.0), 0.0)
    hub_x = b.carrier.bx + b.carrier.x_t * acc.th
    hub_z = b.carrier.bz + b.carrier.z_t * acc.th
    return (
        time,
        pt.hx,
        bar.z,
        bar.p,
        y.th,
        y.om,
        y.ps,
        y.ops,
        depth,
        surface - gr.gauge,
        y.dg + largest(f.gauge_s, 0.0) - m.squash_set,
        o_level - m.over_set,
        o_pitched - o_level,
        smallest(f.gauge_s, 0.0),
        f.gauge_load,
        f.press_load,
        f.soil_z,
        f.soil_x,
        f.side,
        slip,
        f.rock * root(1.0 + f.rock_slope * f.rock_slope),
        -f.stop / m.stop_arm,
        spare,
        f.p_oil,
        f.p_cyl,
        f.cyl,
        f.volume,
        y.tg,
        pt.sp * hub_x + pt.cp * hub_z - GRAVITY,
    )


@njit(error_model="numpy", nogil=True, cache=True)
def march(
    m, law, table, stone, x0, inv, path, z_bar, x_start, step, limit_low, limit_high, y, out, pins_out, sums, info
):  # fmt: skip
    """March len(out) steps.

    m Model, law GasLaw · table (n, 6) ground columns, stone (n,) stone under the disc, x0 [m], inv = 1/dx ·
    path (2·steps + 1, 6) toolbar nodes half a step apart, z_bar height of O on flat ground, x_start [m], step [s],
    allowed arm angles [rad] · y State · out (steps, 29), pins_out (steps, 32), sums (14), info (4): steps done,
    cut steps, energy stored at start and end. Returns a status.
    """
    half = 0.5 * step
    n = out.shape[0]
    sunk = 0.0
    met = -1
    cut = 0
    for i in range(n):
        bar0 = bar_node(path, z_bar, x_start, m.speed, half, 2 * i)
        k, pt, gr, f, b, acc = _parts(m, law, bar0, y, table, x0, inv, sunk)
        if not (y.th > limit_low and y.th < limit_high):
            info[0] = i
            return OPEN_CLOSURE if math.isfinite(y.th) else NOT_FINITE
        if f.volume < 0.05 * m.v_acc:
            info[0] = i
            return GAS_RANGE
        # a new stone starts unsunk; the one met sinks as far as it was pressed beyond its strength
        j = min(max(int((pt.hx - x0) * inv + 0.5), 0), stone.size - 1)
        if stone[j] != met:
            met = stone[j]
            sunk = 0.0
        sunk = max(sunk, f.penetration - m.rock_limit)
        surface, _ = read_table(table, SURFACE, x0, inv, pt.hx)
        row = channels(m, bar0, y, k, pt, gr, f, b, acc, surface, i * step)
        for c in range(29):
            out[i, c] = row[c]
        pins = pin_forces(m, bar0, y, k, pt, f, b, acc)
        for c in range(32):
            pins_out[i, c] = pins[c]
        pins_out[i, 31] = pins.power - acc.power
        if i == 0:
            info[2] = stored_energy(m, law, bar0, y, k, pt, f, b, sunk)
        if i == n - 1:
            info[3] = stored_energy(m, law, bar0, y, k, pt, f, b, sunk)
            break
        first = _rates(f, y, acc)
        bar1 = bar_node(path, z_bar, x_start, m.speed, half, 2 * i + 1)
        bar2 = bar_node(path, z_bar, x_start, m.speed, half, 2 * i + 2)
        new, w2, w3, w4, switched = _rk4(m, law, first, bar1, bar2, y, step, table, x0, inv, sunk)
        if not switched:
            _add_sums(sums, step / 6.0, first.w, w2, w3, w4)
            y = new
            continue
        cut += 1
        h = step / CUTS
        for c in range(CUTS):
            t = 2.0 * i + 2.0 * c / CUTS
            bar0 = bar_at(path, z_bar, x_start, m.speed, half, t)
            bar1 = bar_at(path, z_bar, x_start, m.speed, half, t + 1.0 / CUTS)
            bar2 = bar_at(path, z_bar, x_start, m.speed, half, t + 2.0 / CUTS)
            k, pt, gr, f, b, acc = _parts(m, law, bar0, y, table, x0, inv, sunk)
            sunk = max(sunk, f.penetration - m.rock_limit)
            first = _rates(f, y, acc)
            y, w2, w3, w4, _ = _rk4(m, law, first, bar1, bar2, y, h, table, x0, inv, sunk)
            _add_sums(sums, h / 6.0, first.w, w2, w3, w4)
    info[0] = n
    info[1] = cut
    return OK
