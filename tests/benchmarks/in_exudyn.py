"""The bare mechanism in Exudyn: bodies with joints by multipliers, generalized-α, forces as symbolic functions."""

from __future__ import annotations

import math
from collections.abc import Callable

import exudyn as exu
import numpy as np
from exudyn.itemInterface import (
    CartesianSpringDamper,
    Force,
    MarkerBodyPosition,
    NodeRigidBody2D,
    ObjectGround,
    ObjectRigidBody2D,
    RevoluteJoint2D,
    SensorBody,
    SensorObject,
    SpringDamper,
)
from exudyn.utilities import CreateSymbolicUserFunction

from sim.unit import ATMOSPHERE, GRAVITY

from .bare import Bare, Crossing, rest, steps_of

esym = exu.symbolic
RADIUS = 0.9  # spectral radius: 1 rings in the multipliers


def _height(m: Bare, x):
    """Height and slope of the ground at x as symbolic expressions."""
    turn = 2.0 * math.pi / m.wavelength
    u = turn * (x - m.first_wave)
    after = esym.IfThenElse(x > m.first_wave, esym.Real(1.0), esym.Real(0.0))
    h, s = after * 0.5 * m.waves * (1.0 - esym.cos(u)), after * 0.5 * m.waves * turn * esym.sin(u)
    turn = 2.0 * math.pi / m.bump_length
    for middle in (m.bump_1, m.bump_2, m.bump_3):
        u = x - middle
        on = esym.IfThenElse(esym.abs(u) < 0.5 * m.bump_length, esym.Real(1.0), esym.Real(0.0))
        h = h + on * 0.5 * m.bump * (1.0 + esym.cos(turn * u))
        s = s - on * 0.5 * m.bump * turn * esym.sin(turn * u)
    return h, s


class Scene:
    """The engine's system at a step [s]."""

    def __init__(self, step: float):
        self.bare, self.step, self.steps, self.start = Bare(), step, steps_of(step), rest(Bare())
        self.container = exu.SystemContainer()
        self.system = self.container.AddSystem()
        self._build()

    def _body(self, mass: float, inertia: float, x: float, z: float, turn: float) -> int:
        mbs = self.system
        node = mbs.AddNode(NodeRigidBody2D(referenceCoordinates=[x, z, turn]))
        body = mbs.AddObject(ObjectRigidBody2D(mass=mass, inertia=inertia, nodeNumber=node))
        mbs.AddLoad(Force(markerNumber=self._marker(body, 0.0, 0.0), loadVector=[0.0, -mass * GRAVITY, 0.0]))
        return body

    def _marker(self, body: int, x: float, z: float) -> int:
        return self.system.AddMarker(MarkerBodyPosition(bodyNumber=body, localPosition=[x, z, 0.0]))

    def _build(self) -> None:
        m, th, mbs = self.bare, self.start, self.system
        s, c, half = math.sin(th), math.cos(th), 0.5 * self.bare.l
        inertia = m.link_mass * m.l**2 / 12.0
        bar = mbs.AddObject(ObjectGround())
        upper = self._body(m.link_mass, inertia, -half * c, half * s, -th)
        lower = self._body(m.link_mass, inertia, -half * c, half * s - m.d, -th)
        carrier = self._body(m.carrier_mass, 5.0, -m.l * c + m.carrier_x, m.l * s + m.carrier_z, 0.0)
        pairs = (
            ((bar, 0.0, 0.0), (upper, half, 0.0)),
            ((upper, -half, 0.0), (carrier, -m.carrier_x, -m.carrier_z)),
            ((bar, 0.0, -m.d), (lower, half, 0.0)),
            ((lower, -half, 0.0), (carrier, -m.carrier_x, -m.d - m.carrier_z)),
        )
        kept = {"storeInternal": True, "writeToFile": False}
        self.sensors = []
        for a, b in pairs:
            joint = mbs.AddObject(RevoluteJoint2D(markerNumbers=[self._marker(*a), self._marker(*b)]))
            force = exu.OutputVariableType.Force
            self.sensors.append(mbs.AddSensor(SensorObject(objectNumber=joint, outputVariableType=force, **kept)))
        turn = exu.OutputVariableType.Rotation
        self.turn = mbs.AddSensor(SensorBody(bodyNumber=upper, outputVariableType=turn, **kept))
        self._cylinder(self._marker(bar, m.cyl_x, m.cyl_z - m.d), self._marker(lower, half - m.cyl_arm, 0.0))
        self._wheel(bar, self._marker(carrier, m.wheel_x - m.carrier_x, m.wheel_z - m.carrier_z))
        mbs.Assemble()

    def _cylinder(self, frame: int, arm: int) -> None:
        m = self.bare

        def force(mbs, t, item, stretch, rate, k, d, f):
            volume = m.volume + m.area * stretch  # stretch from the length with the links level
            gas = m.pressure * esym.pow(m.volume / volume, m.polytropic)
            return (ATMOSPHERE - gas) * m.area  # positive pulls the pins together

        spring = SpringDamper(
            markerNumbers=[frame, arm],
            referenceLength=m.length,
            stiffness=0.0,
            damping=0.0,
            springForceUserFunction=force,
        )
        number = self.system.AddObject(spring)
        self.push = self._symbolic(force, "springForceUserFunction", number)

    def _wheel(self, bar: int, place: int) -> None:
        m = self.bare

        def force(mbs, t, item, at, rate, k, d, offset):
            h, s = _height(m, m.start + m.speed * t + at[0])
            pen = h - (m.height + at[1])
            load = esym.max(m.k * pen + m.c * (s * (m.speed + rate[0]) - rate[1]), esym.Real(0.0))
            load = esym.IfThenElse(pen > 0.0, load, esym.Real(0.0))
            return [load * s, 0.0 - load, esym.Real(0.0)]  # on the carrier it acts the other way

        ground = self._marker(bar, 0.0, 0.0)
        number = self.system.AddObject(
            CartesianSpringDamper(markerNumbers=[ground, place], springForceUserFunction=force)
        )
        self.support = self._symbolic(force, "springForceUserFunction", number)

    def _symbolic(self, function, name: str, number: int):
        """Replace a function of an object by its symbolic form, so that no Python runs in the steps."""
        symbolic = CreateSymbolicUserFunction(self.system, function, name, number)
        self.system.SetObjectParameter(number, name, symbolic)
        return symbolic

    def run(self) -> None:
        """All steps, from rest."""
        settings = exu.SimulationSettings()
        integration = settings.timeIntegration
        integration.numberOfSteps, integration.endTime = self.steps, self.steps * self.step
        integration.verboseMode = 0
        integration.generalizedAlpha.spectralRadius = RADIUS
        integration.generalizedAlpha.computeInitialAccelerations = True
        settings.solution.file.write = False
        settings.solution.sensors.writePeriod = self.step
        self.system.SolveDynamic(settings)

    def found(self) -> Crossing:
        """What was recorded, without the last instant."""
        data = [self.system.GetSensorStoredData(sensor)[: self.steps, 1:3] for sensor in self.sensors]
        turn = self.system.GetSensorStoredData(self.turn)[: self.steps]
        return Crossing(self.start - turn[:, -1], np.stack([np.hypot(*force.T) for force in data], axis=1))


def prepare(step: float) -> tuple[Callable[[], None], Callable[[], Crossing]]:
    """A job that makes all steps, and what it then has found."""
    scene = Scene(step)
    return scene.run, scene.found
