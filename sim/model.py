"""The constant part of a simulation: one flat tuple of numbers, which compiled functions read behind a pointer."""

from __future__ import annotations

import math
from typing import NamedTuple

from sim.arithmetic.constants import behind_a_pointer
from sim.hydraulics.accumulator import Fill, column_stiffness
from sim.hydraulics.cylinder import cylinder_length, orifice_constant, piston_area
from sim.laws.wheel_soil import brixius_area, soil_constants
from sim.unit import ATMOSPHERE, Rock, Settings, Soil, Unit


class Model(NamedTuple):
    """Everything that does not change during a run, SI units. Points: U0 from O; carrier points from U1."""

    # main parallelogram
    l: float
    d: float
    link_mass: float
    link_inertia: float
    u0x: float
    u0z: float
    stop_up: float
    stop_down: float
    stop_k: float
    stop_d: float
    stop_arm: float
    # carrier
    carrier_mass: float
    carrier_x: float
    carrier_z: float
    carrier_inertia: float
    # disc and boot
    disc_r: float
    hub_x: float
    hub_z: float
    edge_w: float
    face_k: float  # of all blades together, as the edge's width and the drag
    face_mu: float
    side_share: float  # share of the faces' side load that no other blade holds up
    tilt_sin: float
    tilt_cos: float
    sweep_sin: float
    sweep_cos: float
    boot_x: float
    boot_z: float
    boot_kz: float
    boot_kx: float
    drag_torque: float
    speed_term: float
    q_share: float  # 1/q_ref
    # gauge wheel and its arm
    gauge_r: float
    gauge_k: float
    gauge_c: float
    gauge_soft: float  # 1/c
    gauge_soil_k: float
    gauge_soil_rate: float
    gauge_area: float
    soil_n: float
    arm_x: float
    arm_z: float
    arm_l: float
    lug: float
    arm_mass: float
    arm_centre: float
    arm_inertia: float
    # depth linkage: crank's rod pin C and its pivot F from O (the crank is locked)
    crank_x: float
    crank_z: float
    pivot_x: float
    pivot_z: float
    crank_mass: float
    crank_inertia: float
    actuator_x: float
    actuator_z: float
    actuator_share: float
    bell_x: float
    bell_z: float
    bell_1: float
    bell_ratio: float
    bell_sin: float
    bell_cos: float
    rod_l: float
    rod_mass: float
    buckle_l: float
    buckle_mass: float
    bell_mass: float
    bell_inertia: float
    bell_centre_x: float
    bell_centre_z: float
    # press wheel
    press_r: float
    press_k: float
    press_c: float
    press_soft: float  # 1/c
    press_soil_k: float
    press_soil_rate: float
    press_rho: float
    press_x: float
    press_z: float
    press_l: float
    press_mass: float
    press_centre: float
    press_inertia: float
    press_t0: float
    press_spring: float
    press_psi0: float
    press_damping: float
    press_up: float
    press_down: float
    press_stop_k: float
    press_stop_d: float
    # cylinder and gas
    area: float
    cyl_arm: float
    cyl_x: float
    cyl_z: float
    cyl_nominal: float
    orifice: float
    line: float
    seal_0: float
    seal_mu: float
    seal_slope: float  # 1/v_0
    gas_mass: float
    v_nominal: float
    v_acc: float
    column: float
    cooling: float  # 1/τ
    wall: float
    p_set: float
    hold: float
    # rock
    rock_k: float
    rock_d: float
    rock_limit: float
    # what the run is measured against
    speed: float
    set_depth: float
    squash_set: float
    over_set: float
    spare_weight: float


class ModelOfAny(Model):
    """The same, for a march of rows with whatever unit and soil."""

    __slots__ = ()


# What may differ between the rows of a march of one unit on one soil, and of any: all but whether a valve holds the
# oil. Every number that may takes room of its own for each row, which costs the march 3 %
VARIED = (
    "crank_x",
    "crank_z",
    "v_nominal",
    "gas_mass",
    "p_set",
    "set_depth",
    "squash_set",
    "over_set",
    "spare_weight",
    "speed",
    "speed_term",
)
VARIED_OF_ANY = tuple(name for name in Model._fields if name != "hold")
behind_a_pointer(Model, VARIED)
behind_a_pointer(ModelOfAny, VARIED_OF_ANY)


def pack(unit: Unit, soil: Soil, rock: Rock, settings: Settings, gas: Fill, crank_angle: float) -> Model:
    """Numbers for the compiled functions; the depth-error references are zero until `with_setting` fills them."""
    k, c, disc, arm = unit.main_links, unit.carrier, unit.disc, unit.gauge_wheel
    link, press, cyl, acc = unit.depth_linkage, unit.press_wheel, unit.cylinder, unit.accumulator
    u0x, u0z = unit.toolbar.upper_pin
    gauge_soil = soil_constants(soil, arm.width, arm.radius)
    press_soil = soil_constants(soil, press.width, press.radius)
    fx, fz = u0x + link.crank_pivot[0], u0z + link.crank_pivot[1]
    ca, sa = math.cos(crank_angle), math.sin(crank_angle)
    numbers = Model(
        l=k.length, d=k.spacing, link_mass=k.mass, link_inertia=k.mass * k.length**2 / 12.0,
        u0x=u0x, u0z=u0z, stop_up=k.stop_up, stop_down=k.stop_down, stop_k=k.stop_stiffness,
        stop_d=k.stop_damping, stop_arm=k.stop_arm,
        carrier_mass=c.mass, carrier_x=c.centre[0], carrier_z=c.centre[1], carrier_inertia=c.inertia,
        disc_r=disc.radius, hub_x=disc.hub[0], hub_z=disc.hub[1], edge_w=disc.blades * disc.edge_width,
        face_k=disc.blades * disc.face_factor, face_mu=disc.face_friction, side_share=2 - disc.blades,
        tilt_sin=math.sin(disc.tilt), tilt_cos=math.cos(disc.tilt),
        sweep_sin=math.sin(disc.sweep), sweep_cos=math.cos(disc.sweep),
        boot_x=disc.boot[0], boot_z=disc.boot[1], boot_kz=disc.boot_vertical, boot_kx=disc.boot_draught,
        drag_torque=disc.blades * disc.drag_torque,
        speed_term=1.0 + soil.speed_factor * settings.speed * 3.6, q_share=1.0 / soil.reference_strength,
        gauge_r=arm.radius, gauge_k=arm.tyre_stiffness, gauge_c=arm.tyre_damping, gauge_soft=1.0 / arm.tyre_damping,
        gauge_soil_k=gauge_soil.load, gauge_soil_rate=gauge_soil.rate,
        gauge_area=brixius_area(arm.width, 2 * arm.radius), soil_n=gauge_soil.exponent,
        arm_x=arm.arm_pivot[0], arm_z=arm.arm_pivot[1], arm_l=arm.arm_length, lug=arm.lug,
        arm_mass=arm.arm_mass, arm_centre=arm.arm_centre, arm_inertia=arm.arm_inertia,
        crank_x=fx + link.crank * ca, crank_z=fz + link.crank * sa, pivot_x=fx, pivot_z=fz,
        crank_mass=link.crank_mass, crank_inertia=link.crank_mass * link.crank**2 / 12.0,
        actuator_x=u0x + link.actuator_base[0], actuator_z=u0z + link.actuator_base[1],
        actuator_share=link.actuator_arm / link.crank,
        bell_x=link.bell_pivot[0], bell_z=link.bell_pivot[1], bell_1=link.bell_first,
        bell_ratio=link.bell_second / link.bell_first,
        bell_sin=math.sin(link.bell_angle), bell_cos=math.cos(link.bell_angle),
        rod_l=link.rod, rod_mass=link.rod_mass, buckle_l=link.turnbuckle, buckle_mass=link.turnbuckle_mass,
        bell_mass=link.bell_mass, bell_inertia=link.bell_inertia,
        bell_centre_x=link.bell_centre / link.bell_first * math.cos(link.bell_centre_angle),
        bell_centre_z=link.bell_centre / link.bell_first * math.sin(link.bell_centre_angle),
        press_r=press.radius, press_k=press.stiffness, press_c=press.tyre_damping, press_soft=1.0 / press.tyre_damping,
        press_soil_k=press_soil.load, press_soil_rate=press_soil.rate,
        press_rho=press.rolling, press_x=press.pivot[0], press_z=press.pivot[1], press_l=press.arm_length,
        press_mass=press.arm_mass, press_centre=press.arm_centre, press_inertia=press.arm_inertia,
        press_t0=press.preload + settings.press_notch * press.notch, press_spring=press.spring,
        press_psi0=press.spring_angle, press_damping=press.damping, press_up=press.stop_up,
        press_down=press.stop_down, press_stop_k=press.stop_stiffness, press_stop_d=press.stop_damping,
        area=piston_area(unit), cyl_arm=cyl.arm, cyl_x=cyl.frame[0], cyl_z=cyl.frame[1],
        cyl_nominal=cylinder_length(unit, k.angle_nominal),
        orifice=orifice_constant(unit),
        line=cyl.line, seal_0=cyl.seal_force, seal_mu=cyl.seal_factor, seal_slope=1.0 / cyl.seal_speed,
        gas_mass=gas.mass, v_nominal=gas.volume, v_acc=acc.volume,
        column=column_stiffness(acc), cooling=1.0 / acc.time_constant, wall=settings.gas_temperature,
        p_set=settings.oil_pressure + ATMOSPHERE,
        hold=1.0 / acc.hold_time if settings.oil == "held" else 0.0,
        rock_k=rock.stiffness, rock_d=rock.damping, rock_limit=rock.give_way / rock.stiffness,
        speed=settings.speed, set_depth=settings.set_depth, squash_set=0.0, over_set=0.0, spare_weight=0.0,
    )  # fmt: skip
    return Model(*map(float, numbers))  # a whole number would be another type to the compiled code
