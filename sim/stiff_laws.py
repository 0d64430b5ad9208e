"""What asks for short time steps: the rates of every law for a unit on its soil, and the keys they hang on."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from sim.hydraulics.accumulator import column_stiffness
from sim.hydraulics.cylinder import length_slope, orifice_constant, piston_area
from sim.hydraulics.oil import cylinder_rates, valve_rates
from sim.laws.disc import disc_rates, stone_rates
from sim.laws.stops import stop_rates
from sim.laws.wheel_soil import soil_constants, wheel_rates
from sim.rates import Rates, of_spring, together
from sim.stone_blow import STEEP, struck_mass
from sim.toolbar.parts import toolbar_rates
from sim.unit import GRAVITY, Rock, Settings, Soil, Unit
from sim.worn import LEAST_MASS, is_worn

# where rates hang on the load: wheels carry from a fifth of what rests on them at a standstill (over humps) to four
# times that (landing); the oil is at 100 bar, above nearly all pressures worked with
LOADS = (0.2, 4.0)
PRESSURE = 100e5  # [Pa]
BLOW = 600e5  # pressed through the fitting by a blow of some 20 kN on the disc [Pa]
# Speeds at which stops are met: the arms after a fall over a step. Over an edge the end of an arm goes up or down as
# fast as the unit goes on (0.8 to 1.2 times as fast at 3 to 15 km/h, the library's gully, measured): `fastest`
ARM_RATE, PRESS_RATE = 2.0, 5.0  # [rad/s]


@dataclass(frozen=True)
class Case:
    """What the step may depend on."""

    unit: Unit
    soil: Soil
    rock: Rock
    settings: Settings

    @property
    def arm_inertia(self) -> float:
        """Moment of inertia of all that swings with the main links [kg m²]."""
        links, rest = self.unit.main_links, self.unit.depth_linkage
        carried = self.unit.carrier.mass + self.unit.gauge_wheel.arm_mass + self.unit.press_wheel.arm_mass
        carried += rest.bell_mass + rest.turnbuckle_mass
        return (carried + (2.0 * links.mass + rest.rod_mass) / 3.0) * links.length**2

    def mass_at(self, by_arm: float, by_press: float) -> float:
        """Mass [kg] (moment of inertia) that a force (couple) moves, whose point goes by so much per angle of either
        arm [m/rad, or 1]; without end where that point stays in its place.
        """
        press = self.unit.press_wheel
        both = press.arm_mass * press.arm_centre * self.unit.main_links.length
        own = press.arm_inertia + press.arm_mass * press.arm_centre**2
        inertia = np.array([[self.arm_inertia, both], [both, own]])
        by = np.array([by_arm, by_press])
        moved = float(by @ np.linalg.solve(inertia, by))
        return 1.0 / moved if moved > 0.0 else math.inf

    @property
    def at_carrier(self) -> float:
        """Mass that an upward force on the carrier moves [kg]."""
        return struck_mass(self.unit)

    @property
    def strength(self) -> float:
        """Soil strength over that at which its constants hold."""
        return self.soil.strength / self.soil.reference_strength


def _gauge(case: Case) -> Rates:
    wheel = case.unit.gauge_wheel
    mass = case.at_carrier
    return together(
        wheel_rates(
            soil_constants(case.soil, wheel.width, wheel.radius), wheel.tyre_stiffness, wheel.tyre_damping,
            case.settings.speed, mass, share * mass * GRAVITY, case.strength,
        )
        for share in LOADS
    )  # fmt: skip


def _press(case: Case) -> Rates:
    wheel = case.unit.press_wheel
    couple = wheel.preload + case.settings.press_notch * wheel.notch + wheel.arm_mass * wheel.arm_centre * GRAVITY
    return together(
        wheel_rates(
            soil_constants(case.soil, wheel.width, wheel.radius), wheel.stiffness, wheel.tyre_damping,
            case.settings.speed, case.mass_at(case.unit.main_links.length, wheel.arm_length),
            share * max(couple, 1.0) / wheel.arm_length, case.strength,
        )
        for share in LOADS
    )  # fmt: skip


def _press_arm(case: Case) -> Rates:
    wheel = case.unit.press_wheel
    return Rates(of_spring(wheel.spring, wheel.damping, case.mass_at(0.0, 1.0)))


def _main_stops(case: Case) -> Rates:
    links = case.unit.main_links
    fastest = max(ARM_RATE, case.settings.speed / links.length)
    inertia = case.mass_at(1.0, 0.0)
    return stop_rates(links.stop_stiffness, links.stop_damping, ARM_RATE, fastest, inertia, links.stop_arm)


def _press_stops(case: Case) -> Rates:
    wheel = case.unit.press_wheel
    fastest = max(PRESS_RATE, case.settings.speed / wheel.arm_length)
    inertia, spacing = case.mass_at(0.0, 1.0), case.unit.main_links.spacing  # the links hold the carrier's couple
    return stop_rates(wheel.stop_stiffness, wheel.stop_damping, PRESS_RATE, fastest, inertia, spacing)


def _stone(case: Case) -> Rates:
    rock = case.rock
    speed = STEEP * case.settings.speed
    return stone_rates(rock.stiffness, rock.damping, rock.give_way, speed, case.at_carrier)


def _disc(case: Case) -> Rates:
    speed = case.settings.speed
    per_length = case.soil.strength * case.unit.disc.edge_width * (1.0 + case.soil.speed_factor * speed * 3.6)
    return disc_rates(per_length, case.unit.disc.radius, speed, case.at_carrier)


def _cylinder(case: Case) -> Rates:
    cylinder, links = case.unit.cylinder, case.unit.main_links
    return cylinder_rates(
        piston_area(case.unit), cylinder.line, orifice_constant(case.unit), cylinder.seal_force, cylinder.seal_factor,
        cylinder.seal_speed, column_stiffness(case.unit.accumulator), PRESSURE,
        BLOW,
        case.mass_at(length_slope(case.unit, links.angle_nominal), 0.0),
    )  # fmt: skip


def _valve(case: Case) -> Rates:
    acc = case.unit.accumulator
    hold_time = acc.hold_time if case.settings.oil == "held" else math.inf
    return valve_rates(column_stiffness(acc), acc.volume, hold_time, acc.time_constant)


def _play(case: Case) -> Rates:
    """The gauge arm on its wheel while it is loose in worn pins: lighter than all else that the wheel carries."""
    if not is_worn(case.unit):
        return Rates(np.zeros(1, dtype=np.complex128))
    wheel = case.unit.gauge_wheel
    loose = max((wheel.arm_inertia + wheel.arm_mass * wheel.arm_centre**2) / wheel.arm_length**2, LEAST_MASS)
    load = max(wheel.arm_mass * wheel.arm_centre / wheel.arm_length * GRAVITY, 1.0)
    return Rates(
        wheel_rates(
            soil_constants(case.soil, wheel.width, wheel.radius), wheel.tyre_stiffness, wheel.tyre_damping,
            case.settings.speed, loose, load, case.strength,
        ).lasting
    )  # fmt: skip


def _toolbar(case: Case) -> Rates:
    """A stiff toolbar shakes the rows as fast as its own march has it."""
    return Rates(toolbar_rates(case.unit.toolbar) * (case.settings.toolbar == "carried"))


@dataclass(frozen=True)
class Law:
    """One law: its rates, and the keys of the scenario file that they hang on."""

    rates: Callable[[Case], Rates]
    keys: tuple[str, ...]


_SOIL = (
    "soil.frictional_modulus_kN_per_m_n2", "soil.cohesive_modulus_kN_per_m_n1", "soil.sinkage_exponent",
    "soil.reference_strength_MPa",
)  # fmt: skip
LAWS = (
    Law(_gauge, (
        "unit.gauge_wheel.tyre_damping_Ns_per_m", "unit.gauge_wheel.tyre_stiffness_kN_per_m",
        *_SOIL, "unit.gauge_wheel.width_m", "unit.carrier.mass_kg",
    )),
    Law(_press, (
        "unit.press_wheel.tyre_damping_Ns_per_m", "unit.press_wheel.stiffness_kN_per_m",
        *_SOIL, "unit.press_wheel.width_m", "unit.press_wheel.arm_mass_kg", "unit.press_wheel.arm_inertia_kg_m2",
    )),
    Law(_press_arm, (
        "unit.press_wheel.damping_Nms_per_rad", "unit.press_wheel.spring_Nm_per_rad",
        "unit.press_wheel.arm_mass_kg", "unit.press_wheel.arm_inertia_kg_m2",
    )),
    Law(_main_stops, (
        "unit.main_links.stop_stiffness_kNm_per_rad", "unit.main_links.stop_damping_s_per_rad", "unit.carrier.mass_kg",
        "unit.main_links.length_m",
    )),
    Law(_press_stops, (
        "unit.press_wheel.stop_stiffness_kNm_per_rad", "unit.press_wheel.stop_damping_s_per_rad",
        "unit.press_wheel.arm_mass_kg", "unit.press_wheel.arm_inertia_kg_m2",
    )),
    Law(_stone, ("stones.contact.stiffness_MN_per_m", "stones.contact.damping_s_per_m", "unit.carrier.mass_kg")),
    Law(_disc, ("unit.disc.edge_width_mm", "soil.strength_MPa", "unit.carrier.mass_kg")),
    Law(_cylinder, (
        "unit.cylinder.line_Pa_s_per_m3", "unit.cylinder.orifice_mm", "unit.cylinder.seal_force_N",
        "unit.cylinder.seal_factor", "unit.cylinder.seal_speed_mm_per_s", "unit.cylinder.bore_mm",
        "unit.accumulator.bulk_modulus_GPa", "unit.accumulator.column_volume_l", "unit.carrier.mass_kg",
    )),
    Law(_valve, (
        "unit.accumulator.hold_time_s", "unit.accumulator.bulk_modulus_GPa", "unit.accumulator.column_volume_l",
        "unit.accumulator.volume_l",
    )),
    Law(_play, (
        "unit.gauge_wheel.tyre_stiffness_kN_per_m", "unit.gauge_wheel.tyre_damping_Ns_per_m",
        *_SOIL, "unit.gauge_wheel.arm_mass_kg", "unit.gauge_wheel.arm_inertia_kg_m2",
    )),
    Law(_toolbar, (
        "unit.toolbar.damping_kNs_per_m", "unit.toolbar.stiffness_kN_per_m", "unit.toolbar.mass_kg",
        "unit.toolbar.inertia_kg_m2", "unit.toolbar.axle_front_m", "unit.toolbar.axle_rear_m",
    )),
)  # fmt: skip


def place_of(case: Case, key: str) -> tuple[Any, str]:
    """The group of fields that a key of the scenario file belongs to, and its field."""
    *way, last = key.split(".")
    group: Any = case
    for name in _way(way):
        group = getattr(group, name)
    found = [field.name for field in fields(group) if last.startswith(field.name)]
    return group, max(found, key=len)


def _way(way: list[str]) -> list[str]:
    """Names that lead from the case to a group."""
    return ["rock"] if way == ["stones", "contact"] else way


def with_value(case: Case, key: str, value: float | None = None) -> Case:
    """The case with one key of the scenario file at a value [SI], or at its default."""
    group, name = place_of(case, key)
    changed: Any = replace(group, **{name: getattr(type(group)(), name) if value is None else value})
    first, *second = _way(key.split(".")[:-1])
    if second:
        changed = replace(getattr(case, first), **{second[0]: changed})
    return replace(case, **{first: changed})
