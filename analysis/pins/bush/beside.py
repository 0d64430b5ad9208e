"""Forces on the carrier that a run's pins imply, with where they act beside the plane of the main links.

Axes: x forward, z up, y to the left; toolbar axes. A force in plane (Fx, Fz) that acts y beside the plane turns about
the fore-aft axis with y·Fz and about the vertical axis with −y·Fx; a side force F at (x, z) with −z·F and x·F. These
two components, (about x, about z), are what is called a couple here, shape (2, n) [N m].
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.pins.bush.beside_loop import Carried, disc_loads
from sim.record import PINS, Run
from sim.unit import GRAVITY, Unit

Vector = NDArray[np.float64]


@dataclass(frozen=True)
class Side:
    """Side force of the soil on the disc's face, and where it acts."""

    force: Vector  # to the left positive, (n,) [N]
    x: Vector  # from the lower link's rear pin, (n,) [m]
    z: Vector
    drag: Vector  # couple of soil that turns the disc against its drag, about its own leaning axle, (2,) [N m]
    cuts: Vector  # above 0 where the disc is in the soil, (n,)


def turning(beside: float, force: Vector) -> Vector:
    """Couple (2, n) of a force (2, n) in a plane `beside` [m] that of the main links."""
    return np.stack([beside * force[1], -beside * force[0]])


def sideways(force: Vector, x: float | Vector, z: float | Vector) -> Vector:
    """Couple (2, n) of a side force (n,), to the left positive, at (x, z) [m]."""
    return np.stack([-z * force, x * force])


def pin_force(run: Run, name: str) -> Vector:
    """Force of a pin's first-named part on the second, (2, n) [N]."""
    return np.ascontiguousarray(run.pins[:, PINS.index(name), :].T)


AHEAD = tuple(PINS.index(name) for name in ("main_upper_rear", "main_lower_rear"))  # on the carrier
BEHIND = tuple(PINS.index(name) for name in ("bell_crank", "gauge_arm", "press_arm"))  # of the carrier on the others


def disc_load(run: Run) -> Vector:
    """All that soil and stones do to disc and boot in plane, (2, n) [N]: what the carrier's own balance asks for."""
    return carried_by_disc(run)[0]


def carried_by_disc(run: Run) -> tuple[Vector, Vector]:
    """The same, and the links' rear pins from the front ones, (2, n) [m]."""
    carrier, hub, (upper_x, upper_z) = run.unit.carrier, run.unit.disc.hub, run.unit.toolbar.upper_pin
    carried = Carried(
        carrier.mass, *carrier.centre, carrier.centre[0] - hub[0], carrier.centre[1] - hub[1], upper_x, upper_z,
        run.unit.main_links.length, GRAVITY, run.step,
    )  # fmt: skip
    found, rear, series = np.empty((2, run.pins.shape[0])), np.empty((2, run.pins.shape[0])), run.series
    disc_loads(
        Carried(*map(float, carried)), series["pitch"], series["arm_angle"], series["carrier_acceleration"],
        run.pins.reshape(-1), len(PINS), AHEAD, BEHIND, found.reshape(-1), *rear,
    )  # fmt: skip
    return found, rear


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
        drag=drag_axis(run.unit),
        cuts=run.series["disc_vertical"],
    )


def drag_axis(unit: Unit) -> Vector:
    """Couple about x and about z of the drag of one blade's bearing and scraper [N m]; two blades hold each other."""
    disc = unit.disc
    way = 0.0 if disc.blades > 1 else 1.0 if disc.pushed == "left" else -1.0
    axle = (-np.sin(disc.sweep) * np.cos(disc.tilt), np.cos(disc.sweep) * np.sin(disc.tilt))
    return way * disc.drag_torque * np.array(axle)
