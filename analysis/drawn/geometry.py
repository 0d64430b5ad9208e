"""What the scripts of a page need to draw the unit: lengths, points, and how much room it takes."""

from __future__ import annotations

from typing import Any

from analysis.present.unit_points import unit_points
from sim.setting import DepthSetting
from sim.unit import Unit


def room(unit: Unit, setting: DepthSetting) -> dict[str, float]:
    """Height of the toolbar over the ground at a setting, and of the unit's highest point over the toolbar [m]."""
    points = unit_points(unit, setting.crank_angle, unit.main_links.angle_nominal, setting.press_angle)
    return {"toolbar_height": setting.toolbar_height, "above": max(z for _, z in points.values())}


def geometry(unit: Unit) -> dict[str, Any]:
    """Lengths and points that the script closes the linkage with [m, rad]."""
    links, depth, wheel, press = unit.main_links, unit.depth_linkage, unit.gauge_wheel, unit.press_wheel
    return {
        "upper_pin": unit.toolbar.upper_pin, "length": links.length, "spacing": links.spacing,
        "crank_pivot": depth.crank_pivot, "crank": depth.crank, "rod": depth.rod, "bell_pivot": depth.bell_pivot,
        "bell_first": depth.bell_first, "bell_second": depth.bell_second, "bell_angle": depth.bell_angle,
        "turnbuckle": depth.turnbuckle, "actuator_base": depth.actuator_base, "actuator_arm": depth.actuator_arm,
        "arm_pivot": wheel.arm_pivot, "arm_length": wheel.arm_length, "lug": wheel.lug,
        "gauge_radius": wheel.radius, "disc_hub": unit.disc.hub, "disc_radius": unit.disc.radius,
        "press_pivot": press.pivot, "press_length": press.arm_length, "press_radius": press.radius,
        "cylinder_frame": unit.cylinder.frame, "cylinder_arm": unit.cylinder.arm,
    }  # fmt: skip
