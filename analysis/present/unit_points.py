"""Where the pins and wheels of a unit lie at an arm angle: what a drawing of it needs."""

from __future__ import annotations

import cmath
import math

from sim.unit import Unit

Points = dict[str, tuple[float, float]]
PIN_AT = {  # the point at which a pin lies
    "main_upper_front": "U0", "main_upper_rear": "U1", "main_lower_front": "L0", "main_lower_rear": "L1",
    "cylinder_frame": "cylinder_frame", "cylinder_arm": "cylinder_arm", "crank": "crank_pivot",
    "rod_front": "crank_pin", "rod_rear": "rod_rear", "bell_crank": "bell_pivot", "turnbuckle_front": "bell_end",
    "turnbuckle_rear": "lug", "gauge_arm": "arm_pivot", "press_arm": "press_pivot",
}  # fmt: skip


def _meet(first: complex, second: complex, r1: float, r2: float) -> complex:
    """Point at distance r1 from `first` and r2 from `second`, left of the line from one to the other."""
    line = second - first
    distance = abs(line)
    cosine = (r1**2 + distance**2 - r2**2) / (2.0 * r1 * distance)
    return first + r1 * complex(cosine, math.sqrt(1.0 - cosine**2)) * line / distance


def unit_points(unit: Unit, crank_angle: float, arm_angle: float, press_angle: float) -> Points:
    """Pins, axles and hubs by name, (x, z) from the toolbar's centre of mass O [m], toolbar level.

    crank_angle α counter-clockwise from +x [rad]; arm_angle θ and press_angle ψ rear end up positive [rad].
    The linkage must close at these angles (`sim.mechanism.linkage.check_travel`).
    """
    links, depth, wheel = unit.main_links, unit.depth_linkage, unit.gauge_wheel
    rearward = complex(-math.cos(arm_angle), math.sin(arm_angle))
    upper_front = complex(*unit.toolbar.upper_pin)
    lower_front = upper_front - 1j * links.spacing
    upper_rear = upper_front + links.length * rearward
    crank_pivot, bell_pivot = upper_front + complex(*depth.crank_pivot), upper_rear + complex(*depth.bell_pivot)
    crank_line, bell_turn = cmath.exp(1j * crank_angle), cmath.exp(1j * depth.bell_angle)
    crank_pin = crank_pivot + depth.crank * crank_line
    rod_rear = _meet(bell_pivot, crank_pin, depth.bell_first, depth.rod)
    bell_end = bell_pivot + depth.bell_second * ((rod_rear - bell_pivot) / depth.bell_first) * bell_turn
    arm_pivot = upper_rear + complex(*wheel.arm_pivot)
    lug = _meet(arm_pivot, bell_end, wheel.lug, depth.turnbuckle)
    found = {
        "O": 0j,
        "U0": upper_front,
        "L0": lower_front,
        "U1": upper_rear,
        "L1": upper_rear - 1j * links.spacing,
        "crank_pivot": crank_pivot,
        "crank_pin": crank_pin,
        "actuator_base": upper_front + complex(*depth.actuator_base),
        "actuator_pin": crank_pivot + depth.actuator_arm * crank_line,
        "bell_pivot": bell_pivot,
        "rod_rear": rod_rear,
        "bell_end": bell_end,
        "arm_pivot": arm_pivot,
        "lug": lug,
        "gauge_axle": arm_pivot + wheel.arm_length / wheel.lug * (lug - arm_pivot),
        **_carried(unit, upper_rear, press_angle),
        "cylinder_frame": lower_front + complex(*unit.cylinder.frame),
        "cylinder_arm": lower_front + unit.cylinder.arm * rearward,
        "carrier_centre": upper_rear + complex(*unit.carrier.centre),
    }
    return {name: (place.real, place.imag) for name, place in found.items()}


def _carried(unit: Unit, upper_rear: complex, press_angle: float) -> dict[str, complex]:
    """Disc, boot and press wheel on a carrier whose upper rear pin lies at `upper_rear`."""
    press = unit.press_wheel
    pivot = upper_rear + complex(*press.pivot)
    return {
        "disc_hub": upper_rear + complex(*unit.disc.hub),
        "boot": upper_rear + complex(*unit.disc.boot),
        "press_pivot": pivot,
        "press_axle": pivot + press.arm_length * complex(-math.cos(press_angle), math.sin(press_angle)),
    }
