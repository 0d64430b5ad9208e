"""The unit as loose rigid bodies: masses, pivots, and how they are put together.

Nothing here comes from the closed forms of the compiled model: every body has its own frame at its centre of mass,
pivots are points on two bodies, and the depth linkage is closed by a root search over four body angles.
Angles are counter-clockwise from +x; local frames: links and press arm point from their rear end to their front
end, carrier and toolbar as drawn at level, crank, rod, turnbuckle and gauge arm from their first pin to the other,
the bell crank along its first arm.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import root

from sim.errors import LinkageError, RunError
from sim.unit import Unit

UPPER, LOWER, CARRIER, CRANK, ROD, BELL, BUCKLE, ARM, PRESS, TOOLBAR = range(10)
BODIES = ("upper link", "lower link", "carrier", "crank", "rod", "bell crank", "turnbuckle", "gauge arm", "press arm")
LEAST_INERTIA = 1e-6  # of a body [kg m²]; the smallest crank of LIGHTEST has 1.7e-6
LIGHTEST = 0.05  # a body below this would keep the iterations from settling [kg]

# pivots in the order of sim.record.PINS without the cylinder's two: (first body, second body)
PIVOTS = {
    "main_upper_front": (TOOLBAR, UPPER),
    "main_upper_rear": (UPPER, CARRIER),
    "main_lower_front": (TOOLBAR, LOWER),
    "main_lower_rear": (LOWER, CARRIER),
    "crank": (TOOLBAR, CRANK),
    "rod_front": (CRANK, ROD),
    "rod_rear": (ROD, BELL),
    "bell_crank": (CARRIER, BELL),
    "turnbuckle_front": (BELL, BUCKLE),
    "turnbuckle_rear": (BUCKLE, ARM),
    "gauge_arm": (CARRIER, ARM),
    "press_arm": (CARRIER, PRESS),
}


class Parts(NamedTuple):
    """Bodies and the points on them that matter; local coordinates from the centre of mass [m]."""

    mass: NDArray[np.float64]  # (9,) [kg]
    inertia: NDArray[np.float64]  # (9,) about the centre of mass [kg m²]
    first: NDArray[np.int64]  # (12,) first and second body of each pivot
    second: NDArray[np.int64]
    on_first: NDArray[np.float64]  # (12, 2) the pivot on either body
    on_second: NDArray[np.float64]
    strut_bar: NDArray[np.float64]  # (2,) depth actuator's pin on the toolbar
    strut_crank: NDArray[np.float64]  # (2,) and on the crank
    hub: NDArray[np.float64]  # disc's hub and boot on the carrier
    boot: NDArray[np.float64]
    axle: NDArray[np.float64]  # on the gauge arm
    press_axle: NDArray[np.float64]  # on the press arm
    cylinder_bar: NDArray[np.float64]  # cylinder's pins on toolbar and lower link
    cylinder_link: NDArray[np.float64]
    stop: NDArray[np.float64]  # where a travel stop meets the lower link


def parts(unit: Unit) -> Parts:
    """Bodies, pivots and points of a unit. Raises RunError where a body is too light for this engine."""
    k, c, link, arm, press = unit.main_links, unit.carrier, unit.depth_linkage, unit.gauge_wheel, unit.press_wheel
    mass = [k.mass, k.mass, c.mass, link.crank_mass, link.rod_mass, link.bell_mass, link.turnbuckle_mass,
            arm.arm_mass, press.arm_mass]  # fmt: skip
    light = [f"{name} {m:g} kg" for name, m in zip(BODIES, mass, strict=True) if m < LIGHTEST]
    if light:
        raise RunError(
            f"the rigid-body engine moves bodies with mass only; given {', '.join(light)}; allowed: from "
            f"{LIGHTEST} kg; try: a mass for these parts under [unit], or the compiled engine (rowbench run)"
        )
    inertia = [k.mass * k.length**2 / 12, k.mass * k.length**2 / 12, c.inertia, link.crank_mass * link.crank**2 / 12,
               link.rod_mass * link.rod**2 / 12, link.bell_inertia, link.turnbuckle_mass * link.turnbuckle**2 / 12,
               arm.arm_inertia, press.arm_inertia]  # fmt: skip
    free = [f"{name} {i:g} kg m²" for name, i in zip(BODIES, inertia, strict=True) if i < LEAST_INERTIA]
    if free:
        raise RunError(
            f"the rigid-body engine turns bodies with a moment of inertia only; given {', '.join(free)}; allowed: from "
            f"{LEAST_INERTIA:g} kg m²; try: one for these parts under [unit], or the compiled engine (rowbench run)"
        )
    points = _pivot_points(unit)
    bodies = np.array(list(PIVOTS.values()), dtype=np.int64)
    centre = np.array(c.centre)
    upper_pin = np.array(unit.toolbar.upper_pin)
    lower_pin = upper_pin - (0.0, k.spacing)
    return Parts(
        mass=np.array(mass),
        inertia=np.array(inertia),
        first=np.ascontiguousarray(bodies[:, 0]),
        second=np.ascontiguousarray(bodies[:, 1]),
        on_first=np.array([points[name][0] for name in PIVOTS]),
        on_second=np.array([points[name][1] for name in PIVOTS]),
        strut_bar=upper_pin + link.actuator_base,
        strut_crank=np.array([link.actuator_arm - 0.5 * link.crank, 0.0]),
        hub=np.array(unit.disc.hub) - centre,
        boot=np.array(unit.disc.boot) - centre,
        axle=np.array([arm.arm_length - arm.arm_centre, 0.0]),
        press_axle=np.array([press.arm_centre - press.arm_length, 0.0]),
        cylinder_bar=lower_pin + unit.cylinder.frame,
        cylinder_link=np.array([0.5 * k.length - unit.cylinder.arm, 0.0]),
        stop=np.array([0.5 * k.length - k.stop_arm, 0.0]),
    )


def _pivot_points(unit: Unit) -> dict[str, tuple[NDArray[np.float64], NDArray[np.float64]]]:
    """Each pivot's place on its first and on its second body."""
    k, link, arm, press = unit.main_links, unit.depth_linkage, unit.gauge_wheel, unit.press_wheel
    u0 = np.array(unit.toolbar.upper_pin)
    centre = np.array(unit.carrier.centre)
    down = np.array([0.0, -k.spacing])
    front, rear = np.array([0.5 * k.length, 0.0]), np.array([-0.5 * k.length, 0.0])
    bell = link.bell_centre * np.array([math.cos(link.bell_centre_angle), math.sin(link.bell_centre_angle)])
    second_arm = link.bell_second * np.array([math.cos(link.bell_angle), math.sin(link.bell_angle)])

    def along(x: float) -> NDArray[np.float64]:
        return np.array([x, 0.0])

    return {
        "main_upper_front": (u0, front),
        "main_upper_rear": (rear, -centre),
        "main_lower_front": (u0 + down, front),
        "main_lower_rear": (rear, down - centre),
        "crank": (u0 + link.crank_pivot, along(-0.5 * link.crank)),
        "rod_front": (along(0.5 * link.crank), along(-0.5 * link.rod)),
        "rod_rear": (along(0.5 * link.rod), along(link.bell_first) - bell),
        "bell_crank": (link.bell_pivot - centre, -bell),
        "turnbuckle_front": (second_arm - bell, along(-0.5 * link.turnbuckle)),
        "turnbuckle_rear": (along(0.5 * link.turnbuckle), along(arm.lug - arm.arm_centre)),
        "gauge_arm": (arm.arm_pivot - centre, along(-arm.arm_centre)),
        "press_arm": (press.pivot - centre, along(press.arm_centre)),
    }


def _turned(angle: float, point: NDArray[np.float64]) -> NDArray[np.float64]:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([c * point[0] - s * point[1], s * point[0] + c * point[1]])


def assemble(unit: Unit, crank_angle: float, arm_angle: float, press_angle: float) -> NDArray[np.float64]:
    """Poses (10, 3) of all bodies, x, z [m], angle [rad], toolbar level with its centre at the origin.

    The four angles of rod, bell crank, turnbuckle and gauge arm close two loops of vectors (root search); of the two
    ways to close each loop the one with the far end left of the line between the pivots is taken. Raises LinkageError
    where the search finds none.
    """
    link, arm = unit.depth_linkage, unit.gauge_wheel
    u0 = np.array(unit.toolbar.upper_pin)
    u1 = u0 + unit.main_links.length * np.array([-math.cos(arm_angle), math.sin(arm_angle)])
    tip = u0 + link.crank_pivot + _turned(crank_angle, np.array([link.crank, 0.0]))
    bell, pivot = u1 + link.bell_pivot, u1 + arm.arm_pivot

    def ends(angles: NDArray[np.float64]) -> tuple[NDArray[np.float64], ...]:
        _, turn, _, beta = angles
        first = bell + _turned(turn, np.array([link.bell_first, 0.0]))
        second = bell + _turned(turn + link.bell_angle, np.array([link.bell_second, 0.0]))
        return first, second, pivot + _turned(beta, np.array([arm.lug, 0.0]))

    def gap(angles: NDArray[np.float64]) -> NDArray[np.float64]:
        first, second, lug = ends(angles)
        rod = tip + _turned(angles[0], np.array([link.rod, 0.0])) - first
        buckle = second + _turned(angles[2], np.array([link.turnbuckle, 0.0])) - lug
        return np.concatenate([rod, buckle])

    for turn in crank_angle + np.radians([0.0, 20.0, -20.0, 40.0, -40.0]):
        for beta in np.radians(np.arange(-180.0, 180.0, 30.0)):
            first, second, lug = ends(np.array([0.0, turn, 0.0, beta]))
            guess = [math.atan2(*(first - tip)[::-1]), turn, math.atan2(*(lug - second)[::-1]), beta]
            found = root(gap, guess, tol=1e-14)
            if np.abs(gap(found.x)).max() > 1e-10:
                continue
            first, second, lug = ends(found.x)
            if _left(bell, tip, first) and _left(pivot, second, lug):
                return _placed(unit, crank_angle, arm_angle, press_angle, found.x)
    raise LinkageError(
        "the depth linkage cannot be put together at this crank and arm angle; allowed: lengths that meet; try: "
        "the lengths under [unit.depth_linkage] nearer to the defaults"
    )


def _left(start: NDArray[np.float64], end: NDArray[np.float64], point: NDArray[np.float64]) -> bool:
    """True where `point` lies left of the line from `start` to `end`."""
    a, b = end - start, point - start
    return bool(a[0] * b[1] - a[1] * b[0] > 0.0)


def _placed(
    unit: Unit, crank_angle: float, arm_angle: float, press_angle: float, angles: NDArray[np.float64]
) -> NDArray[np.float64]:
    """Poses from body angles: walk from the toolbar over the pivots, each body hung on one already placed."""
    points = _pivot_points(unit)
    rod, bell, buckle, beta = angles
    turn = {UPPER: -arm_angle, LOWER: -arm_angle, CARRIER: 0.0, CRANK: crank_angle, ROD: rod, BELL: bell,
            BUCKLE: buckle, ARM: beta, PRESS: -press_angle}  # fmt: skip
    pose = np.zeros((10, 3))
    for name in ("main_upper_front", "main_lower_front", "main_upper_rear", "crank", "rod_front", "bell_crank",
                 "turnbuckle_front", "gauge_arm", "press_arm"):  # fmt: skip
        a, b = PIVOTS[name]
        here = pose[a, :2] + _turned(pose[a, 2], points[name][0])
        pose[b, 2] = turn[b]
        pose[b, :2] = here - _turned(turn[b], points[name][1])
    return pose
