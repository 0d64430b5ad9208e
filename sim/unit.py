"""Parameters of a row unit, its soil and its settings, in SI units.

Every field carries its unit, the range that the checks allow, the unit used at the edge (files, tables) and what
it means. `scenarios.format.schema` builds the file format from this metadata, so a parameter is described once, here.

All default values are made up for a demonstration unit ("assumed"); a value with a source says so in `source`.
Points on the carrier are given from the rear pin of the upper link (U1), points on the lower link from its front
pin (L0), points on the toolbar from the front pin of the upper link (U0) unless the field says otherwise;
x forward, z up, at arm angle zero and level toolbar.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, fields, replace
from typing import Any

from sim.bushes import Pins
from sim.described import beside, quantity, word

__all__ = ["quantity"]

GRAVITY = 9.80665  # standard acceleration of free fall [m/s²], ISO 80000-3
ATMOSPHERE = 101325.0  # standard atmosphere [Pa], ISO 2533
KELVIN = 273.15  # 0 °C [K]


# what points are counted from, toolbar level and arms at angle zero
O, U0, L0, U1 = (
    "the toolbar's centre of mass (O)",
    "the upper link's front pin (U0)",
    "the lower link's front pin (L0)",
    "the upper link's rear pin (U1)",
)


def point(default: tuple[float, float], doc: str, origin: str, *, source: str = "assumed") -> Any:
    """A dataclass field that holds a point (x, z) [m] counted from `origin`, each between −3 and 3 m."""
    said = f"{doc}: [x, z] from {origin}, x forward, z up"
    meta = {"unit": "m", "low": -3.0, "high": 3.0, "doc": said, "edge": "m", "source": source}
    return field(default=default, metadata=meta)


@dataclass(frozen=True)
class MainLinks:
    """Main parallelogram: two equal, parallel links between toolbar and carrier."""

    length: float = quantity(0.55, "m", 0.1, 2.0, "length of each link between its pins")
    spacing: float = quantity(0.25, "m", 0.05, 1.0, "height of the upper pins over the lower ones")
    mass: float = quantity(10.0, "kg", 0.0, 200.0, "mass of each link, a uniform bar")
    angle_nominal: float = quantity(
        0.0, "rad", -0.5, 0.5, "arm angle at which the unit is set, rear end up positive", edge="deg"
    )
    stop_up: float = quantity(math.radians(28), "rad", 0.05, 1.2, "arm angle of the upper travel stop", edge="deg")
    stop_down: float = quantity(math.radians(-28), "rad", -1.2, -0.05, "arm angle of the lower travel stop", edge="deg")
    stop_stiffness: float = quantity(
        60e3, "N m/rad", 1e2, 1e6, "couple of a stop per angle pressed in", edge="kN m/rad"
    )
    stop_damping: float = quantity(0.5, "s/rad", 0.0, 5.0, "damping of a stop (factor 1 + d·rate)")
    stop_arm: float = quantity(0.12, "m", 0.02, 1.0, "distance of the stop from the lower front pin along the link")


@dataclass(frozen=True)
class Carrier:
    """Shank with disc and boot: the body that the main links carry; it does not turn against the toolbar."""

    mass: float = quantity(95.0, "kg", 1.0, 1000.0, "mass of carrier, disc, boot and seed box share")
    centre: tuple[float, float] = point((-0.12, -0.35), "centre of mass", U1)
    inertia: float = quantity(6.0, "kg m2", 0.0, 500.0, "moment of inertia about the centre of mass")


@dataclass(frozen=True)
class Disc:
    """Opening disc, of one blade or two that run side by side, and seed boot.

    Edge, faces and drag are those of each blade; the side loads of two blades hold each other up.
    """

    radius: float = quantity(0.28, "m", 0.1, 0.6, "radius of the disc")
    hub: tuple[float, float] = point((-0.20, -0.55), "hub of the disc", U1)
    blades: int = field(
        default=1,
        metadata={
            "unit": "1",
            "low": 1,
            "high": 2,
            "edge": "1",
            "source": "assumed",
            "doc": "blades of the disc: 1, or 2 of a double disc (edge, faces and drag are those of each)",
        },
    )
    edge_width: float = quantity(0.005, "m", 0.001, 0.05, "width of a blade's edge that bears on soil", edge="mm")
    sweep: float = quantity(
        math.radians(5), "rad", 0.0, 0.6, "angle of the disc to the direction of travel", edge="deg"
    )
    tilt: float = quantity(math.radians(10), "rad", 0.0, 0.6, "lean of the disc from the vertical", edge="deg")
    face_factor: float = quantity(0.04, "1", 0.0, 1.0, "pressure on the face as a share of the strength")
    face_friction: float = quantity(0.3, "1", 0.0, 1.0, "friction of soil on the face and the edge")
    boot: tuple[float, float] = point((-0.27, -0.78), "point at which the boot's force acts", U1)
    boot_vertical: float = quantity(
        2000.0, "N/m", 0.0, 5e4, "upward boot force per depth at the reference strength", edge="N/mm"
    )
    boot_draught: float = quantity(
        3000.0, "N/m", 0.0, 5e4, "rearward boot force per depth at the reference strength", edge="N/mm"
    )
    drag_torque: float = quantity(8.0, "N m", 0.0, 200.0, "drag of bearing and scraper on each blade")
    lateral: float = beside(0.03, "the disc where it cuts, with the boot in its slot")
    pushed: str = word("left", ("left", "right"), "side to which soil on its face pushes a single blade")


@dataclass(frozen=True)
class GaugeWheel:
    """Gauge wheel with its tyre, on an arm of its own that the depth linkage holds."""

    radius: float = quantity(0.20, "m", 0.05, 0.5, "radius of the wheel")
    width: float = quantity(0.10, "m", 0.02, 0.5, "width of the tyre")
    tyre_stiffness: float = quantity(200e3, "N/m", 1e4, 5e6, "stiffness of the tyre", edge="kN/m")
    tyre_damping: float = quantity(1500.0, "N s/m", 50.0, 5e4, "damping of the tyre")
    arm_pivot: tuple[float, float] = point((0.02, -0.48), "pivot of the gauge arm on the carrier", U1)
    arm_length: float = quantity(0.30, "m", 0.05, 1.0, "gauge arm, pivot to wheel axle")
    lug: float = quantity(
        0.15, "m", 0.02, 1.0, "distance of the turnbuckle's lug from the pivot, on the line to the axle"
    )
    arm_mass: float = quantity(14.0, "kg", 0.1, 200.0, "mass of gauge arm and wheel")
    arm_centre: float = quantity(0.25, "m", 0.0, 1.0, "distance of their centre of mass from the pivot")
    arm_inertia: float = quantity(0.25, "kg m2", 0.0, 50.0, "moment of inertia about that centre")
    lateral: float = beside(-0.045, "middle of the wheel")
    arm_lateral: float = beside(-0.065, "middle between the bushes of the gauge arm's pivot")


@dataclass(frozen=True)
class DepthLinkage:
    """Small parallelogram that sets depth: actuator, crank, rod, bell crank, turnbuckle, gauge arm."""

    crank_pivot: tuple[float, float] = point((0.0, 0.0), "pivot of the crank on the toolbar", U0)
    bell_pivot: tuple[float, float] = point((0.0, 0.0), "pivot of the bell crank on the carrier", U1)
    crank: float = quantity(0.12, "m", 0.02, 0.5, "crank, pivot to rod")
    bell_first: float = quantity(0.12, "m", 0.02, 0.5, "bell crank, pivot to rod")
    bell_second: float = quantity(0.12, "m", 0.02, 0.5, "bell crank, pivot to turnbuckle")
    bell_angle: float = quantity(
        math.radians(90),
        "rad",
        -math.pi,
        math.pi,
        "turn of the second arm from the first, counter-clockwise",
        edge="deg",
    )
    rod: float = quantity(0.55, "m", 0.05, 2.0, "length of the rod")
    turnbuckle: float = quantity(0.525, "m", 0.05, 2.0, "length of the turnbuckle")
    rod_mass: float = quantity(2.0, "kg", 0.0, 50.0, "mass of the rod, a uniform bar")
    turnbuckle_mass: float = quantity(1.2, "kg", 0.0, 50.0, "mass of the turnbuckle, a uniform bar")
    bell_mass: float = quantity(2.0, "kg", 0.0, 50.0, "mass of the bell crank")
    bell_inertia: float = quantity(0.012, "kg m2", 0.0, 5.0, "its moment of inertia about its centre of mass")
    bell_centre: float = quantity(0.03, "m", 0.0, 0.5, "distance of that centre from the pivot")
    bell_centre_angle: float = quantity(
        math.radians(45),
        "rad",
        -math.pi,
        math.pi,
        "turn of the line to that centre from the first arm",
        edge="deg",
    )
    crank_mass: float = quantity(1.5, "kg", 0.0, 50.0, "mass of the crank, a uniform bar")
    actuator_base: tuple[float, float] = point((0.40, 0.05), "actuator's pin on the toolbar", U0)
    actuator_arm: float = quantity(0.10, "m", 0.02, 0.5, "actuator's pin on the line of the crank, from its pivot")
    thread_pitch: float = quantity(
        0.003,
        "m",
        0.0005,
        0.02,
        "change of the turnbuckle's length per turn (both threads together)",
        edge="mm",
    )
    lateral: float = beside(-0.065, "plane of crank, rod, bell crank, turnbuckle and actuator")


@dataclass(frozen=True)
class PressWheel:
    """Press wheel on a sprung arm behind the boot."""

    radius: float = quantity(0.15, "m", 0.05, 0.5, "radius of the wheel")
    width: float = quantity(0.05, "m", 0.01, 0.5, "width of the wheel")
    pivot: tuple[float, float] = point((-0.35, -0.55), "pivot of the press arm on the carrier", U1)
    arm_length: float = quantity(0.35, "m", 0.05, 1.0, "press arm, pivot to axle")
    arm_mass: float = quantity(9.0, "kg", 0.1, 200.0, "mass of press arm and wheel")
    arm_centre: float = quantity(0.28, "m", 0.0, 1.0, "distance of their centre of mass from the pivot")
    arm_inertia: float = quantity(0.25, "kg m2", 0.0, 50.0, "moment of inertia about that centre")
    preload: float = quantity(70.0, "N m", 0.0, 1000.0, "couple of the arm's spring at its free angle")
    notch: float = quantity(15.0, "N m", 0.0, 500.0, "couple that one notch adds or takes")
    spring: float = quantity(150.0, "N m/rad", 0.0, 1e5, "rate of the arm's spring")
    spring_angle: float = quantity(
        math.radians(-16), "rad", -1.0, 1.0, "arm angle at which the spring gives the preload", edge="deg"
    )
    damping: float = quantity(8.0, "N m s/rad", 0.0, 1e3, "damping of the arm")
    stiffness: float = quantity(120e3, "N/m", 1e4, 5e6, "stiffness of the tyre", edge="kN/m")
    tyre_damping: float = quantity(600.0, "N s/m", 20.0, 5e4, "damping of the tyre")
    rolling: float = quantity(0.08, "1", 0.0, 0.6, "rolling resistance as a share of the load")
    stop_down: float = quantity(math.radians(-35), "rad", -1.2, 0.0, "arm angle of the lower stop", edge="deg")
    stop_up: float = quantity(math.radians(20), "rad", 0.0, 1.2, "arm angle of the upper stop", edge="deg")
    stop_stiffness: float = quantity(20e3, "N m/rad", 1e2, 1e6, "couple of a stop per angle", edge="kN m/rad")
    stop_damping: float = quantity(0.5, "s/rad", 0.0, 5.0, "damping of a stop (factor 1 + d·rate)")
    lateral: float = beside(0.03, "middle of the wheel")
    arm_lateral: float = beside(0.0, "middle between the bushes of the press arm's pivot")


@dataclass(frozen=True)
class Cylinder:
    """Downforce cylinder: pushes its two pins apart; its rod side is open to the atmosphere."""

    bore: float = quantity(0.032, "m", 0.01, 0.2, "bore", edge="mm")
    arm: float = quantity(0.26, "m", 0.02, 1.5, "its pin on the lower link, from the front pin along the link")
    frame: tuple[float, float] = point((-0.05, 0.43), "its pin on the toolbar", L0)
    orifice: float = quantity(0.004, "m", 0.0005, 0.05, "bore of the hose fitting", edge="mm")
    discharge: float = quantity(
        0.65, "1", 0.1, 1.0, "discharge coefficient of that fitting", source="value from memory"
    )
    line: float = quantity(2e8, "Pa s/m3", 0.0, 1e12, "linear resistance of the hose")
    oil_density: float = quantity(870.0, "kg/m3", 600.0, 1200.0, "density of the oil", source="value from memory")
    seal_force: float = quantity(40.0, "N", 0.0, 5000.0, "friction of the seals without pressure")
    seal_factor: float = quantity(0.03, "1", 0.0, 0.5, "friction of the seals as a share of the pressure force")
    seal_speed: float = quantity(0.005, "m/s", 1e-4, 0.1, "speed over which the friction reverses", edge="mm/s")
    lateral: float = beside(0.0, "plane of the cylinder")


@dataclass(frozen=True)
class Accumulator:
    """Nitrogen accumulator on the oil line (the volume is this unit's share)."""

    volume: float = quantity(0.70e-3, "m3", 1e-5, 0.1, "gas volume without oil", edge="l")
    time_constant: float = quantity(4.0, "s", 0.1, 1000.0, "thermal time constant of the gas")
    column_volume: float = quantity(0.3e-3, "m3", 1e-6, 0.1, "oil between accumulator and piston", edge="l")
    bulk_modulus: float = quantity(1.0e9, "Pa", 1e8, 3e9, "bulk modulus of that oil with its hose", edge="GPa")
    hold_time: float = quantity(1.0, "s", 0.05, 100.0, "time constant of a valve that holds the pressure")
    shared_by: int = field(
        default=1,
        metadata={
            "unit": "1",
            "low": 1,
            "high": 200,
            "edge": "1",
            "source": "assumed",
            "doc": "units on this accumulator (the volume is then the whole one)",
        },
    )


@dataclass(frozen=True)
class Toolbar:
    """The toolbar that carries the units over its own wheels (origin O: its centre of mass)."""

    mass: float = quantity(3000.0, "kg", 100.0, 1e5, "mass that the toolbar's wheels carry")
    inertia: float = quantity(3500.0, "kg m2", 10.0, 1e6, "moment of inertia in pitch")
    axle_front: float = quantity(2.2, "m", 0.0, 10.0, "distance of the front axle (or hitch) ahead of O")
    axle_rear: float = quantity(2.2, "m", 0.0, 10.0, "distance of the rear axle behind O")
    stiffness: float = quantity(240e3, "N/m", 1e4, 1e7, "stiffness of each axle's tyres", edge="kN/m")
    damping: float = quantity(5e3, "N s/m", 0.0, 1e6, "damping of each axle's tyres", edge="kN s/m")
    wheel_radius: float = quantity(0.5, "m", 0.1, 1.5, "radius of the axle wheels")
    upper_pin: tuple[float, float] = point((-0.12, 0.10), "front pin of the upper link (U0)", O)


@dataclass(frozen=True)
class Clearance:
    """Play in the pins: how much wider each bush of a group is than its pin. 0 is a unit without wear."""

    main_pins: float = quantity(0.0, "m", 0.0, 0.01, "bore less pin, each of the four main pins", edge="mm")
    depth_linkage: float = quantity(
        0.0, "m", 0.0, 0.01, "bore less pin, each of the six pins of crank, rod, bell crank and turnbuckle", edge="mm"
    )
    gauge_arm: float = quantity(0.0, "m", 0.0, 0.01, "bore less pin, the gauge arm's pivot on the carrier", edge="mm")


@dataclass(frozen=True)
class Unit:
    """A whole row unit on its toolbar."""

    main_links: MainLinks = field(default_factory=MainLinks)
    carrier: Carrier = field(default_factory=Carrier)
    disc: Disc = field(default_factory=Disc)
    gauge_wheel: GaugeWheel = field(default_factory=GaugeWheel)
    depth_linkage: DepthLinkage = field(default_factory=DepthLinkage)
    press_wheel: PressWheel = field(default_factory=PressWheel)
    cylinder: Cylinder = field(default_factory=Cylinder)
    accumulator: Accumulator = field(default_factory=Accumulator)
    toolbar: Toolbar = field(default_factory=Toolbar)
    pins: Pins = field(default_factory=Pins)
    clearance: Clearance = field(default_factory=Clearance)


@dataclass(frozen=True)
class Soil:
    """Soil under disc, boot and wheels."""

    strength: float = quantity(
        1.2e6,
        "Pa",
        5e4,
        1e7,
        "pressure on the cutting edge at zero speed (of the order of the cone index)",
        edge="MPa",
    )
    reference_strength: float = quantity(
        1.2e6, "Pa", 5e4, 1e7, "strength at which the constants of boot and sinkage hold", edge="MPa"
    )
    speed_factor: float = quantity(
        2.7 / 55.0, "1/(km/h)", 0.0, 0.5, "rise of the disc force per km/h",
        source="ASABE D497 coulter, slope over constant; value from memory",
    )  # fmt: skip
    sinkage_exponent: float = quantity(0.6, "1", 0.1, 1.3, "n of the Bekker pressure–sinkage law")
    cohesive_modulus: float = quantity(40e3, "N/m^(n+1)", 0.0, 1e6, "k_c of that law", edge="kN/m^(n+1)")
    frictional_modulus: float = quantity(5e6, "N/m^(n+2)", 1e3, 1e8, "k_φ of that law", edge="kN/m^(n+2)")


@dataclass(frozen=True)
class Rock:
    """Contact of the disc with a stone."""

    stiffness: float = quantity(0.6e6, "N/m", 1e4, 1e8, "stone, disc and mounting in series", edge="MN/m")
    damping: float = quantity(0.45, "s/m", 0.0, 5.0, "damping (factor 1 + d·rate; restitution 0.62 at 2 m/s)")
    give_way: float = quantity(20e3, "N", 100.0, 1e7, "force at which a stone sinks away", edge="kN")


@dataclass(frozen=True)
class Settings:
    """What the operator sets, and how the run is made. Pressures are gauge pressures."""

    oil_pressure: float = quantity(40e5, "Pa", 1e5, 250e5, "oil pressure at the gauge", edge="bar")
    precharge: float = quantity(24e5, "Pa", 1e5, 200e5, "nitrogen pressure with no oil", edge="bar")
    precharge_temperature: float = quantity(
        293.15, "K", 233.15, 353.15, "gas temperature when the precharge was measured", edge="degC"
    )
    gas_temperature: float = quantity(293.15, "K", 233.15, 353.15, "gas temperature at work", edge="degC")
    set_depth: float = quantity(0.040, "m", 0.005, 0.15, "depth on flat reference ground", edge="mm")
    speed: float = quantity(8.0 / 3.6, "m/s", 1.0 / 3.6, 30.0 / 3.6, "travel speed", edge="km/h")
    reference_pressure: float = quantity(40e5, "Pa", 1e5, 250e5, "oil pressure at which the depth was set", edge="bar")
    reference_speed: float = quantity(
        8.0 / 3.6, "m/s", 1.0 / 3.6, 30.0 / 3.6, "speed at which the depth was set", edge="km/h"
    )
    setting: str = "redone"  # "redone": depth set again at this pressure and speed; "unchanged": as at the reference
    toolbar: str = "carried"  # "carried": on its own wheels; "level": bench test, constant height
    gas: str = "real"  # "real": nitrogen by the Benedict–Webb–Rubin equation; "ideal"
    oil: str = "trapped"  # "trapped": no oil in or out; "held": a valve holds the pressure slowly
    press_notch: int = 0  # notches of the press wheel's spring against the unit's own preload

    def redone_at(self, oil_pressure: float, speed: float) -> Settings:
        """The same at a gauge pressure [Pa] and a speed [m/s], the depth set again there."""
        return replace(self, oil_pressure=oil_pressure, speed=speed, setting="redone")


def parts(group: Any) -> list[tuple[str, Any]]:
    """Fields of a dataclass with their metadata, in order: [(name, field), ...]."""
    return [(f.name, f) for f in fields(group)]
