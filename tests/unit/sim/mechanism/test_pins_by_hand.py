"""All 14 pins on flat reference ground against statics written out body by body.

Nine free bodies, three equations each, 27 unknowns: twelve pin forces (the cylinder's two are known from its
pressure), the actuator, the loads of both wheels. The numbers are the default unit's, typed in again; only the
crank angle and the press arm's angle come from the depth setting. The loads of the wheels that statics ask for
must then be those of tyre and soil at the wheels' heights, which closes the circle.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from every import every

from sim.record import PINS
from sim.unit import DepthLinkage, Settings, Unit

G = 9.80665
DEPTH, SPEED, PRESSURE, STRENGTH = 0.040, 8.0, 40e5, 1.2e6


def from_point(origin: np.ndarray, x: float, z: float) -> np.ndarray:
    return origin + np.array([x, z])


# from U0, x forward, z up, arm level
U0, L0, U1, L1 = np.array([0.0, 0.0]), np.array([0.0, -0.25]), np.array([-0.55, 0.0]), np.array([-0.55, -0.25])
HUB, BOOT = from_point(U1, -0.20, -0.55), from_point(U1, -0.27, -0.78)
ARM, PRESS = from_point(U1, 0.02, -0.48), from_point(U1, -0.35, -0.55)
CARRIER = from_point(U1, -0.12, -0.35)
CYLINDER_FRAME, CYLINDER_ARM = from_point(L0, -0.05, 0.43), from_point(L0, -0.26, 0.0)
ACTUATOR_BASE = from_point(U0, 0.40, 0.05)

UNKNOWNS = [
    "main_upper_front", "main_upper_rear", "main_lower_front", "main_lower_rear", "crank", "rod_front", "rod_rear",
    "bell_crank", "turnbuckle_front", "turnbuckle_rear", "gauge_arm", "press_arm",
]  # fmt: skip
COLUMN = {name: 2 * i for i, name in enumerate(UNKNOWNS)}
ACTUATOR, GAUGE, PRESS_LOAD = 24, 25, 26


def at(angle: float) -> np.ndarray:
    return np.array([math.cos(angle), math.sin(angle)])


class Statics:
    """Rows Σ = 0 of free bodies, gathered into a linear system A·x + b = 0."""

    def __init__(self):
        self.a = np.zeros((27, 27))
        self.b = np.zeros(27)
        self.row = 0

    def body(self, about, *, pins=(), known=(), line=(), couple=0.0):
        """One body: pins (name, sign, point), known forces (force, point), lines (column, direction, point)."""
        r = self.row
        for name, sign, point in pins:
            c, (x, z) = COLUMN[name], point - about
            self.a[r, c] += sign
            self.a[r + 1, c + 1] += sign
            self.a[r + 2, c] -= sign * z
            self.a[r + 2, c + 1] += sign * x
        for column, direction, point in line:
            x, z = point - about
            self.a[r : r + 2, column] += direction
            self.a[r + 2, column] += x * direction[1] - z * direction[0]
        for force, point in known:
            x, z = point - about
            self.b[r : r + 2] += force
            self.b[r + 2] += x * force[1] - z * force[0]
        self.b[r + 2] += couple
        self.row += 3


def weight(mass: float) -> np.ndarray:
    return np.array([0.0, -mass * G])


def soil_forces():
    """Disc and boot in level motion at the set depth."""
    f_v = 1.0 + 2.7 / 55.0 * SPEED
    chord = math.sqrt(2 * 0.28 * DEPTH - DEPTH**2)
    tilt, sweep = math.radians(10), math.radians(5)
    face = 0.04 * STRENGTH * f_v * 2 / 3 * chord * DEPTH
    up = STRENGTH * 0.005 * f_v * chord + face * math.sin(tilt) * math.cos(sweep)
    back = STRENGTH * 0.005 * f_v * DEPTH + face * (math.sin(sweep) * math.cos(tilt) + 0.3)
    return np.array([-back, up]), np.array([-3000.0 * DEPTH, 2000.0 * DEPTH])


def geometry(alpha: float, psi: float):
    """Pins of the depth linkage and the wheels' axles."""
    crank = U0 + 0.12 * at(alpha)
    bell_first = U1 + 0.12 * at(alpha)  # the rod is as long as the main links: a parallelogram
    bell_second = U1 + 0.12 * at(alpha + math.pi / 2)
    to = bell_second - ARM
    span = math.hypot(*to)
    gamma = math.acos((0.15**2 + span**2 - 0.525**2) / (2 * 0.15 * span))
    beta = math.atan2(to[1], to[0]) + gamma
    press = PRESS + 0.35 * np.array([-math.cos(psi), math.sin(psi)])
    return crank, bell_first, bell_second, beta, press


def solve(alpha: float, psi: float):
    """Pins by name, actuator, gauge and press wheel load."""
    crank, bell_first, bell_second, beta, press_axle = geometry(alpha, psi)
    lug, axle = ARM + 0.15 * at(beta), ARM + 0.30 * at(beta)
    disc, boot = soil_forces()
    push = CYLINDER_ARM - CYLINDER_FRAME
    cylinder = PRESSURE * math.pi / 4 * 0.032**2 * push / math.hypot(*push)
    spring = 70.0 + 150.0 * (psi - math.radians(-16))
    pin = U0 + 0.10 * at(alpha)
    along = (pin - ACTUATOR_BASE) / math.hypot(*(pin - ACTUATOR_BASE))
    area = 0.10 * 0.40 * (1 + 5 * 0.2) / (1 + 3 * 0.10 / 0.40)
    load, x = 1000.0, np.zeros(27)
    for _ in range(60):
        rolling = 0.04 + load / (STRENGTH * area)
        s = Statics()
        # upper link
        s.body(U0, pins=[("main_upper_front", 1, U0), ("main_upper_rear", -1, U1)], known=[(weight(10), (U0 + U1) / 2)])
        # lower link with the cylinder's push
        s.body(
            L0, pins=[("main_lower_front", 1, L0), ("main_lower_rear", -1, L1)],
            known=[(weight(10), (L0 + L1) / 2), (cylinder, CYLINDER_ARM)],
        )  # fmt: skip
        # carrier with disc and boot; the press arm's spring turns it clockwise
        s.body(
            U1,
            pins=[("main_upper_rear", 1, U1), ("main_lower_rear", 1, L1), ("bell_crank", -1, U1),
                  ("gauge_arm", -1, ARM), ("press_arm", -1, PRESS)],
            known=[(weight(95), CARRIER), (disc, HUB), (boot, BOOT)], couple=-spring,
        )  # fmt: skip
        # crank, held by the actuator
        s.body(
            U0, pins=[("crank", 1, U0), ("rod_front", -1, crank)], known=[(weight(1.5), (U0 + crank) / 2)],
            line=[(ACTUATOR, along, pin)],
        )  # fmt: skip
        # rod
        s.body(
            crank, pins=[("rod_front", 1, crank), ("rod_rear", -1, bell_first)],
            known=[(weight(2.0), (crank + bell_first) / 2)],
        )  # fmt: skip
        # bell crank
        s.body(
            U1, pins=[("rod_rear", 1, bell_first), ("bell_crank", 1, U1), ("turnbuckle_front", -1, bell_second)],
            known=[(weight(2.0), U1 + 0.03 * at(alpha + math.pi / 4))],
        )  # fmt: skip
        # turnbuckle
        s.body(
            bell_second, pins=[("turnbuckle_front", 1, bell_second), ("turnbuckle_rear", -1, lug)],
            known=[(weight(1.2), (bell_second + lug) / 2)],
        )  # fmt: skip
        # gauge arm on its wheel
        s.body(
            ARM, pins=[("turnbuckle_rear", 1, lug), ("gauge_arm", 1, ARM)],
            known=[(weight(14), ARM + 0.25 * at(beta))], line=[(GAUGE, np.array([-rolling, 1.0]), axle)],
        )  # fmt: skip
        # press arm on its wheel; its spring turns it counter-clockwise, rear end down
        s.body(
            PRESS, pins=[("press_arm", 1, PRESS)],
            known=[(weight(9), PRESS + 0.28 * np.array([-math.cos(psi), math.sin(psi)]))],
            line=[(PRESS_LOAD, np.array([-0.08, 1.0]), press_axle)], couple=spring,
        )  # fmt: skip
        x = np.linalg.solve(s.a, -s.b)
        load = x[GAUGE]
    found = {name: x[c : c + 2] for name, c in COLUMN.items()}
    found["cylinder_frame"] = found["cylinder_arm"] = cylinder
    return found, x[ACTUATOR], x[GAUGE], x[PRESS_LOAD]


@pytest.fixture(scope="module", params=["carried", "level"])
def run(request, cross):
    return cross("flat", Settings(toolbar=request.param))


def test_every_pin_equals_the_hand_calculation(run):
    found, actuator, _, _ = solve(run.setting.crank_angle, run.setting.press_angle)
    assert set(found) == set(PINS)
    for i, name in enumerate(PINS):
        for sample in (0, -1):
            assert run.pins[sample, i] == pytest.approx(found[name], abs=1e-6), name
    assert run.actuator[-1] == pytest.approx(actuator, abs=1e-6)


def test_wheel_loads_are_those_of_tyre_and_soil(run):
    """Statics give the loads; K s^m and k δ at the wheels' heights must give the same."""
    _, _, gauge, press = solve(run.setting.crank_angle, run.setting.press_angle)
    _, _, _, beta, press_axle = geometry(run.setting.crank_angle, run.setting.press_angle)
    ground = HUB[1] - 0.28 + DEPTH

    def load(squash: float, width: float, radius: float, stiffness: float) -> float:
        constant = (3 - 0.6) / 3 * (40e3 + width * 5e6) * math.sqrt(2 * radius)
        low, high = 0.0, stiffness * squash
        for _ in range(100):
            mid = 0.5 * (low + high)
            low, high = (mid, high) if mid / stiffness + (mid / constant) ** (1 / 1.1) < squash else (low, mid)
        return low

    axle = ARM + 0.30 * at(beta)
    assert gauge == pytest.approx(load(ground - (axle[1] - 0.20), 0.10, 0.20, 200e3), rel=1e-9)
    assert press == pytest.approx(load(ground - (press_axle[1] - 0.15), 0.05, 0.15, 120e3), rel=1e-9)
    assert run.series["gauge_load"] == pytest.approx(gauge, rel=1e-9)
    assert run.series["press_load"] == pytest.approx(press, rel=1e-9)


def test_soil_forces_and_depth_by_hand(run):
    disc, boot = soil_forces()
    assert run.series["disc_vertical"] == pytest.approx(disc[1], rel=1e-9)
    assert run.series["disc_draught"] == pytest.approx(disc[0], rel=1e-9)
    assert np.abs(run.series["depth"] - DEPTH).max() < 1e-9
    assert tuple(boot) == pytest.approx((-120.0, 80.0))


CROOKED = replace(
    Unit(),
    depth_linkage=DepthLinkage(
        crank_pivot=(0.03, 0.03), bell_pivot=(-0.02, 0.01), rod=0.56, bell_first=0.10, turnbuckle=0.520
    ),
)


@every("unit", [Unit(), CROOKED], ids=["true", "crooked"])
@every("track", ["class D", "stony", "waves", "drop"])
def test_left_over_equations_close_on_any_ground(cross, track, unit):
    """Upper link's moment, press arm's moment and the toolbar's power: to rounding of 10–50 kN pins."""
    run = cross(track, Settings(speed=10 / 3.6), unit)
    assert run.pin_residuals["upper_link_moment_N_m"] < 1e-9 * run.pin_load("main_lower_front").max()
    assert run.pin_residuals["press_arm_moment_N_m"] < 1e-9 * run.pin_load("main_lower_front").max()
    assert run.pin_residuals["toolbar_power_W"] < 1e-9 * run.pin_load("main_lower_front").max() * run.settings.speed
