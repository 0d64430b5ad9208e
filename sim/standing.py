"""The unit standing still on a hard floor, the disc over nothing: what scales under its two wheels would show.

The toolbar stands at its working height and both scales are level with the floor. The oil pressure is what the gauge
shows while the unit stands there, whatever the gas did on the way. The arm takes the angle at which all moments on it
add up to nothing: weight of all parts, cylinder, gauge wheel on its tyre, press wheel on its sprung arm. Seal friction
is left out; it can hold either way, by up to `seal_hold`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

from sim.hydraulics.accumulator import fill, with_accumulator
from sim.hydraulics.cylinder import length_slope, piston_area
from sim.laws.gas import gas_law
from sim.model import pack
from sim.setting import nominal_height, rest_at
from sim.unit import Rock, Settings, Soil, Unit
from sim.worn import is_worn, resting, worn

HARD = 1e13  # strength of a floor that does not give [Pa]
WIDE = 1e3  # gas volume beside which the cylinder's is nothing, so that the pressure is what the gauge shows [m³]


class Standing(NamedTuple):
    """What the unit does on a hard floor."""

    gauge: float  # on the scale under the gauge wheel [N]
    press: float  # under the press wheel [N]
    arm_angle: float  # that results [rad]
    press_angle: float  # [rad]


def standing(unit: Unit, soil: Soil, settings: Settings, crank: float, oil_pressure: float) -> Standing:
    """Wheel loads on a hard floor at a crank angle [rad] and the gauge pressure shown [Pa]; 0: no pressure at all.

    The settings say how high the toolbar is carried; the soil is not met. Raises LinkageError and EquilibriumError.
    """
    unit = with_accumulator(_without_disc(unit), WIDE)
    s, law = replace(settings, oil_pressure=max(oil_pressure, 1.0)), gas_law(settings)
    gas = fill(unit, s.oil_pressure, 0.5 * s.oil_pressure, s.gas_temperature, s.gas_temperature, law)
    m = pack(unit, soil, Rock(), s, gas, crank)._replace(press_rho=0.0)
    z_bar = nominal_height(unit, s.set_depth)
    th, ps, play = resting(unit, m, law, z_bar, HARD, worn(unit, crank) if is_worn(unit) else None)
    rest = rest_at(m, law, z_bar, th, ps, HARD, None if play is None else play.lift)
    return Standing(float(rest.gauge_load), float(rest.press_load), th, ps)


def seal_hold(unit: Unit, oil_pressure: float) -> float:
    """By how much seal friction can hold the load on the wheels up or down at a gauge pressure [Pa]; [N]."""
    cylinder, links = unit.cylinder, unit.main_links
    friction = cylinder.seal_force + cylinder.seal_factor * oil_pressure * piston_area(unit)
    return friction * abs(length_slope(unit, links.angle_nominal)) / links.length


def _without_disc(unit: Unit) -> Unit:
    """The unit with a disc and a boot that bear on nothing."""
    free = replace(unit.disc, edge_width=0.0, face_factor=0.0, boot_vertical=0.0, boot_draught=0.0)
    return replace(unit, disc=free)
