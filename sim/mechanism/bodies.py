"""The moving bodies, the equations of motion, and the toolbar's power.

Everything is written in the toolbar's axes (origin O, pitched by p). Gravity is folded into the base acceleration, so
that m·(a + g) = Σ contact forces for every body. For a body point ρ(θ, ψ):
b = Qᵀ(0, z̈_O + g) + p̈Jρ − p′²ρ + 2p′Jρ′ + ρ_kl q′_k q′_l,  and equation k is
Σ m ρ_k·(b + ρ_j q̈_j) + I φ_k(p̈ + φ_jl q′_j q′_l + φ_j q̈_j) = Σ F·ρ_k + couples.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.arithmetic.compiled import part
from sim.unit import GRAVITY


class Accelerations(NamedTuple):
    """Accelerations, the toolbar's power, and the loads that the two coordinates would have at rest."""

    th: float
    ps: float
    power: float
    taken: float  # power that the moving bodies take up as motion and height
    load_th: float
    load_ps: float


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
    power, driven = toolbar_power(m, bar, y, k, pt, f, b, a1, a2)
    return Accelerations(a1, a2, power, driven + y.om * q1 + y.ops * q2, e1, e2)


@part
def _momentum(mass, inertia, body, a1, ap, angle_t, angle_tt, om2):
    """m·a of one body and its moment about O."""
    ax = mass * (body.bx + body.x_t * a1)
    az = mass * (body.bz + body.z_t * a1)
    return ax, az, body.x * az - body.z * ax + inertia * (ap + angle_tt * om2 + angle_t * a1)


@part
def toolbar_power(m, bar, y, k, pt, f, b, a1, a2):
    """Power of the toolbar on the unit, F·Ȯ + M p′ [W], from the sum of all momenta; and what all forces from outside
    would give at the toolbar's own motion.
    """
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
    all_x = x1 + x2 + x3 + x4 + x5 + x6 + x7 + x8 + ax
    all_z = z1 + z2 + z3 + z4 + z5 + z6 + z7 + z8 + az
    turn = t1 + t2 + t3 + t4 + t5 + t6 + t7 + t8 + t9
    fx = all_x - (f.dx + f.bx + f.gx + f.px)
    fz = all_z - (f.dz + f.bz + f.gz + f.pz)
    bootx = k.u1x + m.boot_x
    bootz = k.u1z + m.boot_z
    moment = (
        turn
        - (pt.rhx * f.dz - pt.rhz * f.dx)
        - (bootx * f.bz - bootz * f.bx)
        - (pt.rgx * f.gz - pt.rgz * f.gx)
        - (pt.rpx * f.pz - pt.rpz * f.px)
    )  # fmt: skip
    # Ȯ in the toolbar's axes
    vx = pt.cp * m.speed + pt.sp * bar.vz
    vz = pt.cp * bar.vz - pt.sp * m.speed
    return fx * vx + fz * vz + moment * bar.vp, all_x * vx + all_z * vz + turn * bar.vp
