"""Constants of the force laws for the rigid-body engine, read from the parameters on a way of their own."""

from __future__ import annotations

import math
from typing import NamedTuple

from sim.hydraulics.cylinder import piston_area
from sim.laws.wheel_soil import brixius_area, soil_constants
from sim.run import Prepared
from sim.unit import Rock, Settings, Soil, Unit


class Tyre(NamedTuple):
    """One wheel: tyre in series with soil."""

    radius: float  # [m]
    stiffness: float  # [N/m]
    damping: float  # [N s/m]
    soil: float  # constant K [N/m^m] and exponent m of the sinkage law
    exponent: float


class Stops(NamedTuple):
    """Two travel stops on an angle."""

    up: float  # [rad]
    down: float
    stiffness: float  # [N m/rad]
    damping: float  # [s/rad]


class Laws(NamedTuple):
    """Constants of all force laws but the cylinder's, SI units, and what the depth error is measured against."""

    disc_radius: float
    edge_width: float
    face_factor: float
    face_friction: float
    tilt_sin: float
    tilt_cos: float
    sweep_sin: float
    sweep_cos: float
    speed_term: float  # f_v
    drag_torque: float
    boot_up: float  # boot forces per depth and strength [N/(m Pa)]
    boot_back: float
    rock_stiffness: float
    rock_damping: float
    rock_bears: float  # force at which a stone gives way [N]
    gauge: Tyre
    wheel_area: float  # b·d·(1 + 5δ/h)/(1 + 3b/d) of the gauge wheel [m²]
    press: Tyre
    press_rolling: float
    main_stops: Stops
    stop_arm: float
    press_stops: Stops
    preload: float
    spring: float
    spring_angle: float
    spring_damping: float
    link: float  # length of a main link [m]
    piston: float  # area [m²]
    set_depth: float
    squash_set: float
    over_set: float
    spare_weight: float


def _tyre(soil: Soil, radius: float, width: float, stiffness: float, damping: float) -> Tyre:
    return Tyre(radius, stiffness, damping, *soil_constants(soil, width, radius))


def laws(unit: Unit, soil: Soil, rock: Rock, settings: Settings, ready: Prepared) -> Laws:
    """The constants for one run; `ready` gives what the depth error and the spare load are measured against."""
    disc, wheel, press, links = unit.disc, unit.gauge_wheel, unit.press_wheel, unit.main_links
    return Laws(
        disc_radius=disc.radius,
        edge_width=disc.edge_width,
        face_factor=disc.face_factor,
        face_friction=disc.face_friction,
        tilt_sin=math.sin(disc.tilt),
        tilt_cos=math.cos(disc.tilt),
        sweep_sin=math.sin(disc.sweep),
        sweep_cos=math.cos(disc.sweep),
        speed_term=1.0 + soil.speed_factor * settings.speed * 3.6,
        drag_torque=disc.drag_torque,
        boot_up=disc.boot_vertical / soil.reference_strength,
        boot_back=disc.boot_draught / soil.reference_strength,
        rock_stiffness=rock.stiffness,
        rock_damping=rock.damping,
        rock_bears=rock.give_way,
        gauge=_tyre(soil, wheel.radius, wheel.width, wheel.tyre_stiffness, wheel.tyre_damping),
        wheel_area=brixius_area(wheel.width, 2.0 * wheel.radius),
        press=_tyre(soil, press.radius, press.width, press.stiffness, press.tyre_damping),
        press_rolling=press.rolling,
        main_stops=Stops(links.stop_up, links.stop_down, links.stop_stiffness, links.stop_damping),
        stop_arm=links.stop_arm,
        press_stops=Stops(press.stop_up, press.stop_down, press.stop_stiffness, press.stop_damping),
        preload=press.preload + settings.press_notch * press.notch,
        spring=press.spring,
        spring_angle=press.spring_angle,
        spring_damping=press.damping,
        link=links.length,
        piston=piston_area(unit),
        set_depth=settings.set_depth,
        squash_set=ready.setting.squash,
        over_set=settings.set_depth - ready.setting.squash,
        spare_weight=ready.model.spare_weight,
    )
