"""The state of the unit, the toolbar's motion, and the contact points that follow from both.

Two coordinates, arm angle θ and press arm angle ψ, in the toolbar's axes (origin O, pitched by p); contact points are
turned into ground axes.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.arithmetic.compiled import part
from sim.arithmetic.elementary import sincos
from sim.mechanism.play import lifted, rising


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


@part
def contact_points(m, bar, y, k, lift=None):
    """Disc hub, gauge axle and press axle in ground axes → Points; k are the closed Links.

    lift: by how much worn pins let the gauge wheel up against the disc (`sim.mechanism.play.Lift`); None without wear.
    """
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
        bar.x + cp * rgx - sp * rgz, lifted(bar.z + sp * rgx + cp * rgz, lift),
        m.speed + cp * gvx - sp * gvz, rising(bar.vz + sp * gvx + cp * gvz, lift),
        bar.x + cp * rpx - sp * rpz, bar.z + sp * rpx + cp * rpz,
        m.speed + cp * pvx - sp * pvz, bar.vz + sp * pvx + cp * pvz,
        rhx, rhz, rgx, rgz, rpx, rpz, sps, cps,
    )  # fmt: skip
