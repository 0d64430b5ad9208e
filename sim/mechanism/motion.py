"""Equations of motion of the whole unit in two coordinates, arm angle θ and press arm angle ψ.

Everything is written in the toolbar's axes (origin O, pitched by p); only contact points are turned into ground
axes. Gravity is folded into the base acceleration, so that m·(a + g) = Σ contact forces for every body.
For a body point ρ(θ, ψ):  b = Qᵀ(0, z̈_O + g) + p̈Jρ − p′²ρ + 2p′Jρ′ + ρ_kl q′_k q′_l,  and equation k is
Σ m ρ_k·(b + ρ_j q̈_j) + I φ_k(p̈ + φ_jl q′_j q′_l + φ_j q̈_j) = Σ F·ρ_k + couples.
"""

from __future__ import annotations

from typing import NamedTuple

from numba import njit

from sim.arithmetic.compiled import ARITHMETIC, part
from sim.arithmetic.elementary import hyperbolic_tangent, sincos
from sim.arithmetic.simd import largest, magnitude, root, select, smallest
from sim.laws.contact import impact_force
from sim.laws.gas import internal_energy
from sim.laws.gas import state as gas_state
from sim.laws.soil import disc_force, motion_resistance, wheel_load
from sim.unit import ATMOSPHERE, GRAVITY


class Bar(NamedTuple):
    """Motion of the toolbar at one instant."""

    x: float  # position of O [m]
    z: float
    vz: float
    az: float
    p: float  # pitch, nose up [rad]
    vp: float
    ap: float


class State(NamedTuple):
    """State of the unit."""

    th: float  # arm angle [rad]
    om: float  # its rate
    ps: float  # press arm angle [rad]
    ops: float  # its rate
    dg: float  # tyre deflection of the gauge wheel [m]
    dp: float  # tyre deflection of the press wheel [m]
    tg: float  # gas temperature [K]
    vo: float  # oil let in by a holding valve [m³]


class Points(NamedTuple):
    """Contact points in ground axes: position (x, z) and velocity, of disc hub, gauge axle and press axle."""

    sp: float
    cp: float
    hx: float
    hz: float
    hvx: float
    hvz: float
    gx: float
    gz: float
    gvx: float
    gvz: float
    px: float
    pz: float
    pvx: float
    pvz: float
    # the same points in toolbar axes from O, and the press arm's direction
    rhx: float
    rhz: float
    rgx: float
    rgz: float
    rpx: float
    rpz: float
    sps: float
    cps: float


class Ground(NamedTuple):
    """Ground under the contact points: heights [m], slopes, strength [Pa], sinking of the stone met [m]."""

    ahead: float  # surface averaged over the disc's leading arc
    hard: float
    hard_s: float
    gauge: float
    gauge_s: float
    press: float
    press_s: float
    q: float
    sunk: float


class Forces(NamedTuple):
    """All contact forces in toolbar axes, and what else the records and the pins need."""

    dx: float  # disc and stone, through the hub
    dz: float
    bx: float  # boot
    bz: float
    gx: float  # gauge wheel hub
    gz: float
    px: float  # press wheel hub
    pz: float
    cyl: float  # force that pushes the cylinder's pins apart
    ux: float  # its direction, toolbar pin → lower link pin
    uz: float
    sx: float  # the cylinder's pin on the lower link, from L0
    sz: float
    stop: float  # couple of the main stops on θ
    couple: float  # couple on ψ
    gauge_load: float
    press_load: float
    gauge_s: float  # s of the gauge wheel, negative in the air
    soil_x: float
    soil_z: float
    edge: float
    face: float
    side: float
    rock: float  # vertical part of the stone's force
    rock_slope: float
    depth: float  # h for the disc law, clipped
    penetration: float  # into the stone, before it gives way
    p_oil: float
    p_cyl: float
    volume: float
    signature: float  # which switching contacts are closed
    # rates of the state that are not accelerations
    dg_rate: float
    dp_rate: float
    tg_rate: float
    vo_rate: float
    # powers [W]: see march.LOSSES
    w_soil: float
    w_rolling: float
    w_tyre: float
    w_rock: float
    w_stops: float
    w_damper: float
    w_friction: float
    w_orifice: float
    w_atmosphere: float
    w_heat: float
    w_valve: float
    w_column: float


class Accelerations(NamedTuple):
    """Accelerations, the toolbar's power, and the loads that the two coordinates would have at rest."""

    th: float
    ps: float
    power: float
    load_th: float
    load_ps: float


@part
def contact_points(m, bar, y, k):
    """Disc hub, gauge axle and press axle in ground axes → Points; k are the closed Links."""
    sp, cp = sincos(bar.p)
    rhx = k.u1x + m.hub_x
    rhz = k.u1z + m.hub_z
    reach = m.arm_l / m.lug
    ax = reach * k.gx
    az = reach * k.gz
    rgx = k.u1x + m.arm_x + ax
    rgz = k.u1z + m.arm_z + az
    sps, cps = sincos(y.ps)
    rpx = k.u1x + m.press_x - m.press_l * cps
    rpz = k.u1z + m.press_z + m.press_l * sps
    # velocities in toolbar axes: p′Jρ + ρ_θ θ′ + ρ_ψ ψ′
    vx = k.u1x_t * y.om
    vz = k.u1z_t * y.om
    bt = k.beta_t * y.om
    hvx = vx - bar.vp * rhz
    hvz = vz + bar.vp * rhx
    gvx = vx - bt * az - bar.vp * rgz
    gvz = vz + bt * ax + bar.vp * rgx
    pvx = vx + m.press_l * sps * y.ops - bar.vp * rpz
    pvz = vz + m.press_l * cps * y.ops + bar.vp * rpx
    return Points(
        sp, cp,
        bar.x + cp * rhx - sp * rhz, bar.z + sp * rhx + cp * rhz,
        m.speed + cp * hvx - sp * hvz, bar.vz + sp * hvx + cp * hvz,
        bar.x + cp * rgx - sp * rgz, bar.z + sp * rgx + cp * rgz,
        m.speed + cp * gvx - sp * gvz, bar.vz + sp * gvx + cp * gvz,
        bar.x + cp * rpx - sp * rpz, bar.z + sp * rpx + cp * rpz,
        m.speed + cp * pvx - sp * pvz, bar.vz + sp * pvx + cp * pvz,
        rhx, rhz, rgx, rgz, rpx, rpz, sps, cps,
    )  # fmt: skip


@part
def _wheel(height, z, radius, deflection, soil_k, soil_m):
    """Series of tyre and soil: load N and soil sinkage s = h_R − (z − R) − δ."""
    s = height - (z - radius) - deflection
    return wheel_load(s, soil_k, soil_m), s


@part
def cylinder_geometry(m, k):
    """Cylinder: pin on the lower link from L0, direction, length, dL/dθ."""
    sx = -m.cyl_arm * k.cos
    sz = m.cyl_arm * k.sin
    dx = sx - m.cyl_x
    dz = sz - m.cyl_z
    square = dx * dx + dz * dz
    inv = 1.0 / root(square)
    length = square * inv
    ux = dx * inv
    uz = dz * inv
    return sx, sz, ux, uz, length, m.cyl_arm * (ux * k.sin + uz * k.cos)


@part
def hydraulics(m, law, length, rate, tg, vo):
    """Cylinder and accumulator: force, pressures, volume, rates of gas temperature and let-in oil, powers.

    T′ = (T_w − T)/τ − T(∂p/∂T)_ρ V̇/(m c_v) (Otis & Pourmovahed 1985, from memory).
    """
    flow = m.area * rate
    volume = m.v_nominal + m.area * (length - m.cyl_nominal) - vo
    out = volume > m.v_acc
    gas_volume = select(out, m.v_acc, volume)
    p_gas, p_t, c_v = gas_state(m.gas_mass / gas_volume, tg, law)
    p_oil = largest(p_gas - m.column * largest(volume - m.v_acc, 0.0), 0.0)
    vo_rate = p_oil * 0.0
    if m.hold > 0.0:  # a holding valve: V_o′ = (p_set − p_oil)·V_g/(1.4 p_g τ_v)
        vo_rate = (m.p_set - p_oil) * gas_volume / (1.4 * p_gas) * m.hold
    heat = (m.wall - tg) * m.cooling
    squeeze = select(out, 0.0, tg * p_t * (flow - vo_rate) / (m.gas_mass * c_v))
    p_cyl = largest(p_oil - m.orifice * flow * magnitude(flow) - m.line * flow, 0.0)
    push = (p_cyl - ATMOSPHERE) * m.area
    friction = (m.seal_0 + m.seal_mu * magnitude(push)) * hyperbolic_tangent(rate * m.seal_slope)
    supply = p_oil * flow
    return (
        push - friction, p_oil, p_cyl, volume, heat - squeeze, vo_rate,
        friction * rate,  # friction
        (p_oil - p_cyl) * flow,  # orifice and line
        ATMOSPHERE * flow,  # displaced atmosphere
        m.gas_mass * c_v * heat,  # heat into the gas
        select(out, 0.0, p_oil * vo_rate),  # valve
        select(out, supply, 0.0),  # oil column
    )  # fmt: skip


@part
def _stop(angle, rate, up, down, stiffness, damping):
    """Couple of two travel stops on an angle, lost power, contact signature."""
    over = angle - up
    under = down - angle
    high = impact_force(over, rate, stiffness, damping)
    low = impact_force(under, -rate, stiffness, damping)
    lost = (high - stiffness * largest(over, 0.0)) * rate - (low - stiffness * largest(under, 0.0)) * rate
    return low - high, lost, select(over > 0.0, 1.0, 0.0) + select(under > 0.0, 1.0, 0.0)


@part
def contact_forces(m, law, bar, y, k, pt, gr):
    """All forces on the unit at one instant → Forces; pt Points, gr Ground, k Links, y State."""
    sp, cp = pt.sp, pt.cp
    # disc and boot
    depth = smallest(largest(gr.ahead - (pt.hz - m.disc_r), 0.0), m.disc_r)
    soil_x, soil_z, edge, face, side = disc_force(
        depth, pt.hvx, pt.hvz, gr.q, m.speed_term, m.edge_w, m.disc_r, m.face_k, m.face_mu,
        m.tilt_sin, m.tilt_cos, m.sweep_sin, m.sweep_cos,
    )  # fmt: skip
    share = depth * gr.q * m.q_share
    boot_x = -m.boot_kx * share
    boot_z = m.boot_kz * share
    # the boot's own point moves with the carrier's turn (toolbar pitch): v + p′QJΔ
    jx = -bar.vp * (m.boot_z - m.hub_z)
    jz = bar.vp * (m.boot_x - m.hub_x)
    w_boot = -(boot_x * (pt.hvx + cp * jx - sp * jz) + boot_z * (pt.hvz + sp * jx + cp * jz))
    # stone: it gives way at rock_limit·k
    pen = gr.hard - (pt.hz - m.disc_r)
    pen_rate = gr.hard_s * pt.hvx - pt.hvz
    pressed = smallest(pen - gr.sunk, m.rock_limit)
    rock = impact_force(pressed, pen_rate, m.rock_k, m.rock_d)
    elastic = m.rock_k * largest(pressed, 0.0)
    w_rock = rock * pen_rate - select(pressed < m.rock_limit, elastic * pen_rate, 0.0)
    # wheels
    n_g, s_g = _wheel(gr.gauge, pt.gz, m.gauge_r, y.dg, m.gauge_soil_k, m.soil_m)
    rho = motion_resistance(n_g, gr.q * m.gauge_area)
    dg_rate = (n_g - m.gauge_k * y.dg) * m.gauge_soft
    n_p, _ = _wheel(gr.press, pt.pz, m.press_r, y.dp, m.press_soil_k, m.soil_m)
    dp_rate = (n_p - m.press_k * y.dp) * m.press_soft
    g_x = -n_g * (gr.gauge_s + rho)
    g_z = n_g * (1.0 - rho * gr.gauge_s)
    p_x = -n_p * (gr.press_s + m.press_rho)
    p_z = n_p * (1.0 - m.press_rho * gr.press_s)
    w_rolling = rho * n_g * (pt.gvx + gr.gauge_s * pt.gvz) + m.press_rho * n_p * (pt.pvx + gr.press_s * pt.pvz)
    w_tyre = m.gauge_c * dg_rate * dg_rate + m.press_c * dp_rate * dp_rate
    # cylinder, stops, press spring
    sx, sz, ux, uz, length, length_t = cylinder_geometry(m, k)
    rate = length_t * y.om
    cyl, p_oil, p_cyl, volume, tg_rate, vo_rate, w_fr, w_or, w_at, w_he, w_va, w_co = hydraulics(
        m, law, length, rate, y.tg, y.vo
    )
    stop, w_stop, sig_main = _stop(y.th, y.om, m.stop_up, m.stop_down, m.stop_k, m.stop_d)
    pstop, w_pstop, sig_press = _stop(y.ps, y.ops, m.press_up, m.press_down, m.press_stop_k, m.press_stop_d)
    couple = -(m.press_t0 + m.press_spring * (y.ps - m.press_psi0)) - m.press_damping * y.ops + pstop
    signature = (
        select(pressed > 0.0, 1.0, 0.0)
        + select(pressed >= m.rock_limit, 16.0, 0.0)
        + 2.0 * sig_main
        + 4.0 * sig_press
        + select(volume > m.v_acc, 8.0, 0.0)
    )
    f_x = soil_x - rock * gr.hard_s
    f_z = soil_z + rock
    return Forces(
        cp * f_x + sp * f_z, cp * f_z - sp * f_x,
        cp * boot_x + sp * boot_z, cp * boot_z - sp * boot_x,
        cp * g_x + sp * g_z, cp * g_z - sp * g_x,
        cp * p_x + sp * p_z, cp * p_z - sp * p_x,
        cyl, ux, uz, sx, sz, stop, couple,
        n_g, n_p, s_g, soil_x, soil_z, edge, face, side, rock, gr.hard_s, depth, pen, p_oil, p_cyl, volume, signature,
        dg_rate, dp_rate, tg_rate, vo_rate,
        w_boot - (soil_x * pt.hvx + soil_z * pt.hvz), w_rolling, w_tyre, w_rock, w_stop + w_pstop,
        m.press_damping * y.ops * y.ops, w_fr, w_or, w_at, w_he, w_va, w_co,
    )  # fmt: skip


@part
def base(a0x, a0z, bar, rx, rz, vx, vz, cx, cz):
    """b of a body point at ρ = r with relative velocity v and velocity-term acceleration c (toolbar axes)."""
    p2 = bar.vp * bar.vp
    bx = a0x - bar.ap * rz - p2 * rx - 2.0 * bar.vp * vz + cx
    bz = a0z + bar.ap * rx - p2 * rz + 2.0 * bar.vp * vx + cz
    return bx, bz


class Body(NamedTuple):
    """One body: centre of mass, its slopes to θ, and its base acceleration b (toolbar axes)."""

    x: float
    z: float
    x_t: float
    z_t: float
    bx: float
    bz: float


class Bodies(NamedTuple):
    """All moving bodies."""

    upper: Body
    lower: Body
    carrier: Body
    arm: Body
    bell: Body
    buckle: Body
    rod: Body
    crank: Body
    press: Body
    press_x_p: float  # ∂/∂ψ of the press arm's centre
    press_z_p: float


@part
def _body(a0x, a0z, bar, om, x, z, x_t, z_t, x_tt, z_tt):
    om2 = om * om
    bx, bz = base(a0x, a0z, bar, x, z, x_t * om, z_t * om, x_tt * om2, z_tt * om2)
    return Body(x, z, x_t, z_t, bx, bz)


@part
def bodies(m, bar, y, k, pt):
    """Centres of mass with slopes and base accelerations → Bodies."""
    g = bar.az + GRAVITY
    a0x = pt.sp * g
    a0z = pt.cp * g
    om = y.om
    ux, uz = k.u1x_t, k.u1z_t  # U1_θ
    vx, vz = k.u1z_t, -k.u1x_t  # U1_θθ
    upper = _body(
        a0x,
        a0z,
        bar,
        om,
        0.5 * (m.u0x + k.u1x),
        0.5 * (m.u0z + k.u1z),
        0.5 * ux,
        0.5 * uz,
        0.5 * vx,
        0.5 * vz,
    )
    lower = _body(
        a0x, a0z, bar, om, upper.x, upper.z - m.d, 0.5 * ux, 0.5 * uz, 0.5 * vx, 0.5 * vz
    )  # fmt: skip
    carrier = _body(a0x, a0z, bar, om, k.u1x + m.carrier_x, k.u1z + m.carrier_z, ux, uz, vx, vz)
    # gauge arm
    share = m.arm_centre / m.lug
    cx, cz = share * k.gx, share * k.gz
    bt, btt = k.beta_t, k.beta_tt
    arm = _body(
        a0x, a0z, bar, om, k.u1x + m.arm_x + cx, k.u1z + m.arm_z + cz, ux - bt * cz, uz + bt * cx,
        vx - btt * cz - bt * bt * cx, vz + btt * cx - bt * bt * cz,
    )  # fmt: skip
    # bell crank
    ft, ftt = k.phi_t, k.phi_tt
    cx = m.bell_centre_x * k.bx - m.bell_centre_z * k.bz
    cz = m.bell_centre_z * k.bx + m.bell_centre_x * k.bz
    bell = _body(
        a0x, a0z, bar, om, k.u1x + m.bell_x + cx, k.u1z + m.bell_z + cz, ux - ft * cz, uz + ft * cx,
        vx - ftt * cz - ft * ft * cx, vz + ftt * cx - ft * ft * cz,
    )  # fmt: skip
    # turnbuckle: from E, half of t
    tt, ttt = k.tau_t, k.tau_tt
    e_x, e_z = k.ex, k.ez
    hx, hz = 0.5 * k.tx, 0.5 * k.tz
    buckle = _body(
        a0x, a0z, bar, om, k.u1x + m.bell_x + e_x + hx, k.u1z + m.bell_z + e_z + hz,
        ux - ft * e_z - tt * hz, uz + ft * e_x + tt * hx,
        vx - ftt * e_z - ft * ft * e_x - ttt * hz - tt * tt * hx,
        vz + ftt * e_x - ft * ft * e_z + ttt * hx - tt * tt * hz,
    )  # fmt: skip
    # rod: from C (fixed on the toolbar), half of it
    et, ett = k.eta_t, k.eta_tt
    hx, hz = 0.5 * k.rodx, 0.5 * k.rodz
    rod = _body(
        a0x, a0z, bar, om, m.crank_x + hx, m.crank_z + hz, -et * hz, et * hx,
        -ett * hz - et * et * hx, ett * hx - et * et * hz,
    )  # fmt: skip
    crank = _body(
        a0x, a0z, bar, om, 0.5 * (m.crank_x + m.pivot_x), 0.5 * (m.crank_z + m.pivot_z), 0.0, 0.0, 0.0, 0.0
    )  # fmt: skip
    # press arm: ρ = U1 + P + L(−cos ψ, sin ψ)
    lx, lz = -m.press_centre * pt.cps, m.press_centre * pt.sps
    xp, zp = lz, -lx
    x, z = k.u1x + m.press_x + lx, k.u1z + m.press_z + lz
    ops2, om2 = y.ops * y.ops, om * om
    bx, bz = base(
        a0x,
        a0z,
        bar,
        x,
        z,
        ux * om + xp * y.ops,
        uz * om + zp * y.ops,
        vx * om2 - lx * ops2,
        vz * om2 - lz * ops2,
    )
    press = Body(x, z, ux, uz, bx, bz)
    return Bodies(upper, lower, carrier, arm, bell, buckle, rod, crank, press, xp, zp)


@part
def _row(mass, inertia, body, angle_t, angle_tt, om2, ap):
    """Mass and right-hand side that one body adds to the θ equation."""
    mass_term = mass * (body.x_t * body.x_t + body.z_t * body.z_t) + inertia * angle_t * angle_t
    load = mass * (body.x_t * body.bx + body.z_t * body.bz) + inertia * angle_t * (ap + angle_tt * om2)
    return mass_term, load


@part
def accelerations(m, bar, y, k, pt, f, b):
    """Solve the 2×2 system → Accelerations with the toolbar's power; f Forces, b Bodies."""
    om2 = y.om * y.om
    ap = bar.ap
    m1, r1 = _row(m.link_mass, m.link_inertia, b.upper, -1.0, 0.0, om2, ap)
    m2, r2 = _row(m.link_mass, m.link_inertia, b.lower, -1.0, 0.0, om2, ap)
    m3, r3 = _row(m.carrier_mass, 0.0, b.carrier, 0.0, 0.0, om2, ap)
    m4, r4 = _row(m.arm_mass, m.arm_inertia, b.arm, k.beta_t, k.beta_tt, om2, ap)
    m5, r5 = _row(m.bell_mass, m.bell_inertia, b.bell, k.phi_t, k.phi_tt, om2, ap)
    m6, r6 = _row(m.buckle_mass, m.buckle_mass * m.buckle_l * m.buckle_l / 12.0, b.buckle, k.tau_t, k.tau_tt, om2, ap)
    m7, r7 = _row(m.rod_mass, m.rod_mass * m.rod_l * m.rod_l / 12.0, b.rod, k.eta_t, k.eta_tt, om2, ap)
    m8, r8 = _row(m.press_mass, 0.0, b.press, 0.0, 0.0, om2, ap)
    m11 = m1 + m2 + m3 + m4 + m5 + m6 + m7 + m8
    m12 = m.press_mass * (b.press.x_t * b.press_x_p + b.press.z_t * b.press_z_p)
    m22 = m.press_mass * m.press_centre * m.press_centre + m.press_inertia
    # generalised forces
    reach = m.arm_l / m.lug
    gx_t = k.u1x_t - k.beta_t * reach * k.gz
    gz_t = k.u1z_t + k.beta_t * reach * k.gx
    carried_x = f.dx + f.bx + f.px
    carried_z = f.dz + f.bz + f.pz
    length_t = m.cyl_arm * (f.ux * k.sin + f.uz * k.cos)
    q1 = carried_x * k.u1x_t + carried_z * k.u1z_t + f.gx * gx_t + f.gz * gz_t + f.cyl * length_t + f.stop
    q2 = m.press_l * (f.px * pt.sps + f.pz * pt.cps) + f.couple
    e1 = q1 - (r1 + r2 + r3 + r4 + r5 + r6 + r7 + r8)
    e2 = q2 - m.press_mass * (b.press_x_p * b.press.bx + b.press_z_p * b.press.bz) + m.press_inertia * ap
    inv = 1.0 / (m11 * m22 - m12 * m12)
    a1 = (e1 * m22 - e2 * m12) * inv
    a2 = (e2 * m11 - e1 * m12) * inv
    return Accelerations(a1, a2, toolbar_power(m, bar, y, k, pt, f, b, a1, a2), e1, e2)


@part
def _momentum(mass, inertia, body, a1, ap, angle_t, angle_tt, om2):
    """m·a of one body and its moment about O."""
    ax = mass * (body.bx + body.x_t * a1)
    az = mass * (body.bz + body.z_t * a1)
    return ax, az, body.x * az - body.z * ax + inertia * (ap + angle_tt * om2 + angle_t * a1)


@part
def toolbar_power(m, bar, y, k, pt, f, b, a1, a2):
    """Power of the toolbar on the unit, F·Ȯ + M p′ [W], from the sum of all momenta."""
    om2 = y.om * y.om
    ap = bar.ap
    x1, z1, t1 = _momentum(m.link_mass, m.link_inertia, b.upper, a1, ap, -1.0, 0.0, om2)
    x2, z2, t2 = _momentum(m.link_mass, m.link_inertia, b.lower, a1, ap, -1.0, 0.0, om2)
    x3, z3, t3 = _momentum(m.carrier_mass, m.carrier_inertia, b.carrier, a1, ap, 0.0, 0.0, om2)
    x4, z4, t4 = _momentum(m.arm_mass, m.arm_inertia, b.arm, a1, ap, k.beta_t, k.beta_tt, om2)
    x5, z5, t5 = _momentum(m.bell_mass, m.bell_inertia, b.bell, a1, ap, k.phi_t, k.phi_tt, om2)
    i6 = m.buckle_mass * m.buckle_l * m.buckle_l / 12.0
    x6, z6, t6 = _momentum(m.buckle_mass, i6, b.buckle, a1, ap, k.tau_t, k.tau_tt, om2)
    i7 = m.rod_mass * m.rod_l * m.rod_l / 12.0
    x7, z7, t7 = _momentum(m.rod_mass, i7, b.rod, a1, ap, k.eta_t, k.eta_tt, om2)
    x8, z8, t8 = _momentum(m.crank_mass, m.crank_inertia, b.crank, a1, ap, 0.0, 0.0, om2)
    ax = m.press_mass * (b.press.bx + b.press.x_t * a1 + b.press_x_p * a2)
    az = m.press_mass * (b.press.bz + b.press.z_t * a1 + b.press_z_p * a2)
    t9 = b.press.x * az - b.press.z * ax + m.press_inertia * (ap - a2)
    fx = x1 + x2 + x3 + x4 + x5 + x6 + x7 + x8 + ax - (f.dx + f.bx + f.gx + f.px)
    fz = z1 + z2 + z3 + z4 + z5 + z6 + z7 + z8 + az - (f.dz + f.bz + f.gz + f.pz)
    bootx = k.u1x + m.boot_x
    bootz = k.u1z + m.boot_z
    moment = (
        t1 + t2 + t3 + t4 + t5 + t6 + t7 + t8 + t9
        - (pt.rhx * f.dz - pt.rhz * f.dx)
        - (bootx * f.bz - bootz * f.bx)
        - (pt.rgx * f.gz - pt.rgz * f.gx)
        - (pt.rpx * f.pz - pt.rpz * f.px)
    )  # fmt: skip
    ground_x = pt.cp * fx - pt.sp * fz
    ground_z = pt.sp * fx + pt.cp * fz
    return ground_x * m.speed + ground_z * bar.vz + moment * bar.vp


@njit(**ARITHMETIC)
def stored_energy(m, law, bar, y, k, pt, f, b, sunk):
    """Kinetic, potential, elastic and gas energy of the unit [J] (called at the ends of a run only)."""
    total = m.gas_mass * internal_energy(m.gas_mass / min(f.volume, m.v_acc), y.tg, law)
    total += 0.5 * m.rock_k * min(max(f.penetration - sunk, 0.0), m.rock_limit) ** 2
    # kinetic and potential: velocity of a body point in ground axes
    for body, mass, inertia, angle_t in (
        (b.upper, m.link_mass, m.link_inertia, -1.0),
        (b.lower, m.link_mass, m.link_inertia, -1.0),
        (b.carrier, m.carrier_mass, m.carrier_inertia, 0.0),
        (b.arm, m.arm_mass, m.arm_inertia, k.beta_t),
        (b.bell, m.bell_mass, m.bell_inertia, k.phi_t),
        (b.buckle, m.buckle_mass, m.buckle_mass * m.buckle_l**2 / 12.0, k.tau_t),
        (b.rod, m.rod_mass, m.rod_mass * m.rod_l**2 / 12.0, k.eta_t),
        (b.crank, m.crank_mass, m.crank_inertia, 0.0),
        (b.press, m.press_mass, m.press_inertia, 0.0),
    ):
        total += _kinetic_and_height(m, bar, y, pt, body, mass, inertia, angle_t)
    # the press arm also turns and moves with ψ: replace its share
    total -= _kinetic_and_height(m, bar, y, pt, b.press, m.press_mass, m.press_inertia, 0.0)
    wx = b.press.x_t * y.om + b.press_x_p * y.ops - bar.vp * b.press.z
    wz = b.press.z_t * y.om + b.press_z_p * y.ops + bar.vp * b.press.x
    vx = m.speed + pt.cp * wx - pt.sp * wz
    vz = bar.vz + pt.sp * wx + pt.cp * wz
    height = bar.z + pt.sp * b.press.x + pt.cp * b.press.z
    total += m.press_mass * (0.5 * (vx * vx + vz * vz) + GRAVITY * height)
    total += 0.5 * m.press_inertia * (bar.vp - y.ops) ** 2
    # springs
    e = m.soil_m + 1.0
    total += 0.5 * m.gauge_k * y.dg**2 + f.gauge_load * max(f.gauge_s, 0.0) / e
    sink_p = 0.0
    if f.press_load > 0.0:
        sink_p = (f.press_load / m.press_soil_k) ** (1.0 / m.soil_m)
    total += 0.5 * m.press_k * y.dp**2 + f.press_load * sink_p / e
    turn = y.ps - m.press_psi0
    total += m.press_t0 * turn + 0.5 * m.press_spring * turn**2
    total += 0.5 * m.stop_k * (max(y.th - m.stop_up, 0.0) ** 2 + max(m.stop_down - y.th, 0.0) ** 2)
    total += 0.5 * m.press_stop_k * (max(y.ps - m.press_up, 0.0) ** 2 + max(m.press_down - y.ps, 0.0) ** 2)
    return total


@njit(**ARITHMETIC)
def _kinetic_and_height(m, bar, y, pt, body, mass, inertia, angle_t):
    wx = body.x_t * y.om - bar.vp * body.z
    wz = body.z_t * y.om + bar.vp * body.x
    vx = m.speed + pt.cp * wx - pt.sp * wz
    vz = bar.vz + pt.sp * wx + pt.cp * wz
    height = bar.z + pt.sp * body.x + pt.cp * body.z
    turn = bar.vp + angle_t * y.om
    return mass * (0.5 * (vx * vx + vz * vz) + GRAVITY * height) + 0.5 * inertia * turn * turn
