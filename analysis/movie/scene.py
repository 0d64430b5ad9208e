"""The unit in ground axes at one step of a run: points, bodies and forces, ready to be drawn."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from analysis.present.unit_points import Points, unit_points
from sim.laws.hard_profile import hard_profile
from sim.record import PINS, Run

# bars by name: (first point, second point)
LINKS = (
    ("main link", "U0", "U1"), ("main link", "L0", "L1"), ("depth linkage", "crank_pivot", "crank_pin"),
    ("depth linkage", "crank_pin", "rod_rear"), ("depth linkage", "bell_pivot", "rod_rear"),
    ("depth linkage", "bell_pivot", "bell_end"), ("depth linkage", "bell_end", "lug"),
    ("depth linkage", "actuator_base", "actuator_pin"), ("wheel arm", "arm_pivot", "gauge_axle"),
    ("wheel arm", "press_pivot", "press_axle"), ("cylinder", "cylinder_frame", "cylinder_arm"),
)  # fmt: skip
CARRIER = ("U1", "L1", "arm_pivot", "disc_hub", "press_pivot")
# pins whose force is drawn, and the point where it acts
PIN_POINTS = {
    "main_upper_front": "U0",
    "main_lower_front": "L0",
    "main_upper_rear": "U1",
    "main_lower_rear": "L1",
    "cylinder_arm": "cylinder_arm",
    "gauge_arm": "arm_pivot",
}


class Force(NamedTuple):
    """A force (x forward, z up) [N] at a point (x, z) [m] in ground axes; kind: "wheel", "disc", "stone" or "pin"."""

    kind: str
    name: str
    at: tuple[float, float]
    force: tuple[float, float]


@dataclass(frozen=True)
class Scene:
    """One instant; x along the track's own axis, z height [m]."""

    step: int
    points: Points
    forces: tuple[Force, ...]
    wheel_off: bool
    depth: float  # [m]


def turned(place: tuple[float, float], angle: float) -> tuple[float, float]:
    """A vector turned counter-clockwise by an angle [rad]."""
    c, s = math.cos(angle), math.sin(angle)
    return c * place[0] - s * place[1], s * place[0] + c * place[1]


def stone_slopes(run: Run, steps: Sequence[int]) -> dict[int, float]:
    """Slope of the hard profile under the disc at those of the steps in which a stone pushes on it."""
    pushed = [step for step in steps if run.series["rock_force"][step] > 0.0]
    if not pushed:
        return {}
    track = run.track
    hard = hard_profile(track.ground, track.stone_top, track.stone_id, track.dx, run.unit.disc.radius)[0]
    slope = np.gradient(hard, track.dx)
    return {step: float(np.interp(run.series["distance"][step], track.x, slope)) for step in pushed}


def scene(run: Run, step: int, slopes: Mapping[int, float] | None = None) -> Scene:
    """The unit at a step of a run, with the forces of ground and soil on it and those in its main pins.

    slopes: as from `stone_slopes`, so that the push of a stone points the right way; upright where it is left out.
    """
    s = run.series
    pitch = float(s["pitch"][step])
    local = unit_points(run.unit, run.setting.crank_angle, float(s["arm_angle"][step]), float(s["press_angle"][step]))
    flat = {name: turned(place, pitch) for name, place in local.items()}
    x = float(s["distance"][step]) - flat["disc_hub"][0]  # of the toolbar's O: the disc's lowest point is known
    z = float(s["toolbar_height"][step])
    points = {name: (x + dx, z + dz) for name, (dx, dz) in flat.items()}
    load = float(s["gauge_load"][step])
    return Scene(
        step,
        points,
        tuple(_forces(run, step, points, pitch, (slopes or {}).get(step, 0.0))),
        load <= 0.0,
        float(s["depth"][step]),
    )


def scenes_of(run: Run, steps: Sequence[int]) -> list[Scene]:
    """The unit at steps of a run, stones pushing the right way."""
    slopes = stone_slopes(run, steps)
    return [scene(run, step, slopes) for step in steps]


def _forces(run: Run, step: int, points: Points, pitch: float, slope: float) -> list[Force]:
    s, unit = run.series, run.unit
    found = []
    for name, axle, radius in (
        ("gauge_load", "gauge_axle", unit.gauge_wheel.radius),
        ("press_load", "press_axle", unit.press_wheel.radius),
    ):
        found.append(Force("wheel", name, _below(points[axle], radius), (0.0, float(s[name][step]))))
    bottom = _below(points["disc_hub"], unit.disc.radius)
    soil = (float(s["disc_draught"][step]), float(s["disc_vertical"][step]))
    found.append(Force("disc", "disc", bottom, soil))
    rock = float(s["rock_force"][step])
    if rock > 0.0:
        upright = rock / math.hypot(1.0, slope)
        found.append(Force("stone", "rock", bottom, (-upright * slope, upright)))
    for name, place in PIN_POINTS.items():
        fx, fz = (float(v) for v in run.pins[step, PINS.index(name)])
        found.append(Force("pin", name, points[place], turned((fx, fz), pitch)))
    return found


def _below(centre: tuple[float, float], radius: float) -> tuple[float, float]:
    return centre[0], centre[1] - radius


def largest_forces(run: Run, first: int, last: int) -> float:
    """Largest force that a drawing of these steps shows [N]; last not included."""
    s = run.series
    pins = run.pins[first:last, [PINS.index(name) for name in PIN_POINTS]]
    singles = [float(s[name][first:last].max()) for name in ("gauge_load", "press_load", "rock_force")]
    disc = float(np.hypot(s["disc_vertical"][first:last], s["disc_draught"][first:last]).max())
    return max(disc, float(np.hypot(pins[:, :, 0], pins[:, :, 1]).max()), *singles)


def toolbar_axles(run: Run, shown: Scene) -> tuple[tuple[float, float], ...]:
    """Places of the toolbar's axles, rear and front, in ground axes [m]; none where it is held level on a bench.

    An axle stands a wheel's radius over flat ground; a circle that dips into the ground is a tyre that is pressed.
    """
    if run.settings.toolbar != "carried":
        return ()
    bar, (x, z) = run.unit.toolbar, shown.points["O"]
    up = bar.wheel_radius - run.setting.toolbar_height
    pitch = float(run.series["pitch"][shown.step])
    turns = (turned((ahead, up), pitch) for ahead in (-bar.axle_rear, bar.axle_front))
    return tuple((x + dx, z + dz) for dx, dz in turns)
