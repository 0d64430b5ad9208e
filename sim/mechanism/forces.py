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
from sim.laws.wheel_soil import SoilConstants, motion_resistance, rolling, sinkage, wheel_on_soil


class Ground(NamedTuple):
    """Ground under the contact points: heights [m], slopes, strength [Pa], sinking of the stone met [m]."""

    ahead: float  # surface averaged over the disc's leading arc
    hard: float
    hard_s: float
    gauge: float
    gauge_s: float
    press: float
    press_s: float
    q: float  # strength under the disc
    gauge_q: float  # strength under the gauge wheel, averaged over its contact, and its slope [Pa/m]
    gauge_q_s: float
    press_q: float
    press_q_s: float
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
    soil_held: float  # energy stored in the soil under both wheels [J]
    soil_x: float
    soil_z: float
    edge: float
    face: float
    side: float
    rock: float  # vertical part of the stone's force
    rock_slope: float
    gives_way: float  # 1 where the stone bears no more
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
    w_sinkage: float
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


@part
def pushed(m, law, y, k):
    """The cylinder: where it stands and what oil and gas do → CylinderAt, Oil.

    Of the closed Links k only the arm angle counts. A march asks for it just before the ground is read: its roots and
    quotients wait for each other, and the readings go on meanwhile (8 to 9 % of a march of eight rows).
    """
    at = cylinder_geometry(m, k)
    return at, hydraulics(m, law, at.length, at.length_t * y.om, y.tg, y.vo)


@part
def contact_forces(m, bar, y, k, pt, gr, at, oil):
    """All forces on the unit at one instant → Forces; pt Points, gr Ground, k Links, y State; at, oil: `pushed`.

    One list of steps: cut into functions of its own topics the compiled march of one row loses 3.5 % of its speed.
    """
    sp, cp = pt.sp, pt.cp
    # disc, boot and stone
    depth = smallest(largest(gr.ahead - (pt.hz - m.disc_r), 0.0), m.disc_r)
    soil_x, soil_z, edge, face, side = disc_force(
        depth, pt.hvx, pt.hvz, gr.q, m.speed_term, m.edge_w, m.disc_r, m.face_k, m.face_mu,
        m.tilt_sin, m.tilt_cos, m.sweep_sin, m.sweep_cos,
    )  # fmt: skip
    boot_x, boot_z = boot_force(m, depth, gr.q)
    # the boot's own point moves with the carrier's turn (toolbar pitch): v + p′QJΔ
    jx = -bar.vp * (m.boot_z - m.hub_z)
    jz = bar.vp * (m.boot_x - m.hub_x)
    w_boot = -(boot_x * (pt.hvx + cp * jx - sp * jz) + boot_z * (pt.hvz + sp * jx + cp * jz))
    penetration = gr.hard - (pt.hz - m.disc_r)
    rate = gr.hard_s * pt.hvx - pt.hvz
    rock, pressed, gives_way, w_rock, w_sunk = stone_force(m, penetration, rate, gr.sunk)
    # wheels, each a tyre in series with soil
    gauge_s = sinkage(gr.gauge, pt.gz, m.gauge_r, y.dg)
    gauge = wheel_on_soil(
        gauge_s, gr.gauge_s * pt.gvx - pt.gvz, y.dg, gr.gauge_q * m.q_share, gr.gauge_q_s * m.q_share * pt.gvx,
        SoilConstants(m.gauge_soil_k, m.gauge_soil_rate, m.soil_n), m.gauge_k, m.gauge_c, m.gauge_soft, m.speed,
    )  # fmt: skip
    press = wheel_on_soil(
        sinkage(gr.press, pt.pz, m.press_r, y.dp), gr.press_s * pt.pvx - pt.pvz, y.dp, gr.press_q * m.q_share,
        gr.press_q_s * m.q_share * pt.pvx, SoilConstants(m.press_soil_k, m.press_soil_rate, m.soil_n),
        m.press_k, m.press_c, m.press_soft, m.speed,
    )  # fmt: skip
    rho = motion_resistance(gauge.load, gr.gauge_q * m.gauge_area)
    g_x, g_z, w_gauge = rolling(gauge.load, gr.gauge_s, rho, pt.gvx, pt.gvz)
    p_x, p_z, w_press = rolling(press.load, gr.press_s, m.press_rho, pt.pvx, pt.pvz)
    w_rolling = w_gauge + w_press
    # stops, press spring
    stop, w_stop, sig_main = stop_couple(y.th, y.om, m.stop_up, m.stop_down, m.stop_k, m.stop_d)
    pstop, w_pstop, sig_press = stop_couple(y.ps, y.ops, m.press_up, m.press_down, m.press_stop_k, m.press_stop_d)
    couple = -(m.press_t0 + m.press_spring * (y.ps - m.press_psi0)) - m.press_damping * y.ops + pstop
    signature = (
        select(pressed > 0.0, 1.0, 0.0)
        + 16.0 * gives_way
        + 2.0 * sig_main
        + 4.0 * sig_press
        + select(oil.volume > m.v_acc, 8.0, 0.0)
    )
    f_x = soil_x - rock * gr.hard_s
    f_z = soil_z + rock
    return Forces(
        dx=cp * f_x + sp * f_z, dz=cp * f_z - sp * f_x,
        bx=cp * boot_x + sp * boot_z, bz=cp * boot_z - sp * boot_x,
        gx=cp * g_x + sp * g_z, gz=cp * g_z - sp * g_x,
        px=cp * p_x + sp * p_z, pz=cp * p_z - sp * p_x,
        cyl=oil.force, ux=at.ux, uz=at.uz, sx=at.sx, sz=at.sz, stop=stop, couple=couple,
        gauge_load=gauge.load, press_load=press.load, gauge_s=gauge_s, soil_held=gauge.held + press.held,
        soil_x=soil_x, soil_z=soil_z, edge=edge, face=face, side=m.side_share * side,
        rock=rock, rock_slope=gr.hard_s, gives_way=gives_way, depth=depth, penetration=penetration,
        p_oil=oil.p_oil, p_cyl=oil.p_cyl, volume=oil.volume, signature=signature,
        dg_rate=gauge.tyre_rate, dp_rate=press.tyre_rate, tg_rate=oil.tg_rate, vo_rate=oil.vo_rate,
        w_soil=w_boot - (soil_x * pt.hvx + soil_z * pt.hvz) + w_sunk, w_sinkage=gauge.kept + press.kept,
        w_rolling=w_rolling, w_tyre=gauge.tyre_lost + press.tyre_lost, w_rock=w_rock,
        w_stops=w_stop + w_pstop, w_damper=m.press_damping * y.ops * y.ops,
        w_friction=oil.w_friction, w_orifice=oil.w_orifice, w_atmosphere=oil.w_atmosphere,
        w_heat=oil.w_heat, w_valve=oil.w_valve, w_column=oil.w_column,
    )  # fmt: skip
