"""Constants of the force laws for the rigid-body engine, read from the parameters on a way of their own."""

from __future__ import annotations

import math
from typing import NamedTuple

from sim.hydraulics.cylinder import piston_area
from sim.run import Prepared
from sim.unit import Rock, Settings, Soil, Unit

TYRE_SHARE = 0.2  # tyre deflection over section height in the wheel number


class Wheel(NamedTuple):
    """One wheel: tyre in series with soil."""

    radius: float  # [m]
    stiffness: float  # of the tyre [N/m]
    damping: float  # [N s/m]
    soil: float  # K/q_ref [N/(m^m Pa)] and m: load at rest per soil strength
    exponent: float
    arc: float  # R(k_c + b k_φ)/q_ref [N/(m^n Pa)] and n: the same per rad of loaded arc behind the lowest point
    arc_exponent: float
    speed: float  # of the toolbar [m/s]
    rolling: float  # rolling resistance as a share of the load,
    rolling_load: float  # and what each newton of load adds where the soil has 1 Pa [Pa/N]


class Stops(NamedTuple):
    """Two travel stops on an angle."""

    up: float  # [rad]
    down: float
    stiffness: float  # [N m/rad]
    damping: float  # [s/rad]


class Laws(NamedTuple):
    """Constants of all force laws but the cylinder's, SI units, and what the depth error is measured against."""

    disc_radius: float
    edge_width: float  # of all blades together, as the faces' pressure and the drag
    face_factor: float
    face_friction: float
    one_sided: float  # 1: nothing holds the face's side load up; 0: the other blade does
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
    gauge: Wheel
    press: Wheel
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


def _wheel(
    soil: Soil, speed: float, size: tuple[float, float], tyre: tuple[float, float], rolling: tuple[float, float]
) -> Wheel:
    """A wheel of radius and width `size` [m] with a tyre's stiffness and damping on a soil.

    Bekker: a plate of width b at depth z finds the pressure (k_c/b + k_φ)zⁿ; over a rolling wheel's arc its mean is
    1 − n/3 of that at the lowest point (Wong, Theory of Ground Vehicles). Both moduli hold at the reference strength.
    """
    radius, width = size
    n = soil.sinkage_exponent
    per_length = (soil.cohesive_modulus + width * soil.frictional_modulus) / soil.reference_strength
    return Wheel(
        radius=radius,
        stiffness=tyre[0],
        damping=tyre[1],
        soil=(1.0 - n / 3.0) * per_length * math.sqrt(2.0 * radius),
        exponent=n + 0.5,
        arc=per_length * radius,
        arc_exponent=n,
        speed=speed,
        rolling=rolling[0],
        rolling_load=rolling[1],
    )


def _towed(width: float, diameter: float) -> tuple[float, float]:
    """Rolling resistance 0.04 + W/(CI b d)·(1 + 3b/d)/(1 + 5δ/h) of a towed wheel: both numbers of `Wheel`.

    Brixius 1987, ASABE D497.
    """
    return 0.04, (1.0 + 3.0 * width / diameter) / (width * diameter * (1.0 + 5.0 * TYRE_SHARE))


def laws(unit: Unit, soil: Soil, rock: Rock, settings: Settings, ready: Prepared) -> Laws:
    """The constants for one run; `ready` gives what the depth error and the spare load are measured against."""
    disc, wheel, press, links = unit.disc, unit.gauge_wheel, unit.press_wheel, unit.main_links
    v = settings.speed
    gauge_tyre, press_tyre = (wheel.tyre_stiffness, wheel.tyre_damping), (press.stiffness, press.tyre_damping)
    towed = _towed(wheel.width, 2.0 * wheel.radius)
    return Laws(
        disc_radius=disc.radius,
        edge_width=disc.blades * disc.edge_width,
        face_factor=disc.blades * disc.face_factor,
        face_friction=disc.face_friction,
        one_sided=1.0 if disc.blades == 1 else 0.0,
        tilt_sin=math.sin(disc.tilt),
        tilt_cos=math.cos(disc.tilt),
        sweep_sin=math.sin(disc.sweep),
        sweep_cos=math.cos(disc.sweep),
        speed_term=1.0 + soil.speed_factor * settings.speed * 3.6,
        drag_torque=disc.blades * disc.drag_torque,
        boot_up=disc.boot_vertical / soil.reference_strength,
        boot_back=disc.boot_draught / soil.reference_strength,
        rock_stiffness=rock.stiffness,
        rock_damping=rock.damping,
        rock_bears=rock.give_way,
        gauge=_wheel(soil, v, (wheel.radius, wheel.width), gauge_tyre, towed),
        press=_wheel(soil, v, (press.radius, press.width), press_tyre, (press.rolling, 0.0)),
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
