"""Reactions in all 14 pins, body by body (Newton–Euler), from the state's own accelerations.

Every force is that of the first-named part on the second, in toolbar axes; cross(a, b) = a_x b_z − a_z b_x is the
counter-clockwise moment. Rod and turnbuckle have mass: they are no two-force bars. Two equations are left over (the
upper link's moment and the press arm's); with the sum of all the toolbar's forces against the momentum of the whole
unit they are the built-in check.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.arithmetic.compiled import part
from sim.arithmetic.simd import root


class Pins(NamedTuple):
    """Pin forces [N] in the order of `sim.record.PINS`, the actuator's force, and the left-over equations."""

    uf_x: float
    uf_z: float
    ur_x: float
    ur_z: float
    lf_x: float
    lf_z: float
    lr_x: float
    lr_z: float
    cf_x: float
    cf_z: float
    ca_x: float
    ca_z: float
    crank_x: float
    crank_z: float
    rf_x: float
    rf_z: float
    rr_x: float
    rr_z: float
    bell_x: float
    bell_z: float
    tf_x: float
    tf_z: float
    tr_x: float
    tr_z: float
    arm_x: float
    arm_z: float
    press_x: float
    press_z: float
    actuator: float
    left_upper: float  # moment left over on the upper link [N m]
    left_press: float  # moment left over on the press arm [N m]
    left_power: float  # power of all the toolbar's forces less that from the unit's momenta [W]


@part
def _cross(ax, az, bx, bz):
    return ax * bz - az * bx


@part
def _inertia(mass, body, a1):
    """m·a of a body that moves with θ only."""
    return mass * (body.bx + body.x_t * a1), mass * (body.bz + body.z_t * a1)


@part
def _two_moments(ux, uz, vx, vz, mu, mv, inv):
    """Force F with cross(u, F) = mu and cross(v, F) = mv; inv = 1/cross(u, v)."""
    a = -mv * inv
    b = mu * inv
    return a * ux + b * vx, a * uz + b * vz


@part
def pin_forces(m, bar, y, k, pt, f, b, acc):
    """All pin forces at one instant → Pins; arguments as `sim.mechanism.bodies.accelerations`, acc its result."""
    om2 = y.om * y.om
    ap = bar.ap
    a1, a2 = acc.th, acc.ps

    # gauge arm and turnbuckle: moments about A and about E give the force at the lug
    ma_x, ma_z = _inertia(m.arm_mass, b.arm, a1)
    mt_x, mt_z = _inertia(m.buckle_mass, b.buckle, a1)
    reach = m.arm_l / m.lug
    wheel_x, wheel_z = reach * k.gx, reach * k.gz
    centre = m.arm_centre / m.lug
    arm_turn = ap + k.beta_tt * om2 + k.beta_t * a1
    buckle_turn = ap + k.tau_tt * om2 + k.tau_t * a1
    about_a = (
        m.arm_inertia * arm_turn
        + _cross(centre * k.gx, centre * k.gz, ma_x, ma_z)
        - _cross(wheel_x, wheel_z, f.gx, f.gz)
    )
    about_e = m.buckle_mass * m.buckle_l * m.buckle_l / 12.0 * buckle_turn + _cross(0.5 * k.tx, 0.5 * k.tz, mt_x, mt_z)
    tr_x, tr_z = _two_moments(k.gx, k.gz, k.tx, k.tz, about_a, -about_e, k.per_buckle)
    tf_x, tf_z = mt_x + tr_x, mt_z + tr_z
    arm_x, arm_z = ma_x - f.gx - tr_x, ma_z - f.gz - tr_z

    # bell crank and rod: moments about R and about C give the force of the rod
    mb_x, mb_z = _inertia(m.bell_mass, b.bell, a1)
    mr_x, mr_z = _inertia(m.rod_mass, b.rod, a1)
    cx = m.bell_centre_x * k.bx - m.bell_centre_z * k.bz
    cz = m.bell_centre_z * k.bx + m.bell_centre_x * k.bz
    bell_turn = ap + k.phi_tt * om2 + k.phi_t * a1
    rod_turn = ap + k.eta_tt * om2 + k.eta_t * a1
    about_r = m.bell_inertia * bell_turn + _cross(cx, cz, mb_x, mb_z) + _cross(k.ex, k.ez, tf_x, tf_z)
    about_c = m.rod_mass * m.rod_l * m.rod_l / 12.0 * rod_turn + _cross(0.5 * k.rodx, 0.5 * k.rodz, mr_x, mr_z)
    rr_x, rr_z = _two_moments(k.bx, k.bz, k.rodx, k.rodz, about_r, -about_c, k.per_rod)
    rf_x, rf_z = mr_x + rr_x, mr_z + rr_z
    bell_x, bell_z = mb_x - rr_x + tf_x, mb_z - rr_z + tf_z

    # crank, locked by the actuator
    mc_x, mc_z = _inertia(m.crank_mass, b.crank, a1)
    lx, lz = m.crank_x - m.pivot_x, m.crank_z - m.pivot_z
    px, pz = m.actuator_share * lx, m.actuator_share * lz
    vx = m.pivot_x + px - m.actuator_x
    vz = m.pivot_z + pz - m.actuator_z
    inv = 1.0 / root(vx * vx + vz * vz)
    vx, vz = vx * inv, vz * inv
    about_f = m.crank_inertia * ap + _cross(0.5 * lx, 0.5 * lz, mc_x, mc_z) + _cross(lx, lz, rf_x, rf_z)
    actuator = about_f / _cross(px, pz, vx, vz)
    crank_x = mc_x + rf_x - actuator * vx
    crank_z = mc_z + rf_z - actuator * vz

    # press arm
    mp_x = m.press_mass * (b.press.bx + b.press.x_t * a1 + b.press_x_p * a2)
    mp_z = m.press_mass * (b.press.bz + b.press.z_t * a1 + b.press_z_p * a2)
    press_x, press_z = mp_x - f.px, mp_z - f.pz
    gx, gz = -m.press_centre * pt.cps, m.press_centre * pt.sps
    ax, az = -m.press_l * pt.cps, m.press_l * pt.sps
    left_press = m.press_inertia * (ap - a2) + _cross(gx, gz, mp_x, mp_z) - _cross(ax, az, f.px, f.pz) + f.couple

    # carrier: moments about L1 give the upper link's horizontal pull
    mk_x, mk_z = _inertia(m.carrier_mass, b.carrier, a1)
    load_x = f.dx + f.bx - bell_x - arm_x - press_x
    load_z = f.dz + f.bz - bell_z - arm_z - press_z
    sum_x, sum_z = mk_x - load_x, mk_z - load_z
    d = m.d
    moment = (
        m.carrier_inertia * ap
        + _cross(m.carrier_x, m.carrier_z + d, mk_x, mk_z)
        - _cross(m.hub_x, m.hub_z + d, f.dx, f.dz)
        - _cross(m.boot_x, m.boot_z + d, f.bx, f.bz)
        + _cross(m.bell_x, m.bell_z + d, bell_x, bell_z)
        + _cross(m.arm_x, m.arm_z + d, arm_x, arm_z)
        + _cross(m.press_x, m.press_z + d, press_x, press_z)
        - f.couple
    )
    ur_x = -moment / d
    lr_x = sum_x - ur_x

    # lower link: moments about L0 give its vertical force on the carrier
    ml_x, ml_z = _inertia(m.link_mass, b.lower, a1)
    mu_x, mu_z = _inertia(m.link_mass, b.upper, a1)
    wx, wz = -m.l * k.cos, m.l * k.sin
    link_turn = m.link_inertia * (ap - a1)
    cyl_x, cyl_z = f.cyl * f.ux, f.cyl * f.uz
    stop = -f.stop / m.stop_arm  # force at the stop; its couple on the link (counter-clockwise) is −f.stop
    normal_x, normal_z = -k.sin, -k.cos  # J of the link's direction (−cos θ, sin θ)
    about_l = _cross(f.sx, f.sz, cyl_x, cyl_z) + stop * m.stop_arm - link_turn - _cross(0.5 * wx, 0.5 * wz, ml_x, ml_z)
    lr_z = (about_l + wz * lr_x) / wx
    ur_z = sum_z - lr_z
    uf_x, uf_z = mu_x + ur_x, mu_z + ur_z
    lf_x = ml_x + lr_x - cyl_x - stop * normal_x
    lf_z = ml_z + lr_z - cyl_z - stop * normal_z
    left_upper = link_turn + _cross(0.5 * wx, 0.5 * wz, mu_x, mu_z) + _cross(wx, wz, ur_x, ur_z)

    # the toolbar's forces: four pins, actuator, stop (the cylinder passes its force through)
    all_x = uf_x + lf_x + cyl_x + stop * normal_x + crank_x + actuator * vx
    all_z = uf_z + lf_z + cyl_z + stop * normal_z + crank_z + actuator * vz
    turn = (
        _cross(m.u0x, m.u0z, uf_x, uf_z)
        + _cross(m.u0x, m.u0z - d, lf_x, lf_z)
        + _cross(m.u0x + f.sx, m.u0z - d + f.sz, cyl_x, cyl_z)
        + _cross(m.u0x, m.u0z - d, stop * normal_x, stop * normal_z)
        + stop * m.stop_arm
        + _cross(m.pivot_x, m.pivot_z, crank_x, crank_z)
        + _cross(m.pivot_x + px, m.pivot_z + pz, actuator * vx, actuator * vz)
    )
    ground_x = pt.cp * all_x - pt.sp * all_z
    ground_z = pt.sp * all_x + pt.cp * all_z
    power = ground_x * m.speed + ground_z * bar.vz + turn * bar.vp
    return Pins(
        uf_x, uf_z, ur_x, ur_z, lf_x, lf_z, lr_x, lr_z, cyl_x, cyl_z, cyl_x, cyl_z, crank_x, crank_z,
        rf_x, rf_z, rr_x, rr_z, bell_x, bell_z, tf_x, tf_z, tr_x, tr_z, arm_x, arm_z, press_x, press_z,
        actuator, left_upper, left_press, power - acc.power,
    )  # fmt: skip
