"""The parallelogram with gas spring, depth linkage and gauge wheel in a third engine: Exudyn, multipliers, implicit.

The compiled unit is brought down to it by parameters alone: the disc finds no force, the press wheel hangs in the
air on an arm without weight, the toolbar is level. The gas law and the ground's tables are shared, nothing else: the
load of the wheel is a bracketed root of the two equations of tyre and soil, its constants are Bekker's.
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
from scipy.optimize import brentq

from sim.ground_tables import ground_tables
from sim.hydraulics.oil import hydraulics
from sim.laws.contact import COLUMN, read_table
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
    """Waves of 25 mm, a bump of 60 mm that throws the wheel, soil harder and softer by 40 %, 9 m; flat first."""
    base = flat_track(9.0, Soil().strength)
    x = base.x
    blend = np.clip(x - 1.0, 0.0, 1.0)
    waves = 0.025 * blend**2 * (3.0 - 2.0 * blend) * np.sin(2 * np.pi * (x - 1.0) / 2.2)
    bump = 0.06 * np.cos(np.pi * np.clip((x - 5.0) / 0.6, -0.5, 0.5)) ** 2
    firm = base.strength * (1.0 + 0.4 * blend * np.sin(2 * np.pi * x / 0.7))
    return replace(base, ground=waves + bump, strength=firm)


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
        self.begun, self.squash, self.firm = 0.0, 0.0, 0.0  # when the step began; squash and strength then
        self.table = ground_tables(UNIT, ground, SETTINGS.set_depth).table
        self.n, diameter = soil.sinkage_exponent, 2 * wheel.radius
        per_length = soil.cohesive_modulus + wheel.width * soil.frictional_modulus
        self.k = (3.0 - self.n) / 3.0 * per_length * math.sqrt(diameter)
        self.arc = wheel.radius * per_length
        self.reference = soil.reference_strength
        self.area = wheel.width * diameter * 2.0 / (1.0 + 3.0 * wheel.width / diameter)  # Brixius with δ/h = 0.2
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

    def _under(self, t: float) -> tuple[float, float, float, float]:
        """Squash of tyre and soil, its rate, the envelope's slope and the strength there."""
        at, speed = self._point(self.axle)
        x = self.start + SETTINGS.speed * t + at[0]
        where = (self.track.x0, 1.0 / self.track.dx, x)
        height, slope = read_table(self.table, COLUMN.gauge, *where)
        firm, _ = read_table(self.table, COLUMN.wheel_strength, *where)
        squash = height - (self.height + at[1] - UNIT.gauge_wheel.radius)
        return squash, slope * (SETTINGS.speed + speed[0]) - speed[1], slope, firm

    def _load(self, sink: float, rate: float, bent: float, firm: float) -> float:
        """N = N₀ + B ṡ/v within 0…2N₀ with ṡ = q̇ − (N − kδ)/c."""
        if sink <= 0.0:
            return 0.0
        wheel, grown = UNIT.gauge_wheel, firm / self.reference * sink**self.n
        still, arc = self.k * grown * math.sqrt(sink), self.arc * grown

        def over(load: float) -> float:
            sinking = rate - (load - wheel.tyre_stiffness * bent) / wheel.tyre_damping
            return load - min(max(still + arc * sinking / SETTINGS.speed, 0.0), 2.0 * still)

        return float(brentq(over, 0.0, 2.0 * still, xtol=1e-12, rtol=1e-14))

    def _bent(self, t: float, squash: float, firm: float) -> float:
        """Tyre deflection at t, with squash and strength gone evenly from the start of the step to now."""
        h, d, wheel = t - self.begun, self.deflection, UNIT.gauge_wheel
        if h <= 0.0:
            return d
        rate, firming = (squash - self.squash) / h, (firm - self.firm) / h

        def creep(after: float, value: float) -> float:
            load = self._load(self.squash + rate * after - value, rate, value, self.firm + firming * after)
            return (load - wheel.tyre_stiffness * value) / wheel.tyre_damping

        k1 = creep(0.0, d)
        k2 = creep(0.5 * h, d + 0.5 * h * k1)
        k3 = creep(0.5 * h, d + 0.5 * h * k2)
        k4 = creep(h, d + h * k3)
        return d + h / 6.0 * (k1 + 2.0 * (k2 + k3) + k4)

    def _wheel(self, t: float) -> list[float]:
        squash, rate, slope, firm = self._under(t)
        bent = self._bent(t, squash, firm)
        load = self._load(squash - bent, rate, bent, firm)
        rho = 0.04 + load / (firm * self.area)
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
        """Tyre deflection to the start of the step that begins; gas temperature to its end, on the path foreseen."""
        h = STEP
        t = self.system.systemData.GetTime() - h  # the engine tells the end of the step
        squash, _, _, firm = self._under(t)
        self.deflection = self._bent(t, squash, firm)
        self.begun, self.squash, self.firm = t, squash, firm
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
