"""Forces on the loose bodies at one instant, from the bodies' own places and velocities (ground axes).

The laws of disc, boot, stone and gas are those of the compiled model (sim.laws, sim.hydraulics.oil.hydraulics), those
of the wheels are its own (sim.rigid.rolling); where they act, how fast, and what moves with them is read from the
bodies. Arguments: c the constants
(sim.rigid.laws.Laws) · m, gas the compiled model's tuple and gas law, handed on to `hydraulics` · part the points on
the bodies.
"""

from __future__ import annotations

import math

from numba import njit

from sim.arithmetic.compiled import kernel_apart
from sim.hydraulics.oil import hydraulics
from sim.laws.contact import COLUMN, impact_force, read_table
from sim.laws.disc import disc_force
from sim.record import CHANNEL, SUM
from sim.rigid.bodies import ARM, CARRIER, LOWER, PRESS, TOOLBAR
from sim.rigid.rolling import deflection_after, held_by, sunk_by, wheel_load
from sim.unit import ATMOSPHERE

# slow states beside the bodies, and what is kept from one instant to the next
TYRE, PRESS_TYRE, GAS, OIL, SUNK, STONE, GAUGE_Q, PRESS_Q, GAUGE_FIRM, PRESS_FIRM, GAS_RATE, OIL_RATE = range(12)
SLOW = 12  # how many


@njit(error_model="numpy", forceinline=True)
def point_at(pose, vel, body, point):
    """Place and velocity of a body's point → x, z, v_x, v_z, and its lever (x, z) from the centre of mass."""
    c, s = math.cos(pose[body, 2]), math.sin(pose[body, 2])
    rx = c * point[0] - s * point[1]
    rz = s * point[0] + c * point[1]
    w = vel[body, 2]
    return pose[body, 0] + rx, pose[body, 1] + rz, vel[body, 0] - w * rz, vel[body, 1] + w * rx, rx, rz


@njit(error_model="numpy", forceinline=True)
def _push(force, body, fx, fz, rx, rz):
    """Add a force at a lever to a body's force and torque."""
    force[body, 0] += fx
    force[body, 1] += fz
    force[body, 2] += rx * fz - rz * fx


@njit(error_model="numpy")
def _oil(m, gas, length, rate, temperature, oil):
    """`hydraulics`, compiled once for both places that call it."""
    return hydraulics(m, gas, length, rate, temperature, oil)


@njit(error_model="numpy", forceinline=True)
def _stops(angle, rate, stops):
    """Couple of two travel stops on an angle, the power lost and the energy held in them."""
    over, under = max(angle - stops.up, 0.0), max(stops.down - angle, 0.0)
    high = impact_force(over, rate, stops.stiffness, stops.damping)
    low = impact_force(under, -rate, stops.stiffness, stops.damping)
    lost = (high - low - stops.stiffness * (over - under)) * rate
    return low - high, lost, 0.5 * stops.stiffness * (over**2 + under**2)


@njit(error_model="numpy", forceinline=True)
def _stone(inside, rate, sunk, c):
    """Upward force of a stone that a disc is `inside` of, by how much both are squeezed, its sinking, powers lost.

    k·squeezed·(1 + d·rate), never a pull and never more than the stone bears, F_s; it sinks by what it was pressed to
    beyond F_s/k. The work of a stone that sinks is the soil's, the rest of what does not come back the contact's.
    """
    beyond = inside - c.rock_bears / c.rock_stiffness
    sinking = beyond > sunk and rate > 0.0
    sunk = max(sunk, beyond)
    squeezed = max(inside - sunk, 0.0)
    force = min(max(c.rock_stiffness * squeezed * (1.0 + c.rock_damping * rate), 0.0), c.rock_bears)
    if sinking:
        return force, squeezed, sunk, 0.0, force * rate
    return force, squeezed, sunk, (force - c.rock_stiffness * squeezed) * rate, 0.0


@njit(error_model="numpy")
def _disc(c, part, pose, vel, table, stone, x0, inv, slow, force, row, lost):
    """Soil and stone on the disc, soil on the boot → disc's x, bottom, surface and strength there, energy held."""
    x, z, vx, vz, rx, rz = point_at(pose, vel, CARRIER, part.hub)
    bottom = z - c.disc_radius
    ahead, _ = read_table(table, COLUMN.ahead, x0, inv, x)
    hard, slope = read_table(table, COLUMN.hard, x0, inv, x)
    strength, _ = read_table(table, COLUMN.strength, x0, inv, x)
    strength = max(strength, 0.0)
    deep = min(max(ahead - bottom, 0.0), c.disc_radius)
    soil_x, soil_z, edge, face, side = disc_force(
        deep, vx, vz, strength, c.speed_term, c.edge_width, c.disc_radius, c.face_factor, c.face_friction,
        c.tilt_sin, c.tilt_cos, c.sweep_sin, c.sweep_cos,
    )  # fmt: skip
    # the next stone starts unsunk
    near = stone[min(max(int((x - x0) * inv + 0.5), 0), stone.size - 1)]
    if near != slow[STONE]:
        slow[STONE] = near
        slow[SUNK] = 0.0
    rate = slope * vx - vz
    rock, squeezed, slow[SUNK], lost_stone, lost_under = _stone(hard - bottom, rate, slow[SUNK], c)
    _push(force, CARRIER, soil_x - rock * slope, soil_z + rock, rx, rz)
    _, _, bvx, bvz, brx, brz = point_at(pose, vel, CARRIER, part.boot)
    boot_x, boot_z = -c.boot_back * deep * strength, c.boot_up * deep * strength
    _push(force, CARRIER, boot_x, boot_z, brx, brz)
    lost[SUM.soil] = lost_under - (soil_x * vx + soil_z * vz + boot_x * bvx + boot_z * bvz)
    lost[SUM.rock] = lost_stone
    surface, _ = read_table(table, COLUMN.surface, x0, inv, x)
    row[CHANNEL.distance] = x
    row[CHANNEL.depth] = surface - bottom
    row[CHANNEL.disc_vertical], row[CHANNEL.disc_draught], row[CHANNEL.side_load] = soil_z, soil_x, c.one_sided * side
    held_up = deep > 0.0 and c.face_friction * (edge + face) * c.disc_radius < c.drag_torque
    row[CHANNEL.disc_slip] = 1.0 if held_up else 0.0
    row[CHANNEL.rock_force] = rock * math.sqrt(1.0 + slope * slope)
    row[CHANNEL.stone_gives_way] = 1.0 if rock >= c.rock_bears else 0.0
    return x, bottom, surface, strength, 0.5 * c.rock_stiffness * squeezed**2


@njit(error_model="numpy")
def _wheel(wheel, body, axle, column, pose, vel, table, x0, inv, step, slow, kept, force, lost):
    """One wheel on tyre and soil → axle's x, z, envelope there, load, sinkage (negative in the air), energy held.

    axle: point on its body · column: of its envelope · kept: places in `slow` of the tyre's deflection and of the
    squash and soil strength met last, which are moved on; powers are added to `lost`.
    """
    x, z, vx, vz, rx, rz = point_at(pose, vel, body, axle)
    height, slope = read_table(table, column, x0, inv, x)
    firm, firmer = read_table(table, COLUMN.wheel_strength, x0, inv, x)
    if firm <= 0.0:
        firm, firmer = 0.0, 0.0
    squash, rate = height - (z - wheel.radius), slope * vx - vz
    at, at_squash, at_firm = kept
    bent = deflection_after(slow[at], slow[at_squash], squash, slow[at_firm], firm, step, wheel)
    slow[at], slow[at_squash], slow[at_firm] = bent, squash, firm
    sink = squash - bent
    load = wheel_load(sink, rate, bent, firm, wheel)
    rho = wheel.rolling + (wheel.rolling_load * load / firm if load > 0.0 else 0.0)
    _push(force, body, -load * (slope + rho), load * (1.0 - rho * slope), rx, rz)
    lost[SUM.rolling] += rho * load * (vx + slope * vz)
    bending = (load - wheel.stiffness * bent) / wheel.damping
    lost[SUM.tyre] += wheel.damping * bending * bending
    lost[SUM.sinkage] += sunk_by(load, sink, rate - bending, firm, firmer * vx, wheel)
    return x, z, height, load, sink, 0.5 * wheel.stiffness * bent * bent + held_by(sink, firm, wheel)


@njit(error_model="numpy")
def _wheels(c, part, pose, vel, table, x0, inv, step, slow, force, row, lost):
    """Gauge and press wheel → gauge axle x, z, envelope there, and energy held in tyres and soil."""
    lost[SUM.rolling] = lost[SUM.tyre] = lost[SUM.sinkage] = 0.0
    kept = (TYRE, GAUGE_Q, GAUGE_FIRM)
    x, z, env, load, sink, held = _wheel(
        c.gauge, ARM, part.axle, COLUMN.gauge, pose, vel, table, x0, inv, step, slow, kept, force, lost
    )
    row[CHANNEL.tyre_and_sinkage] = slow[TYRE] + max(sink, 0.0) - c.squash_set
    row[CHANNEL.lift_off] = min(sink, 0.0)
    row[CHANNEL.gauge_load] = load
    kept = (PRESS_TYRE, PRESS_Q, PRESS_FIRM)
    _, _, _, load, sink, held_press = _wheel(
        c.press, PRESS, part.press_axle, COLUMN.press, pose, vel, table, x0, inv, step, slow, kept, force, lost
    )
    row[CHANNEL.press_load] = load
    row[CHANNEL.press_squash] = slow[PRESS_TYRE] + max(sink, 0.0)
    return x, z, env, held + held_press


@njit(error_model="numpy")
def _cylinder(c, m, gas, part, pose, vel, step, slow, force, row, lost):
    """Cylinder between toolbar and lower link → its force on the link (x, z) and |dL/dθ|."""
    bx, bz, bvx, bvz, brx, brz = point_at(pose, vel, TOOLBAR, part.cylinder_bar)
    x, z, vx, vz, rx, rz = point_at(pose, vel, LOWER, part.cylinder_link)
    length = math.hypot(x - bx, z - bz)
    ux, uz = (x - bx) / length, (z - bz) / length
    rate = ux * (vx - bvx) + uz * (vz - bvz)
    # gas temperature and let-in oil: Heun's rule over the step
    t0, o0, td, od = slow[GAS], slow[OIL], slow[GAS_RATE], slow[OIL_RATE]
    ahead = _oil(m, gas, length, rate, t0 + step * td, o0 + step * od)
    slow[GAS] = t0 + 0.5 * step * (td + ahead.tg_rate)
    slow[OIL] = o0 + 0.5 * step * (od + ahead.vo_rate)
    now = _oil(m, gas, length, rate, slow[GAS], slow[OIL])
    slow[GAS_RATE], slow[OIL_RATE] = now.tg_rate, now.vo_rate
    push = now.force
    _push(force, LOWER, push * ux, push * uz, rx, rz)
    _push(force, TOOLBAR, -push * ux, -push * uz, brx, brz)
    lost[SUM.seal_friction], lost[SUM.orifice], lost[SUM.atmosphere] = now.w_friction, now.w_orifice, now.w_atmosphere
    lost[SUM.heat], lost[SUM.valve], lost[SUM.column] = now.w_heat, now.w_valve, now.w_column
    row[CHANNEL.oil_pressure], row[CHANNEL.cylinder_pressure], row[CHANNEL.cylinder_force] = now.p_oil, now.p_cyl, push
    row[CHANNEL.gas_volume], row[CHANNEL.gas_temperature] = now.volume, slow[GAS]
    # the link's front pin lies half a length ahead of its centre: lever of the cylinder's line about it
    half_x = 0.5 * c.link * math.cos(pose[LOWER, 2])
    half_z = 0.5 * c.link * math.sin(pose[LOWER, 2])
    return push * ux, push * uz, abs((rx - half_x) * uz - (rz - half_z) * ux)


@njit(error_model="numpy")
def _springs(c, part, pose, vel, force, row, lost):
    """Travel stops of both coordinates and the press arm's spring → energy held in them."""
    th, om = pose[TOOLBAR, 2] - pose[LOWER, 2], vel[TOOLBAR, 2] - vel[LOWER, 2]
    ps, ops = pose[CARRIER, 2] - pose[PRESS, 2], vel[CARRIER, 2] - vel[PRESS, 2]
    stop, lost_stop, held_stop = _stops(th, om, c.main_stops)
    x, z, _, _, rx, rz = point_at(pose, vel, LOWER, part.stop)
    # square to the link, at its stop
    fx = -math.sin(pose[LOWER, 2]) * stop / c.stop_arm
    fz = math.cos(pose[LOWER, 2]) * stop / c.stop_arm
    _push(force, LOWER, fx, fz, rx, rz)
    _push(force, TOOLBAR, -fx, -fz, x - pose[TOOLBAR, 0], z - pose[TOOLBAR, 1])
    press_stop, lost_press, held_press = _stops(ps, ops, c.press_stops)
    bent = ps - c.spring_angle
    couple = -(c.preload + c.spring * bent) - c.spring_damping * ops + press_stop
    force[PRESS, 2] -= couple
    force[CARRIER, 2] += couple
    row[CHANNEL.arm_angle], row[CHANNEL.arm_rate], row[CHANNEL.press_angle], row[CHANNEL.press_rate] = th, om, ps, ops
    row[CHANNEL.stop_force] = -stop / c.stop_arm
    lost[SUM.stops] = lost_stop + lost_press
    lost[SUM.press_damper] = c.spring_damping * ops * ops
    return c.preload * bent + 0.5 * c.spring * bent * bent + held_stop + held_press


@kernel_apart
def loads(c, m, gas, part, pose, vel, table, stone, x0, inv, step, slow, force, row, lost):
    """All forces at one instant.

    pose, vel (10, 3): places and velocities of all bodies · slow (12,): the slow states, moved on by one step ·
    out: force (10, 3) force and torque about each centre of mass (the toolbar's row: what the unit's cylinder and
    stops put on it), row: the channels of sim.record (those that need accelerations are left out), lost (15,):
    powers in the order of sim.record.Sums, work and traffic left out. Returns the energy held in tyres, stone, springs
    and stops [J] and the force of the toolbar's cylinder pin on the cylinder (x, z) [N].
    """
    force[:] = 0.0
    x, bottom, surface, strength, held = _disc(c, part, pose, vel, table, stone, x0, inv, slow, force, row, lost)
    gx, gz, env, held_tyres = _wheels(c, part, pose, vel, table, x0, inv, step, slow, force, row, lost)
    cyl_x, cyl_z, ratio = _cylinder(c, m, gas, part, pose, vel, step, slow, force, row, lost)
    held += held_tyres + _springs(c, part, pose, vel, force, row, lost)
    # the depth error's parts: wheel over disc, as it stands and with the toolbar's pitch taken out
    pitch = pose[TOOLBAR, 2]
    over = (gz - c.gauge.radius) - bottom
    hub_z = bottom + c.disc_radius
    level = -math.sin(pitch) * (gx - x) + math.cos(pitch) * (gz - hub_z) - c.gauge.radius + c.disc_radius
    row[CHANNEL.toolbar_height], row[CHANNEL.pitch] = pose[TOOLBAR, 1], pitch
    row[CHANNEL.ground_shape] = surface - env
    row[CHANNEL.linkage] = level - c.over_set
    row[CHANNEL.toolbar_pitch] = over - level
    chord = math.sqrt(c.set_depth * (2.0 * c.disc_radius - c.set_depth))
    bearing = c.edge_width + c.face_factor * (2.0 / 3.0) * c.set_depth * c.tilt_sin * c.sweep_cos
    row[CHANNEL.spare_load] = (
        c.spare_weight
        + (row[CHANNEL.oil_pressure] - ATMOSPHERE) * c.piston * ratio / (c.link * math.cos(row[CHANNEL.arm_angle]))
        - (c.speed_term * bearing * chord + c.boot_up * c.set_depth) * strength
        - row[CHANNEL.press_load]
    )
    return held, cyl_x, cyl_z
