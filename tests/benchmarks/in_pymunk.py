"""The bare mechanism in pymunk: three bodies, four pivots, impulses by iteration; forces from a compiled law.

The engine moves places before it solves for velocities, so forces are evaluated at the place it is about to reach,
x + v·Δt; a pivot's impulse over Δt then is its load at that instant. The unit is put together at rest and driven on
the spot for a while before t = 0, so that the impulses it starts from are those of rest.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pymunk
import pymunk.batch
from numba import njit
from numpy.typing import NDArray

from sim.arithmetic.compiled import ARITHMETIC
from sim.unit import GRAVITY

from .bare import Bare, Crossing, gas_force, rest, steps_of, wheel_force

STATE = (
    pymunk.batch.BodyFields.POSITION
    | pymunk.batch.BodyFields.ANGLE
    | pymunk.batch.BodyFields.VELOCITY
    | pymunk.batch.BodyFields.ANGULAR_VELOCITY
)
LOADS = pymunk.batch.BodyFields.FORCE | pymunk.batch.BodyFields.TORQUE
SETTLE = 0.3  # [s]


@njit(cache=True, **ARITHMETIC)
def _loads(m, t, h, body, out):
    """Forces and torques of wheel (carrier, body 1) and cylinder (lower link, body 2) where they will be after h."""
    x, z = body[1, 0] + h * body[1, 3], body[1, 1] + h * body[1, 4]
    rx, rz = m.wheel_x - m.carrier_x, m.wheel_z - m.carrier_z
    fx, fz, _ = wheel_force(m, t, x + rx, z + rz, body[1, 3] - rz * body[1, 5], body[1, 4] + rx * body[1, 5])
    out[1, 0], out[1, 1], out[1, 2] = fx, fz, rx * fz - rz * fx
    x, z, turn = body[2, 0] + h * body[2, 3], body[2, 1] + h * body[2, 4], body[2, 2] + h * body[2, 5]
    along = 0.5 * m.l - m.cyl_arm  # from the link's middle, rearward negative
    rx, rz = along * math.cos(turn), along * math.sin(turn)
    dx, dz = x + rx - m.cyl_x, z + rz - (m.cyl_z - m.d)
    length = math.hypot(dx, dz)
    push = gas_force(m, length)
    px, pz = push * dx / length, push * dz / length
    out[2, 0], out[2, 1], out[2, 2] = px, pz, rx * pz - rz * px


class Scene:
    """The engine's space at a step [s] with so many iterations a step."""

    def __init__(self, step: float, iterations: int):
        m, th = Bare(), rest(Bare())
        self.bare, self.step, self.steps, self.iterations = m, step, steps_of(step), iterations
        s, c = math.sin(th), math.cos(th)
        self.space = space = pymunk.Space()
        space.gravity, space.iterations = (0.0, -GRAVITY), iterations
        half, inertia = 0.5 * m.l, m.link_mass * m.l**2 / 12.0
        upper, lower = pymunk.Body(m.link_mass, inertia), pymunk.Body(m.link_mass, inertia)
        carrier, bar = pymunk.Body(m.carrier_mass, 5.0), pymunk.Body(body_type=pymunk.Body.STATIC)
        upper.position, lower.position = (-half * c, half * s), (-half * c, half * s - m.d)
        upper.angle = lower.angle = -th
        carrier.position = (-m.l * c + m.carrier_x, m.l * s + m.carrier_z)
        up, down = (-m.carrier_x, -m.carrier_z), (-m.carrier_x, -m.d - m.carrier_z)
        pivots = [
            pymunk.PivotJoint(bar, upper, (0.0, 0.0), (half, 0.0)),
            pymunk.PivotJoint(upper, carrier, (-half, 0.0), up),
            pymunk.PivotJoint(bar, lower, (0.0, -m.d), (half, 0.0)),
            pymunk.PivotJoint(lower, carrier, (-half, 0.0), down),
        ]
        for pivot in pivots:
            pivot.error_bias = 0.8 ** (1.0 / step)  # a fifth of a gap in every step
        space.add(upper, carrier, lower, bar, *pivots)
        self.pivots = pivots
        self.loads = np.zeros((4, 3))
        self.get, self.put = pymunk.batch.Buffer(), pymunk.batch.Buffer()
        self.put.set_float_buf(self.loads)
        self.angles, self.pins = np.empty(self.steps), np.empty((self.steps, 4))
        self._read()
        self.at_rest = self.now[:3].copy()

    def _read(self) -> None:
        self.get.clear()
        pymunk.batch.get_space_bodies(self.space, STATE, self.get)
        self.now: NDArray[np.float64] = np.frombuffer(self.get.float_buf()).reshape(4, 6)

    def _advance(self, t: float) -> None:
        """One step to the instant t."""
        _loads(self.bare, t, self.step, self.now, self.loads)
        pymunk.batch.set_space_bodies(self.space, LOADS, self.put)
        self.space.step(self.step)
        self._read()

    def run(self) -> None:
        """All steps, from rest."""
        for body, at in zip(self.space.bodies, self.at_rest, strict=False):
            body.position, body.angle, body.velocity, body.angular_velocity = tuple(at[:2]), at[2], (0.0, 0.0), 0.0
        for _ in range(round(SETTLE / self.step)):
            self._advance(0.0)
        for i in range(self.steps):
            self._advance(i * self.step)
            self.angles[i] = -self.now[0, 2]
            for k, pivot in enumerate(self.pivots):
                self.pins[i, k] = pivot.impulse
        self.pins /= self.step

    def found(self) -> Crossing:
        """What was recorded."""
        return Crossing(self.angles, self.pins)


def prepare(step: float, iterations: int = 30) -> tuple[Callable[[], None], Callable[[], Crossing]]:
    """A job that makes all steps, and what it then has found."""
    scene = Scene(step, iterations)
    return scene.run, scene.found
