"""One instant of a march: the ground under the unit, forces, accelerations and powers, contacts, the channels."""

from __future__ import annotations

from sim.arithmetic.compiled import part
from sim.arithmetic.simd import largest, root, select, smallest
from sim.hydraulics.cylinder import motion_ratio
from sim.laws.contact import COLUMN, read_table
from sim.mechanism.bodies import accelerations, bodies
from sim.mechanism.forces import Ground, contact_forces, pushed
from sim.mechanism.kinematics import Bar, State, contact_points
from sim.mechanism.linkage import closures
from sim.mechanism.play import lifted
from sim.record import SUM, Channels
from sim.toolbar.path import quintic
from sim.unit import ATMOSPHERE, GRAVITY


@part
def _strength_at(table, x0, inv, x):
    """Strength under a wheel [Pa] and its slope; between samples a steep fall to nothing may not undershoot it."""
    q, slope = read_table(table, COLUMN.wheel_strength, x0, inv, x)
    return largest(q, 0.0), select(q > 0.0, slope, 0.0)


@part
def ground_under(m, table, x0, inv, pt, sunk):
    """Read all tables under the contact points → Ground."""
    ahead, _ = read_table(table, COLUMN.ahead, x0, inv, pt.hx)
    hard, hard_s = read_table(table, COLUMN.hard, x0, inv, pt.hx)
    q, _ = read_table(table, COLUMN.strength, x0, inv, pt.hx)
    gauge, gauge_s = read_table(table, COLUMN.gauge, x0, inv, pt.gx)
    press, press_s = read_table(table, COLUMN.press, x0, inv, pt.px)
    gauge_q, gauge_q_s = _strength_at(table, x0, inv, pt.gx)
    press_q, press_q_s = _strength_at(table, x0, inv, pt.px)
    return Ground(
        ahead, hard, hard_s, gauge, gauge_s, press, press_s, largest(q, 0.0), gauge_q, gauge_q_s, press_q, press_q_s,
        sunk,
    )  # fmt: skip


@part
def evaluate(m, law, bar, y, table, x0, inv, sunk, lift=None):
    """Linkage, points, ground, forces, bodies and accelerations at one instant; lift as `contact_points`."""
    k = closures(m, y.th)
    pt = contact_points(m, bar, y, k, lift)
    at, oil = pushed(m, law, y, k)
    gr = ground_under(m, table, x0, inv, pt, sunk)
    f = contact_forces(m, bar, y, k, pt, gr, at, oil)
    b = bodies(m, bar, y, k, pt)
    acc = accelerations(m, bar, y, k, pt, f, b)
    return k, pt, gr, f, b, acc


@part
def slopes(y, f, acc):
    """Time derivative of the state, as a State."""
    return State(y.om, acc.th, y.ops, acc.ps, f.dg_rate, f.dp_rate, f.tg_rate, f.vo_rate)


@part
def add_powers(sums, s, f, acc, pt, lift):
    """Add one stage's powers, times s [s], to the running sums (sim.record.Sums)."""
    if lift is not None:
        sums[SUM.play] += s * (pt.cp * f.gz + pt.sp * f.gx) * lift.rate
    sums[SUM.work] += s * acc.power
    sums[SUM.traffic] += s * abs(acc.power)
    sums[SUM.soil] += s * f.w_soil
    sums[SUM.sinkage] += s * f.w_sinkage
    sums[SUM.rolling] += s * f.w_rolling
    sums[SUM.tyre] += s * f.w_tyre
    sums[SUM.rock] += s * f.w_rock
    sums[SUM.stops] += s * f.w_stops
    sums[SUM.press_damper] += s * f.w_damper
    sums[SUM.seal_friction] += s * f.w_friction
    sums[SUM.orifice] += s * f.w_orifice
    sums[SUM.atmosphere] += s * f.w_atmosphere
    sums[SUM.heat] += s * f.w_heat
    sums[SUM.valve] += s * f.w_valve
    sums[SUM.column] += s * f.w_column


@part
def power_kept(m, y, f, acc):
    """Power [W] that the moving bodies (motion and height) and the tyres take up: what they must have stored by it."""
    return acc.taken + m.gauge_k * y.dg * f.dg_rate + m.press_k * y.dp * f.dp_rate


@part
def in_contact(m, f):
    """Whether a stone or a stop is touched: powers turn quickly there."""
    return f.signature - select(f.volume > m.v_acc, 8.0, 0.0) > 0.0


@part
def wheels_down(f):
    """Which wheels carry, as a number: a force sets in at once where one comes down."""
    return select(f.gauge_load > 0.0, 1.0, 0.0) + select(f.press_load > 0.0, 2.0, 0.0)


@part
def bar_at(path, z_bar, x_start, speed, half, t_half):
    """Toolbar at `t_half` half steps from the start (quintic between nodes) → Bar."""
    i = min(int(t_half), path.shape[0] - 2)
    u = t_half - i
    z, vz, az = quintic(path[i, 0], path[i, 1], path[i, 2], path[i + 1, 0], path[i + 1, 1], path[i + 1, 2], half, u)
    p, vp, ap = quintic(path[i, 3], path[i, 4], path[i, 5], path[i + 1, 3], path[i + 1, 4], path[i + 1, 5], half, u)
    return Bar(x_start + speed * t_half * half, z_bar + z, vz, az, p, vp, ap)


@part
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


@part
def channels(m, bar, y, k, pt, gr, f, b, acc, surface, gave, time, lift=None):
    """One instant of the series → Channels; gave: 1 where a stone gave way since the one before; lift: of worn pins."""
    depth = surface - (pt.hz - m.disc_r)
    # five parts of the depth error, each from its own definition
    o_pitched = (pt.gz - m.gauge_r) - (pt.hz - m.disc_r)
    o_level = lifted((pt.rgz - m.gauge_r) - (pt.rhz - m.disc_r), lift)
    chord = root(m.set_depth * (2.0 * m.disc_r - m.set_depth))
    per_q = m.speed_term * (m.edge_w * chord + m.face_k * (2.0 / 3.0) * chord * m.set_depth * m.tilt_sin * m.sweep_cos)
    spare = (
        m.spare_weight
        + (f.p_oil - ATMOSPHERE) * m.area * motion_ratio(m, k)
        - per_q * gr.q
        - m.boot_kz * m.set_depth * gr.q * m.q_share
        - f.press_load
    )
    torque = m.face_mu * (f.edge + f.face) * m.disc_r
    slip = select(f.depth > 0.0, select(torque < m.drag_torque, 1.0, 0.0), 0.0)
    # the hub from the carrier's centre: p̈JΔ − p′²Δ
    dx, dz = m.hub_x - m.carrier_x, m.hub_z - m.carrier_z
    hub_x = b.carrier.bx + b.carrier.x_t * acc.th - bar.ap * dz - bar.vp * bar.vp * dx
    hub_z = b.carrier.bz + b.carrier.z_t * acc.th + bar.ap * dx - bar.vp * bar.vp * dz
    return Channels(
        time=time,
        distance=pt.hx,
        toolbar_height=bar.z,
        pitch=bar.p,
        arm_angle=y.th,
        arm_rate=y.om,
        press_angle=y.ps,
        press_rate=y.ops,
        depth=depth,
        ground_shape=surface - gr.gauge,
        tyre_and_sinkage=y.dg + largest(f.gauge_s, 0.0) - m.squash_set,
        linkage=o_level - m.over_set,
        toolbar_pitch=o_pitched - o_level,
        lift_off=smallest(f.gauge_s, 0.0),
        gauge_load=f.gauge_load,
        press_load=f.press_load,
        press_squash=largest(gr.press - (pt.pz - m.press_r), y.dp),
        disc_vertical=f.soil_z,
        disc_draught=f.soil_x,
        side_load=f.side,
        disc_slip=slip,
        rock_force=f.rock * root(1.0 + f.rock_slope * f.rock_slope),
        stone_gives_way=largest(f.gives_way, gave),
        stop_force=-f.stop / m.stop_arm,
        spare_load=spare,
        oil_pressure=f.p_oil,
        cylinder_pressure=f.p_cyl,
        cylinder_force=f.cyl,
        gas_volume=f.volume,
        gas_temperature=y.tg,
        carrier_acceleration=pt.sp * hub_x + pt.cp * hub_z - GRAVITY,
    )
