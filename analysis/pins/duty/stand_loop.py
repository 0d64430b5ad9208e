"""How every part of the unit stands and turns in the toolbar's axes, from its closed linkage. Compiled."""

from __future__ import annotations

from sim.arithmetic.compiled import kernel, part
from sim.arithmetic.elementary import sincos
from sim.arithmetic.simd import WIDTH, load, store
from sim.hydraulics.cylinder import cylinder_geometry
from sim.mechanism.linkage import closures

PARTS = (
    "toolbar", "carrier", "link", "cylinder", "crank", "rod", "bell_crank", "turnbuckle", "gauge_arm", "press_arm",
)  # fmt: skip
TOOLBAR, CARRIER, LINK, CYLINDER, CRANK, ROD, BELL, BUCKLE, GAUGE_ARM, PRESS_ARM = range(len(PARTS))
N_PARTS = len(PARTS)


@part
def _write(out_x, out_z, rate, at, x, z, turning):
    store(out_x, at, x)
    store(out_z, at, z)
    store(rate, at, turning)


@part
def stand_eight(m, theta, omega, psi, psi_rate, at, stride, line_x, line_z, rate):
    """Own lines (of length 1) and turning rates [rad/s] of the parts that move, at eight instants.

    theta …: flat, read from `at` on; line_x, line_z, rate: flat, part p written from p·stride + at on.
    """
    om, rp = load(omega, at), load(psi_rate, at)
    k = closures(m, load(theta, at))
    c = cylinder_geometry(m, k)
    sin_psi, cos_psi = sincos(load(psi, at))
    _write(line_x, line_z, rate, LINK * stride + at, -k.cos, k.sin, -om)
    by_theta = m.cyl_arm * (c.ux * k.cos - c.uz * k.sin) / c.length
    _write(line_x, line_z, rate, CYLINDER * stride + at, c.ux, c.uz, by_theta * om)
    a = 1.0 / m.rod_l
    _write(line_x, line_z, rate, ROD * stride + at, k.rodx * a, k.rodz * a, k.eta_t * om)
    a = 1.0 / m.bell_1
    _write(line_x, line_z, rate, BELL * stride + at, k.bx * a, k.bz * a, k.phi_t * om)
    a = 1.0 / m.buckle_l
    _write(line_x, line_z, rate, BUCKLE * stride + at, k.tx * a, k.tz * a, k.tau_t * om)
    a = 1.0 / m.lug
    _write(line_x, line_z, rate, GAUGE_ARM * stride + at, k.gx * a, k.gz * a, k.beta_t * om)
    _write(line_x, line_z, rate, PRESS_ARM * stride + at, -cos_psi, sin_psi, -rp)


@kernel
def stand(m, theta, omega, psi, psi_rate, line_x, line_z, rate):
    """`stand_eight` at every step; all flat, steps a multiple of eight; toolbar, carrier and crank are left alone."""
    for at in range(0, theta.size, WIDTH):
        stand_eight(m, theta, omega, psi, psi_rate, at, theta.size, line_x, line_z, rate)
