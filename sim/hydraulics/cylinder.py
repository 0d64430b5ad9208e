"""The cylinder between toolbar and lower link: its piston, its length over the arm angle, and the downforce it gives.

`cylinder_geometry` and `motion_ratio` are compiled for the march; the rest reads a unit's own parameters.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from sim.arithmetic.compiled import part
from sim.arithmetic.simd import magnitude, root
from sim.unit import Unit


def piston_area(unit: Unit) -> float:
    """Area of the cylinder's piston [m²]."""
    return math.pi / 4.0 * unit.cylinder.bore**2


def orifice_constant(unit: Unit) -> float:
    """K_o of the pressure lost in the hose fitting, K_o Q|Q|: ρ/(2 (C_d A_o)²) [Pa s²/m⁶]."""
    cylinder = unit.cylinder
    return cylinder.oil_density / (2.0 * (cylinder.discharge * math.pi / 4.0 * cylinder.orifice**2) ** 2)


def _between_pins(unit: Unit, angle: float) -> tuple[float, float]:
    """From the cylinder's pin on the toolbar to the one on the lower link at an arm angle [rad], (x, z) [m]."""
    x, z = unit.cylinder.frame
    s = unit.cylinder.arm
    return -s * math.cos(angle) - x, s * math.sin(angle) - z


def cylinder_length(unit: Unit, angle: float) -> float:
    """Length between the cylinder's pins at an arm angle [rad]; [m]."""
    return math.hypot(*_between_pins(unit, angle))


def length_slope(unit: Unit, angle: float) -> float:
    """Slope of that length to the arm angle, dL/dθ [m/rad]."""
    x, z = _between_pins(unit, angle)
    s = unit.cylinder.arm
    return (x * s * math.sin(angle) + z * s * math.cos(angle)) / math.hypot(x, z)


def swept(unit: Unit, angle: float) -> float:
    """Oil that the cylinder takes from the nominal arm angle to another one, A(L − L_nom) [m³]."""
    nominal = cylinder_length(unit, unit.main_links.angle_nominal)
    return piston_area(unit) * (cylinder_length(unit, angle) - nominal)


def downforce(unit: Unit, oil_pressure: float) -> float:
    """Vertical force at the disc from the cylinder at the nominal arm angle [N], friction left out.

    p·A·|dL/dθ|/(l cos θ_nom), gauge pressure p [Pa].
    """
    links = unit.main_links
    th = links.angle_nominal
    return oil_pressure * piston_area(unit) * abs(length_slope(unit, th)) / (links.length * math.cos(th))


@dataclass(frozen=True)
class Lever:
    """Cylinder and arm at one arm angle."""

    angle: float  # θ, rear end up positive [rad]
    height: float  # of the disc over its place at the nominal arm angle [m]
    length: float  # between the cylinder's pins [m]
    ratio: float  # downforce over the cylinder's force, −dL/dz [1]
    ratio_rate: float  # its slope to the disc's height [1/m]


def lever(unit: Unit, angle: float) -> Lever:
    """Motion ratio −L_θ/(l cos θ) of the cylinder and its slope to the disc's height z = l sin θ, closed form."""
    s, span = unit.cylinder.arm, unit.main_links.length
    sine, cosine = math.sin(angle), math.cos(angle)
    px, pz = _between_pins(unit, angle)
    length, slope = math.hypot(px, pz), length_slope(unit, angle)
    bend = (s * s + px * s * cosine - pz * s * sine - slope * slope) / length
    ratio = -slope / (span * cosine)
    by_angle = (-bend + ratio * span * sine) / (span * cosine)
    height = span * (sine - math.sin(unit.main_links.angle_nominal))
    return Lever(angle, height, length, ratio, by_angle / (span * cosine))


class CylinderAt(NamedTuple):
    """The cylinder at one arm angle, toolbar axes."""

    sx: float  # its pin on the lower link, from L0 [m]
    sz: float
    ux: float  # its direction, toolbar pin → lower link pin
    uz: float
    length: float  # between the pins [m]
    length_t: float  # dL/dθ [m/rad]


@part
def cylinder_geometry(m, k):
    """Cylinder of a packed model at the arm angle of the closed links k → CylinderAt."""
    sx = -m.cyl_arm * k.cos
    sz = m.cyl_arm * k.sin
    dx = sx - m.cyl_x
    dz = sz - m.cyl_z
    square = dx * dx + dz * dz
    inv = 1.0 / root(square)
    length = square * inv
    ux = dx * inv
    uz = dz * inv
    return CylinderAt(sx, sz, ux, uz, length, m.cyl_arm * (ux * k.sin + uz * k.cos))


@part
def motion_ratio(m, k):
    """Downforce over the cylinder's force, |dL/dθ|/(l cos θ) [1]."""
    return magnitude(cylinder_geometry(m, k).length_t) / (m.l * k.cos)
