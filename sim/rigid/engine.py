"""The rigid-body engine (pymunk) around the loose bodies: its space, one step, and what is read out of it.

`sim.rigid.simulate` says how the toolbar and the crank are imposed and how time is counted.
"""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import pymunk
import pymunk.batch
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel_apart
from sim.ground_tables import GroundTables
from sim.laws.gas import internal_energy
from sim.record import CHANNEL, PINS, SUM, Sums
from sim.rigid.bodies import CARRIER, CRANK, TOOLBAR, Parts
from sim.rigid.laws import Laws
from sim.rigid.loads import loads, point_at
from sim.rigid.reactions import moving_energy, reactions, toolbar_power, widest_gap
from sim.run import Prepared
from sim.unit import GRAVITY

CYLINDER = PINS.index("cylinder_frame")  # its two pins are no pivots here
ACTUATOR = 2 * len(PINS)  # place of the actuator's force behind all pins
CORRECTION = 0.2  # share of a pivot's gap that one step takes away
BODY_STATE = (
    pymunk.batch.BodyFields.POSITION
    | pymunk.batch.BodyFields.ANGLE
    | pymunk.batch.BodyFields.VELOCITY
    | pymunk.batch.BodyFields.ANGULAR_VELOCITY
)
BODY_LOADS = pymunk.batch.BodyFields.FORCE | pymunk.batch.BodyFields.TORQUE


class Scene(NamedTuple):
    """The engine's objects."""

    space: pymunk.Space
    toolbar: pymunk.Body
    pivots: list[pymunk.Constraint]  # twelve, in the order of sim.rigid.bodies.PIVOTS


def scene_of(part: Parts, pose: NDArray[np.float64], speed: float, step: float) -> Scene:
    """The engine's space with all bodies in the order of sim.rigid.bodies, the toolbar last."""
    space = pymunk.Space()
    space.gravity = (0.0, -GRAVITY)
    bodies = [pymunk.Body(float(m), float(i)) for m, i in zip(part.mass, part.inertia, strict=True)]
    toolbar = pymunk.Body(body_type=pymunk.Body.KINEMATIC)
    bodies.append(toolbar)
    for body, at in zip(bodies, pose, strict=True):
        body.position = (float(at[0]), float(at[1]))
        body.angle = float(at[2])
        body.velocity = (speed, 0.0)
    pivots: list[pymunk.Constraint] = []
    for j in range(12):
        a, b = bodies[part.first[j]], bodies[part.second[j]]
        pivots.append(pymunk.PivotJoint(a, b, tuple(part.on_first[j]), tuple(part.on_second[j])))
    strut = pymunk.PinJoint(toolbar, bodies[CRANK], tuple(part.strut_bar), tuple(part.strut_crank))
    for joint in (*pivots, strut):
        joint.error_bias = max((1.0 - CORRECTION) ** (1.0 / step), 1e-300)
    space.add(*bodies, *pivots, strut)
    return Scene(space, toolbar, pivots)


@kernel_apart
def _before(
    c, m, gas, part, now, last_vel, toolbar, step, ground, stone, x0, inv, slow, pose, vel, force, row, lost
):  # fmt: skip
    """Predict places and velocities at the next instant and evaluate all forces there.

    now (10, 6): the engine's state; last_vel (10, 3): velocities one step older; toolbar (6,): x, z, angle and their
    rates at the next instant. Fills pose, vel (10, 3), force, row, lost; returns what `loads` does.
    """
    for i in range(9):
        for k in range(3):
            pose[i, k] = now[i, k] + step * now[i, 3 + k]
            vel[i, k] = 1.5 * now[i, 3 + k] - 0.5 * last_vel[i, k]
    for k in range(3):
        pose[TOOLBAR, k] = toolbar[k]
        vel[TOOLBAR, k] = toolbar[3 + k]
    return loads(c, m, gas, part, pose, vel, ground, stone, x0, inv, step, slow, force, row, lost)


@kernel_apart
def _after(part, now, old, toolbar, step, pose, force, told, cyl_x, cyl_z, row, pins, worst):
    """Reactions and energy of an instant from the engine's velocities before (`old`) and after its step (`now`).

    told (12,): the engine's own sizes of the pivots' forces. Fills the hub's acceleration in row, pins (29,) in
    toolbar axes, and raises worst (3,); returns the toolbar's power and the kinetic and potential energy.
    """
    change = now[:, 3:] - old
    mean = 0.5 * (now[:, 3:] + old)
    found, residual = reactions(part, pose, change, force, step)
    worst[0] = max(worst[0], residual)
    worst[2] = max(worst[2], widest_gap(part, pose))
    c, s = math.cos(toolbar[2]), math.sin(toolbar[2])
    for j in range(12):
        at = j if j < CYLINDER else j + 2
        fx, fz = found[2 * j], found[2 * j + 1]
        pins[2 * at] = c * fx + s * fz
        pins[2 * at + 1] = c * fz - s * fx
        worst[1] = max(worst[1], abs(math.hypot(fx, fz) - told[j]))
    for at in (CYLINDER, CYLINDER + 1):
        pins[2 * at] = c * cyl_x + s * cyl_z
        pins[2 * at + 1] = c * cyl_z - s * cyl_x
    pins[ACTUATOR] = found[24]
    # acceleration of the carrier's hub: a + ω′ × r − ω² r
    _, _, _, _, rx, rz = point_at(pose, mean, CARRIER, part.hub)
    lift = change[CARRIER, 1] / step + rx * change[CARRIER, 2] / step
    row[CHANNEL.carrier_acceleration] = lift - mean[CARRIER, 2] ** 2 * rz
    power = toolbar_power(part, pose, found, force, toolbar[3], toolbar[4], toolbar[5])
    return power, moving_energy(part, pose, mean)


class Engine:
    """Steps the engine's space along the toolbar's states; keeps what one step hands to the next."""

    def __init__(
        self,
        ready: Prepared,
        constants: Laws,
        part: Parts,
        scene: Scene,
        tables: GroundTables,
        slow: NDArray[np.float64],
        step: float,
        full_gas: float,
    ) -> None:
        self.ready, self.laws, self.part, self.scene = ready, constants, part, scene
        self.tables, self.slow, self.step, self.full_gas = tables, slow, step, full_gas
        self.pose, self.vel, self.force = np.zeros((10, 3)), np.zeros((10, 3)), np.zeros((10, 3))
        self.lost = np.zeros(len(Sums._fields))
        self.get, self.put = pymunk.batch.Buffer(), pymunk.batch.Buffer()
        self.put.set_float_buf(self.force)
        self.now = self._read().copy()
        self.old = self.now[:, 3:].copy()
        self.worst = np.zeros(3)

    def _read(self) -> NDArray[np.float64]:
        self.get.clear()
        pymunk.batch.get_space_bodies(self.scene.space, BODY_STATE, self.get)
        return np.frombuffer(self.get.float_buf()).reshape(10, 6)

    def evaluate(self, toolbar: NDArray[np.float64], step: float, row: NDArray[np.float64]) -> tuple:
        """Forces at the instant that a step reaches; fills the row's channels."""
        t, ready = self.tables, self.ready
        return _before(
            self.laws, ready.model, ready.law, self.part, self.now, self.old, toolbar, step, t.table, t.stone, t.x0,
            1.0 / t.dx, self.slow, self.pose, self.vel, self.force, row, self.lost,
        )  # fmt: skip

    def advance(
        self,
        toolbar: NDArray[np.float64],
        chord: NDArray[np.float64],
        row: NDArray[np.float64],
        pins: NDArray[np.float64],
    ) -> float:
        """One step to the instant of `toolbar`, whose row, pins and powers are filled → stored energy [J]."""
        held, cyl_x, cyl_z = self.evaluate(toolbar, self.step, row)
        self.old = self.now[:, 3:].copy()
        bar, space = self.scene.toolbar, self.scene.space
        behind = toolbar[:3] - self.step * chord
        bar.position, bar.angle = (behind[0], behind[1]), behind[2]
        bar.velocity, bar.angular_velocity = (chord[0], chord[1]), chord[2]
        pymunk.batch.set_space_bodies(space, BODY_LOADS, self.put)
        space.step(self.step)
        self.now = self._read()
        told = np.array([c.impulse for c in self.scene.pivots]) / self.step
        power, moving = _after(
            self.part, self.now, self.old, toolbar, self.step, self.pose, self.force, told, cyl_x, cyl_z, row, pins,
            self.worst,
        )  # fmt: skip
        mass = self.ready.gas.mass
        volume = min(row[CHANNEL.gas_volume], self.full_gas)
        gas = mass * internal_energy(mass / volume, row[CHANNEL.gas_temperature], self.ready.law)
        self.lost[SUM.work], self.lost[SUM.traffic] = power, abs(power)
        return held + moving + gas
