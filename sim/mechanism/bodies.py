"""The moving bodies, the equations of motion, and the toolbar's power.

Everything is written in the toolbar's axes (origin O, pitched by p). Gravity is folded into the base acceleration, so
that m·(a + g) = Σ contact forces for every body. For a body point ρ(θ, ψ):
b = Qᵀ(0, z̈_O + g) + p̈Jρ − p′²ρ + 2p′Jρ′ + ρ_kl q′_k q′_l  (from pin to pin: `_beyond`), and equation k is
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
def _beyond(bx, bz, rate, change, x, z):
    """b at the end of a vector (x, z) from b at its beginning: b + change·Jr − rate² r (toolbar axes).

    It turns with a body, to the ground, at a rate [rad/s] whose rise is `change` [rad/s²]; what θ″ and ψ″ add to the
    rise is left out. One product at a time, so that it is rounded alike for one row and for eight.
    """
    square = rate * rate
    return bx - change * z - square * x, bz + change * x - square * z


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
def bodies(m, bar, y, k, pt):
    """Centres of mass with slopes and base accelerations → Bodies: b goes from pin to pin (`_beyond`)."""
    om, om2 = y.om, y.om * y.om
    rate, change = bar.vp, bar.ap  # of the toolbar's turn
    g = bar.az + GRAVITY
    ox, oz = pt.sp * g, pt.cp * g  # of O
    ux, uz = k.u1x_t, k.u1z_t
    # main links, which turn by −θ; lower: L0 under U0
    turn = rate - om
    cx, cz = 0.5 * (k.u1x - m.u0x), 0.5 * (k.u1z - m.u0z)
    bx, bz = _beyond(ox, oz, rate, change, m.u0x, m.u0z)
    bx, bz = _beyond(bx, bz, turn, change, cx, cz)
    upper = Body(m.u0x + cx, m.u0z + cz, 0.5 * ux, 0.5 * uz, bx, bz)
    lower = Body(upper.x, upper.z - m.d, 0.5 * ux, 0.5 * uz, *_beyond(bx, bz, rate, change, 0.0, -m.d))
    # U1 and the carrier, which does not turn
    bx, bz = _beyond(bx, bz, turn, change, cx, cz)
    carrier = Body(
        k.u1x + m.carrier_x, k.u1z + m.carrier_z, ux, uz, *_beyond(bx, bz, rate, change, m.carrier_x, m.carrier_z)
    )
    # gauge arm
    share = m.arm_centre / m.lug
    cx, cz = share * k.gx, share * k.gz
    px, pz = _beyond(bx, bz, rate, change, m.arm_x, m.arm_z)
    arm = Body(
        k.u1x + m.arm_x + cx, k.u1z + m.arm_z + cz, ux - k.beta_t * cz, uz + k.beta_t * cx,
        *_beyond(px, pz, rate + k.beta_t * om, change + k.beta_tt * om2, cx, cz),
    )  # fmt: skip
    # bell crank
    cx = m.bell_centre_x * k.bx - m.bell_centre_z * k.bz
    cz = m.bell_centre_z * k.bx + m.bell_centre_x * k.bz
    px, pz = _beyond(bx, bz, rate, change, m.bell_x, m.bell_z)
    turn, rise = rate + k.phi_t * om, change + k.phi_tt * om2
    bell = Body(
        k.u1x + m.bell_x + cx, k.u1z + m.bell_z + cz, ux - k.phi_t * cz, uz + k.phi_t * cx,
        *_beyond(px, pz, turn, rise, cx, cz),
    )  # fmt: skip
    # turnbuckle: from E, half of t
    cx, cz = 0.5 * k.tx, 0.5 * k.tz
    px, pz = _beyond(px, pz, turn, rise, k.ex, k.ez)
    buckle = Body(
        k.u1x + m.bell_x + k.ex + cx, k.u1z + m.bell_z + k.ez + cz,
        ux - k.phi_t * k.ez - k.tau_t * cz, uz + k.phi_t * k.ex + k.tau_t * cx,
        *_beyond(px, pz, rate + k.tau_t * om, change + k.tau_tt * om2, cx, cz),
    )  # fmt: skip
    # rod: from C (fixed on the toolbar), half of it
    cx, cz = 0.5 * k.rodx, 0.5 * k.rodz
    px, pz = _beyond(ox, oz, rate, change, m.crank_x, m.crank_z)
    rod = Body(
        m.crank_x + cx, m.crank_z + cz, -k.eta_t * cz, k.eta_t * cx,
        *_beyond(px, pz, rate + k.eta_t * om, change + k.eta_tt * om2, cx, cz),
    )  # fmt: skip
    cx, cz = 0.5 * (m.crank_x + m.pivot_x), 0.5 * (m.crank_z + m.pivot_z)
    crank = Body(cx, cz, 0.0, 0.0, *_beyond(ox, oz, rate, change, cx, cz))
    # press arm, which turns by −ψ: ρ = U1 + P + L(−cos ψ, sin ψ)
    cx, cz = -m.press_centre * pt.cps, m.press_centre * pt.sps
    px, pz = _beyond(bx, bz, rate, change, m.press_x, m.press_z)
    press = Body(
        k.u1x + m.press_x + cx, k.u1z + m.press_z + cz, ux, uz, *_beyond(px, pz, rate - y.ops, change, cx, cz)
    )  # fmt: skip
    return Bodies(upper, lower, carrier, arm, bell, buckle, rod, crank, press, cz, -cx)


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
