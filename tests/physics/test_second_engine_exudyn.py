"""The parallelogram with gas spring, depth linkage and gauge wheel in a third engine: Exudyn, multipliers, implicit.

The compiled unit is brought down to it by parameters alone: the disc finds no force, the press wheel hangs in the
air on an arm without weight, the toolbar is level. Force laws and the wheel's envelope are shared, nothing else.
"""

from __future__ import annotations

import math
from dataclasses import replace

import exudyn as exu
import numpy as np
import pytest
from exudyn.itemInterface import (
    Force,
    MarkerBodyPosition,
    NodeRigidBody2D,
    ObjectGround,
    ObjectRigidBody2D,
    RevoluteJoint2D,
    SensorObject,
)
from numpy.typing import NDArray
from reduced_unit import carrier_only

from sim.hydraulics.oil import hydraulics
from sim.laws.contact import envelope, read_table
from sim.laws.wheel_soil import brixius_area, sinkage_constant
from sim.record import PINS
from sim.rigid.bodies import (
    ARM,
    BELL,
    BUCKLE,
    CARRIER,
    CRANK,
    LOWER,
    PIVOTS,
    ROD,
    TOOLBAR,
    UPPER,
    assemble,
    parts,
)
from sim.run import prepare, simulate, start_position, start_state
from sim.track import Track, flat_track
from sim.unit import GRAVITY, Settings, Soil, Unit

STEP = 0.5e-3  # of both engines [s]
BARE, WHOLE = carrier_only(), Unit()  # BARE gives the disc without force and the press wheel in the air
UNIT = replace(WHOLE, disc=BARE.disc, press_wheel=BARE.press_wheel)
MOVING = (UPPER, LOWER, CARRIER, ROD, BELL, BUCKLE, ARM)
JOINTS = [name for name in PIVOTS if name not in ("crank", "press_arm")]  # crank: locked, here a part of the toolbar
SETTINGS = Settings(speed=10 / 3.6, toolbar="level")


def track() -> Track:
    """Waves of 25 mm and a bump of 60 mm that throws the wheel, 9 m; the first metre is flat."""
    base = flat_track(9.0, Soil().strength)
    x = base.x
    blend = np.clip(x - 1.0, 0.0, 1.0)
    waves = 0.025 * blend**2 * (3.0 - 2.0 * blend) * np.sin(2 * np.pi * (x - 1.0) / 2.2)
    bump = 0.06 * np.cos(np.pi * np.clip((x - 5.0) / 0.6, -0.5, 0.5)) ** 2
    return replace(base, ground=waves + bump)


class Crossing:
    """The parallelogram in Exudyn, seen from the toolbar: the ground passes by at the travel speed."""

    def __init__(self, ground: Track, start: float) -> None:
        """start: position of the toolbar's O at t = 0 [m]."""
        soil, links, wheel = Soil(), UNIT.main_links, UNIT.gauge_wheel
        ready = prepare(UNIT, soil, ground.rock, SETTINGS)
        y = start_state(UNIT, soil, ready)
        self.model, self.law, self.start, self.track = ready.model, ready.law, start, ground
        self.height = ready.setting.toolbar_height
        self.deflection, self.temperature = y.dg, y.tg
        self.table = envelope(ground.surface, ground.dx, wheel.radius)[:, None]
        self.k, self.m = sinkage_constant(
            soil.sinkage_exponent, soil.cohesive_modulus, soil.frictional_modulus, wheel.width, 2 * wheel.radius
        )
        self.area = soil.strength * brixius_area(wheel.width, 2 * wheel.radius)
        self.part = parts(replace(UNIT, press_wheel=WHOLE.press_wheel))  # the press arm is not built
        self.lower_pin = np.array(UNIT.toolbar.upper_pin) - (0.0, links.spacing)
        self.pin = self.lower_pin + UNIT.cylinder.frame  # of the cylinder on the toolbar
        self.system = exu.SystemContainer().AddSystem()
        self._build(assemble(UNIT, ready.setting.crank_angle, y.th, y.ps))

    def _build(self, pose: NDArray[np.float64]) -> None:
        """Bodies, their weight, joints with a sensor each, and the forces of wheel and cylinder."""
        mbs, part = self.system, self.part
        bar = mbs.AddObject(ObjectGround())
        bodies = {}
        for i in MOVING:
            node = mbs.AddNode(NodeRigidBody2D(referenceCoordinates=pose[i].tolist()))
            made = ObjectRigidBody2D(mass=float(part.mass[i]), inertia=float(part.inertia[i]), nodeNumber=node)
            bodies[i] = mbs.AddObject(made)
            weight = [0.0, -float(part.mass[i]) * GRAVITY, 0.0]
            mbs.AddLoad(Force(markerNumber=self._marker(bodies[i], (0.0, 0.0)), loadVector=weight))
        self.axle, self.end = (bodies[ARM], part.axle), (bodies[LOWER], part.cylinder_link)
        turn = pose[CRANK, 2]
        tip = pose[CRANK, :2] + 0.5 * UNIT.depth_linkage.crank * np.array([math.cos(turn), math.sin(turn)])
        self.sensors = []
        for name in JOINTS:
            j = list(PIVOTS).index(name)
            a, b = PIVOTS[name]
            ahead = (
                (bar, part.on_first[j]) if a == TOOLBAR else (bar, tip) if a == CRANK else (bodies[a], part.on_first[j])
            )
            pair = [self._marker(*ahead), self._marker(bodies[b], part.on_second[j])]
            joint = mbs.AddObject(RevoluteJoint2D(markerNumbers=pair))
            force = exu.OutputVariableType.Force
            sensor = SensorObject(objectNumber=joint, outputVariableType=force, storeInternal=True, writeToFile=False)
            self.sensors.append(mbs.AddSensor(sensor))
        for place, law in ((self.axle, lambda mbs, t, load: self._wheel(t)), (self.end, lambda *_: self._cylinder())):
            mbs.AddLoad(Force(markerNumber=self._marker(*place), loadVector=[0, 0, 0], loadVectorUserFunction=law))
        mbs.SetPreStepUserFunction(lambda mbs, t: self._carry())
        mbs.Assemble()

    def _marker(self, body: int, place) -> int:
        local = [float(place[0]), float(place[1]), 0.0]
        return self.system.AddMarker(MarkerBodyPosition(bodyNumber=body, localPosition=local))

    def _point(self, of: tuple[int, NDArray[np.float64]]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        place = [float(of[1][0]), float(of[1][1]), 0.0]
        kinds = (exu.OutputVariableType.Position, exu.OutputVariableType.Velocity)
        at, speed = (self.system.GetObjectOutputBody(of[0], kind, localPosition=place) for kind in kinds)
        return at[:2], speed[:2]

    def _squash(self, at: NDArray[np.float64], t: float) -> tuple[float, float]:
        """Total squash of tyre and soil, and the envelope's slope, with the axle at a place over the bar."""
        x = self.start + SETTINGS.speed * t + at[0]
        height, slope = read_table(self.table, 0, self.track.x0, 1.0 / self.track.dx, x)
        return height - (self.height + at[1] - UNIT.gauge_wheel.radius), slope

    def _load(self, sink: float) -> float:
        return self.k * max(sink, 0.0) ** self.m

    def _wheel(self, t: float) -> list[float]:
        q, slope = self._squash(self._point(self.axle)[0], t)
        load = self._load(q - self.deflection)
        rho = 0.04 + load / self.area
        return [-load * (slope + rho), load * (1.0 - rho * slope), 0.0]

    def _stroke(self) -> tuple[NDArray[np.float64], float, float]:
        at, speed = self._point(self.end)
        length = float(np.hypot(*(at - self.pin)))
        along = (at - self.pin) / length
        return along, length, float(along @ speed)

    def _cylinder(self) -> list[float]:
        along, length, rate = self._stroke()
        push = hydraulics(self.model, self.law, length, rate, self.temperature, 0.0)[0]
        return [push * along[0], push * along[1], 0.0]

    def _carry(self) -> bool:
        """Tyre deflection and gas temperature to the end of the step that begins, on the path foreseen."""
        at, speed = self._point(self.axle)
        t = self.system.systemData.GetTime() - STEP  # the engine tells the end of the step
        wheel, d, h = UNIT.gauge_wheel, self.deflection, STEP

        def creep(after: float, value: float) -> float:
            q = self._squash(at + after * speed, t + after)[0]
            return (self._load(q - value) - wheel.tyre_stiffness * value) / wheel.tyre_damping

        k1 = creep(0.0, d)
        k2 = creep(0.5 * h, d + 0.5 * h * k1)
        k3 = creep(0.5 * h, d + 0.5 * h * k2)
        k4 = creep(h, d + h * k3)
        self.deflection = d + h / 6.0 * (k1 + 2.0 * (k2 + k3) + k4)
        _, length, rate = self._stroke()
        warm = self.temperature
        first = hydraulics(self.model, self.law, length, rate, warm, 0.0)[4]
        second = hydraulics(self.model, self.law, length + h * rate, rate, warm + h * first, 0.0)[4]
        self.temperature = warm + 0.5 * h * (first + second)
        return True  # go on

    def run(self, steps: int) -> NDArray[np.float64]:
        """Forces in the joints at the start and after every step, (steps + 1, joints, 2), up to their sign."""
        settings = exu.SimulationSettings()
        integration = settings.timeIntegration
        integration.numberOfSteps, integration.endTime, integration.verboseMode = steps, steps * STEP, 0
        integration.generalizedAlpha.spectralRadius = 0.9
        integration.generalizedAlpha.computeInitialAccelerations = True
        settings.solution.file.write = False
        settings.solution.sensors.writePeriod = STEP
        self.system.SolveDynamic(settings)
        return np.stack([self.system.GetSensorStoredData(sensor)[:, 1:3] for sensor in self.sensors], axis=1)


@pytest.fixture(scope="module")
def both():
    """The compiled run, and the joints' forces from both engines at common instants, (n, joints, 2)."""
    ground = track()
    run = simulate(UNIT, Soil(), ground, SETTINGS, step=STEP)
    begin = float(run.series["time"][0])
    other = Crossing(ground, start_position(UNIT, ground.x_from) + SETTINGS.speed * begin)
    theirs = other.run(run.series["time"].size - 1)
    return run, run.pins[:, [PINS.index(name) for name in JOINTS]], theirs


def test_the_ground_throws_the_wheel(both):
    run, pins, _ = both
    assert 0.01 < (run.series["gauge_load"] == 0.0).mean() < 0.5
    load = np.hypot(pins[..., 0], pins[..., 1])
    assert (load.max(axis=0) > 1.3 * load.mean(axis=0)).all()


def test_all_joints_agree(both):
    _, ours, theirs = both
    sign = np.sign((ours * theirs).sum(axis=(0, 2)))  # which of its two bodies a joint's force is told for
    apart = np.hypot(*np.moveaxis(ours - sign[:, None] * theirs, 2, 0))
    load, other = (np.hypot(*np.moveaxis(force, 2, 0)) for force in (ours, theirs))
    rms = np.sqrt((load**2).mean(axis=0))
    assert (np.sqrt((apart**2).mean(axis=0)) < 0.001 * rms).all()
    assert (np.sqrt(((load - other) ** 2).mean(axis=0)) < 0.001 * rms).all()
    assert (np.abs(other.max(axis=0) - load.max(axis=0)) < 0.001 * load.max(axis=0)).all()
