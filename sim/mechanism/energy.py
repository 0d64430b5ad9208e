"""Energy stored in the unit: motion, height, springs, soil, stones and gas."""

from __future__ import annotations

from sim.arithmetic.compiled import routine
from sim.laws.disc import stone_energy
from sim.laws.gas import internal_energy
from sim.laws.stops import stop_energy
from sim.laws.wheel_soil import tyre_energy
from sim.unit import GRAVITY


@routine
def moving_energy(m, bar, y, k, pt, b):
    """Energy of the moving bodies, of motion and of height, and of both tyres [J]: what `power_kept` must give."""
    total = tyre_energy(y.dg, m.gauge_k) + tyre_energy(y.dp, m.press_k)
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
    return total


@routine
def resting_energy(m, law, y, f, sunk):
    """Energy of all else that stores some [J]: gas, soil under the wheels, stone, the press arm's spring, stops."""
    total = m.gas_mass * internal_energy(m.gas_mass / min(f.volume, m.v_acc), y.tg, law)
    total += stone_energy(m, f.penetration, sunk) + f.soil_held
    turn = y.ps - m.press_psi0
    total += m.press_t0 * turn + 0.5 * m.press_spring * turn**2
    total += stop_energy(y.th, m.stop_up, m.stop_down, m.stop_k)
    total += stop_energy(y.ps, m.press_up, m.press_down, m.press_stop_k)
    return total


@routine
def _kinetic_and_height(m, bar, y, pt, body, mass, inertia, angle_t):
    wx = body.x_t * y.om - bar.vp * body.z
    wz = body.z_t * y.om + bar.vp * body.x
    vx = m.speed + pt.cp * wx - pt.sp * wz
    vz = bar.vz + pt.sp * wx + pt.cp * wz
    height = bar.z + pt.sp * body.x + pt.cp * body.z
    turn = bar.vp + angle_t * y.om
    return mass * (0.5 * (vx * vx + vz * vz) + GRAVITY * height) + 0.5 * inertia * turn * turn
