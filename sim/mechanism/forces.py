"""All forces on the unit at one instant, gathered from the laws of soil, stone, wheel, oil and stops.

Contact forces arise in ground axes and are turned into the toolbar's.
"""

from __future__ import annotations

from typing import NamedTuple

from sim.arithmetic.compiled import part
from sim.arithmetic.simd import largest, select, smallest
from sim.hydraulics.cylinder import cylinder_geometry
from sim.hydraulics.oil import hydraulics
from sim.laws.disc import boot_force, disc_force, stone_force
from sim.laws.stops import stop_couple
from sim.laws.wheel_soil import motion_resistance, rolling, sinkage, tyre_rate, wheel_load


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


class _Disc(NamedTuple):
    """Forces on the carrier from soil and stone, ground axes, and their powers."""

    depth: float
    soil_x: float
    soil_z: float
    edge: float
    face: float
    side: float
    boot_x: float
    boot_z: float
    rock: float
    penetration: float
    pressed: float
    w_soil: float
    w_rock: float


@part
def _disc(m, bar, pt, gr):
    """Soil and stone on the disc, soil on the boot → _Disc."""
    depth = smallest(largest(gr.ahead - (pt.hz - m.disc_r), 0.0), m.disc_r)
    soil_x, soil_z, edge, face, side = disc_force(
        depth, pt.hvx, pt.hvz, gr.q, m.speed_term, m.edge_w, m.disc_r, m.face_k, m.face_mu,
        m.tilt_sin, m.tilt_cos, m.sweep_sin, m.sweep_cos,
    )  # fmt: skip
    boot_x, boot_z = boot_force(m, depth, gr.q)
    # the boot's own point moves with the carrier's turn (toolbar pitch): v + p′QJΔ
    jx = -bar.vp * (m.boot_z - m.hub_z)
    jz = bar.vp * (m.boot_x - m.hub_x)
    w_boot = -(boot_x * (pt.hvx + pt.cp * jx - pt.sp * jz) + boot_z * (pt.hvz + pt.sp * jx + pt.cp * jz))
    penetration = gr.hard - (pt.hz - m.disc_r)
    rock, pressed, w_rock = stone_force(m, penetration, gr.hard_s * pt.hvx - pt.hvz, gr.sunk)
    w_soil = w_boot - (soil_x * pt.hvx + soil_z * pt.hvz)
    return _Disc(
        depth, soil_x, soil_z, edge, face, side, boot_x, boot_z, rock, penetration, pressed, w_soil, w_rock
    )  # fmt: skip


class _Wheels(NamedTuple):
    """Forces on both wheel hubs, ground axes, what their tyres do, and their powers."""

    gauge_load: float
    gauge_s: float
    gauge_x: float
    gauge_z: float
    dg_rate: float
    press_load: float
    press_x: float
    press_z: float
    dp_rate: float
    w_rolling: float
    w_tyre: float


@part
def _wheels(m, y, pt, gr):
    """Gauge and press wheel, each a tyre in series with soil → _Wheels."""
    s_g = sinkage(gr.gauge, pt.gz, m.gauge_r, y.dg)
    n_g = wheel_load(s_g, m.gauge_soil_k, m.soil_m)
    rho = motion_resistance(n_g, gr.q * m.gauge_area)
    dg_rate = tyre_rate(n_g, y.dg, m.gauge_k, m.gauge_soft)
    n_p = wheel_load(sinkage(gr.press, pt.pz, m.press_r, y.dp), m.press_soil_k, m.soil_m)
    dp_rate = tyre_rate(n_p, y.dp, m.press_k, m.press_soft)
    g_x, g_z, w_gauge = rolling(n_g, gr.gauge_s, rho, pt.gvx, pt.gvz)
    p_x, p_z, w_press = rolling(n_p, gr.press_s, m.press_rho, pt.pvx, pt.pvz)
    w_tyre = m.gauge_c * dg_rate * dg_rate + m.press_c * dp_rate * dp_rate
    return _Wheels(n_g, s_g, g_x, g_z, dg_rate, n_p, p_x, p_z, dp_rate, w_gauge + w_press, w_tyre)


@part
def _in_toolbar_axes(pt, x, z):
    """A vector of ground axes (x, z) in the toolbar's."""
    return pt.cp * x + pt.sp * z, pt.cp * z - pt.sp * x


@part
def contact_forces(m, law, bar, y, k, pt, gr):
    """All forces on the unit at one instant → Forces; pt Points, gr Ground, k Links, y State."""
    disc = _disc(m, bar, pt, gr)
    wheels = _wheels(m, y, pt, gr)
    cyl = cylinder_geometry(m, k)
    oil = hydraulics(m, law, cyl.length, cyl.length_t * y.om, y.tg, y.vo)
    stop, w_stop, sig_main = stop_couple(y.th, y.om, m.stop_up, m.stop_down, m.stop_k, m.stop_d)
    pstop, w_pstop, sig_press = stop_couple(y.ps, y.ops, m.press_up, m.press_down, m.press_stop_k, m.press_stop_d)
    couple = -(m.press_t0 + m.press_spring * (y.ps - m.press_psi0)) - m.press_damping * y.ops + pstop
    signature = (
        select(disc.pressed > 0.0, 1.0, 0.0)
        + select(disc.pressed >= m.rock_limit, 16.0, 0.0)
        + 2.0 * sig_main
        + 4.0 * sig_press
        + select(oil.volume > m.v_acc, 8.0, 0.0)
    )
    dx, dz = _in_toolbar_axes(pt, disc.soil_x - disc.rock * gr.hard_s, disc.soil_z + disc.rock)
    bx, bz = _in_toolbar_axes(pt, disc.boot_x, disc.boot_z)
    gx, gz = _in_toolbar_axes(pt, wheels.gauge_x, wheels.gauge_z)
    px, pz = _in_toolbar_axes(pt, wheels.press_x, wheels.press_z)
    return Forces(
        dx=dx, dz=dz, bx=bx, bz=bz, gx=gx, gz=gz, px=px, pz=pz,
        cyl=oil.force, ux=cyl.ux, uz=cyl.uz, sx=cyl.sx, sz=cyl.sz, stop=stop, couple=couple,
        gauge_load=wheels.gauge_load, press_load=wheels.press_load, gauge_s=wheels.gauge_s,
        soil_x=disc.soil_x, soil_z=disc.soil_z, edge=disc.edge, face=disc.face, side=disc.side,
        rock=disc.rock, rock_slope=gr.hard_s, depth=disc.depth, penetration=disc.penetration,
        p_oil=oil.p_oil, p_cyl=oil.p_cyl, volume=oil.volume, signature=signature,
        dg_rate=wheels.dg_rate, dp_rate=wheels.dp_rate, tg_rate=oil.tg_rate, vo_rate=oil.vo_rate,
        w_soil=disc.w_soil, w_rolling=wheels.w_rolling, w_tyre=wheels.w_tyre, w_rock=disc.w_rock,
        w_stops=w_stop + w_pstop, w_damper=m.press_damping * y.ops * y.ops,
        w_friction=oil.w_friction, w_orifice=oil.w_orifice, w_atmosphere=oil.w_atmosphere,
        w_heat=oil.w_heat, w_valve=oil.w_valve, w_column=oil.w_column,
    )  # fmt: skip
