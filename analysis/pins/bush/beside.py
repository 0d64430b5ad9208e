"""Forces on the carrier that a run's pins imply, with where they act beside the plane of the main links.

Axes: x forward, z up, y to the left; toolbar axes. A force in plane (Fx, Fz) that acts y beside the plane turns about
the fore-aft axis with y·Fz and about the vertical axis with −y·Fx; a side force F at (x, z) with −z·F and x·F. These
two components, (about x, about z), are what is called a couple here, shape (2, n) [N m].
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sim.record import PINS, Run
from sim.unit import GRAVITY, Unit

Vector = NDArray[np.float64]


@dataclass(frozen=True)
class Side:
    """Side force of the soil on the disc's face, and where it acts."""

    force: Vector  # to the left positive, (n,) [N]
    x: Vector  # from the lower link's rear pin, (n,) [m]
    z: Vector
    drag: Vector  # couple of soil that turns the disc against its drag, about its own leaning axle, (2, n) [N m]


def turning(beside: float, force: Vector) -> Vector:
    """Couple (2, n) of a force (2, n) in a plane `beside` [m] that of the main links."""
    return np.stack([beside * force[1], -beside * force[0]])


def sideways(force: Vector, x: float | Vector, z: float | Vector) -> Vector:
    """Couple (2, n) of a side force (n,), to the left positive, at (x, z) [m]."""
    return np.stack([-z * force, x * force])


def pin_force(run: Run, name: str) -> Vector:
    """Force of a pin's first-named part on the second, (2, n) [N]."""
    return np.ascontiguousarray(run.pins[:, PINS.index(name), :].T)


def carrier_load(run: Run) -> Vector:
    """Mass of the carrier times its acceleration, gravity folded in, (2, n) [N].

    Up: the recorded acceleration of the hub; along and what pitch adds: second differences of the recorded angles.
    """
    links, carrier, hub = run.unit.main_links, run.unit.carrier, run.unit.disc.hub
    pitch, arm = run.series["pitch"], run.series["arm_angle"]
    upper_x, upper_z = run.unit.toolbar.upper_pin
    s, c = np.sin(pitch), np.cos(pitch)
    x = upper_x - links.length * np.cos(arm) + carrier.centre[0]
    z = upper_z + links.length * np.sin(arm) + carrier.centre[1]
    along = _second(c * x - s * z, run.step)
    from_hub = _second(s * (carrier.centre[0] - hub[0]) + c * (carrier.centre[1] - hub[1]), run.step)
    up = run.series["carrier_acceleration"] + GRAVITY + from_hub
    return carrier.mass * np.stack([c * along + s * up, c * up - s * along])


def _second(values: Vector, step: float) -> Vector:
    """Second derivative by differences; that next to them at both ends."""
    found = np.zeros_like(values)
    if values.size > 2:
        found[1:-1] = (values[2:] - 2.0 * values[1:-1] + values[:-2]) / (step * step)
        found[0], found[-1] = found[1], found[-2]
    return found


def disc_load(run: Run) -> Vector:
    """All that soil and stones do to disc and boot in plane, (2, n) [N]: what the carrier's own balance asks for."""
    ahead = pin_force(run, "main_upper_rear") + pin_force(run, "main_lower_rear")
    behind = pin_force(run, "bell_crank") + pin_force(run, "gauge_arm") + pin_force(run, "press_arm")
    return carrier_load(run) + behind - ahead


def side_of(run: Run) -> Side:
    """Side force at hub + (3c/8, −R + 3h/5) with c = √(2Rh − h²), h the depth cut to 0 … R."""
    disc, spacing = run.unit.disc, run.unit.main_links.spacing
    depth = np.clip(run.series["depth"], 0.0, disc.radius)
    x = 0.375 * np.sqrt(depth * (2.0 * disc.radius - depth))
    z = 0.6 * depth - disc.radius
    pitch = run.series["pitch"]
    way = 1.0 if disc.pushed == "left" else -1.0
    return Side(
        force=way * run.series["side_load"],
        x=disc.hub[0] + x + pitch * z,
        z=disc.hub[1] + spacing + z - pitch * x,
        drag=np.outer(drag_axis(run.unit), run.series["disc_vertical"] > 0.0),
    )


def drag_axis(unit: Unit) -> Vector:
    """Couple about x and about z of the drag of one blade's bearing and scraper [N m]; two blades hold each other."""
    disc = unit.disc
    way = 0.0 if disc.blades > 1 else 1.0 if disc.pushed == "left" else -1.0
    axle = (-np.sin(disc.sweep) * np.cos(disc.tilt), np.cos(disc.sweep) * np.sin(disc.tilt))
    return way * disc.drag_torque * np.array(axle)
