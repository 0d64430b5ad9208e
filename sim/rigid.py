"""simulate_rigid(unit, soil, track, settings) → Run: the same crossing in a general rigid-body engine (pymunk).

Nine bodies (sim.rigid_bodies) hang on the toolbar by twelve pivots; the engine finds their motion and reactions by
iterating over the pivots' impulses. Force laws, the depth setting and the toolbar's path are shared with the
compiled engine; kinematics, assembly, equations of motion, reactions and the measurement of depth are not.

- Toolbar: a kinematic body. The engine moves places before it solves for velocities, so before each step the body
  is put back by one step's travel along the chord to the next node of `sim.toolbar.path` and given the chord's
  velocities: after the engine's move it stands exactly on the path, with the velocities of the step to come.
- Locked crank: the crank is a body on its pivot, held by a massless strut of fixed length, the depth actuator.
- Time: places x_j belong to t_j, the engine's velocities to the middle of the steps. Forces are evaluated at the
  places that the engine is about to reach, x_j = x_(j−1) + v·Δt, with velocities carried on to t_j from the last
  two steps, so that the whole is a leapfrog of second order; tyre deflections and gas are carried along with it.
- Start: the bodies are put together at the equilibrium and driven over flat ground for SETTLE seconds before t = 0
  with many passes, so that the impulses the engine starts each step from are those of the equilibrium.
- Passes: the impulses pass through a chain of bodies of 1 to 95 kg; below about 100 passes a step the demonstration
  unit is not held, from 400 on its reactions no longer change by 0.1 %.
"""

from __future__ import annotations

import math
import time
from typing import NamedTuple

import numpy as np
import pymunk
import pymunk.batch
from numba import njit
from numpy.typing import NDArray

from sim.gas import internal_energy
from sim.model import downforce
from sim.record import CHANNELS, Energy, Run
from sim.rigid_bodies import CARRIER, CRANK, TOOLBAR, Parts, assemble, parts
from sim.rigid_loads import GAINS, GAS, LOSSES, OIL, PRESS_TYRE, STONE, TYRE, loads, point_at
from sim.rigid_reactions import moving_energy, reactions, toolbar_power, widest_gap
from sim.run import LEAD_IN, GroundTables, Prepared, RunError, _warnings, ground_tables, prepare, start_state
from sim.setting import TRAVEL_MARGIN
from sim.toolbar import path
from sim.track import Track
from sim.unit import GRAVITY, Settings, Soil, Unit

RIGID_STEP = 5e-4  # default step [s]
PASSES = 400  # passes over the pivots in each step
SETTLE_PASSES = 800  # the same before t = 0
SETTLE = 0.2  # time over flat ground before t = 0 [s]
CORRECTION = 0.2  # share of a pivot's gap that one step takes away
WIDE_GAP = 1e-4  # gap in a pivot above which a run warns [m]

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
    pivots: list[pymunk.Constraint]  # twelve, in the order of sim.rigid_bodies.PIVOTS


def _scene(part: Parts, pose: NDArray[np.float64], speed: float, step: float) -> Scene:
    """The engine's space with all bodies in the order of sim.rigid_bodies, the toolbar last."""
    space = pymunk.Space()
    space.gravity = (0.0, -GRAVITY)
    space.iterations = SETTLE_PASSES
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


@njit(error_model="numpy", cache=True)
def _before(m, law, part, now, last_vel, toolbar, step, ground, stone, x0, inv, slow, pose, vel, force, row, lost):
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
    return loads(m, law, part, pose, vel, ground, stone, x0, inv, step, slow, force, row, lost)


@njit(error_model="numpy", cache=True)
def _after(part, now, old, toolbar, step, pose, force, told, cyl_x, cyl_z, row, pins, worst):
    """Reactions and energy of an instant from the engine's velocities before (`old`) and after its step (`now`).

    told (12,): the engine's own sizes of the pivots' forces. Fills row[28] and pins (29,) in toolbar axes, raises
    worst (3,); returns the toolbar's power and the kinetic and potential energy.
    """
    change = now[:, 3:] - old
    mean = 0.5 * (now[:, 3:] + old)
    found, residual = reactions(part, pose, change, force, step)
    worst[0] = max(worst[0], residual)
    worst[2] = max(worst[2], widest_gap(part, pose))
    c, s = math.cos(toolbar[2]), math.sin(toolbar[2])
    for j in range(12):
        at = j if j < 4 else j + 2
        fx, fz = found[2 * j], found[2 * j + 1]
        pins[2 * at] = c * fx + s * fz
        pins[2 * at + 1] = c * fz - s * fx
        worst[1] = max(worst[1], abs(math.hypot(fx, fz) - told[j]))
    pins[8] = pins[10] = c * cyl_x + s * cyl_z
    pins[9] = pins[11] = c * cyl_z - s * cyl_x
    pins[28] = found[24]
    # acceleration of the carrier's hub: a + ω′ × r − ω² r
    _, _, _, _, rx, rz = point_at(pose, mean, CARRIER, part.hub)
    row[28] = change[CARRIER, 1] / step + rx * change[CARRIER, 2] / step - mean[CARRIER, 2] ** 2 * rz
    power = toolbar_power(part, pose, found, force, toolbar[3], toolbar[4], toolbar[5])
    return power, moving_energy(part, pose, mean)


def _toolbar_states(
    unit: Unit, track: Track, settings: Settings, z_bar: float, x_start: float, step: float, settle: int, steps: int
) -> NDArray[np.float64]:
    """Toolbar's x, z, angle and their rates at all instants, (settle + steps + 1, 6); level travel before t = 0."""
    nodes = path(
        unit, track.surface, track.x0, track.dx, x_start, settings.speed, step, steps + 1,
        settings.toolbar == "carried",
    )  # fmt: skip
    states = np.zeros((settle + steps + 1, 6))
    states[:, 0] = x_start + settings.speed * step * np.arange(-settle, steps + 1)
    states[:, 1] = z_bar
    states[:, 3] = settings.speed
    states[settle:, 1] += nodes[:, 0]
    states[settle:, 2] = nodes[:, 3]
    states[settle:, 4] = nodes[:, 1]
    states[settle:, 5] = nodes[:, 4]
    return states


class Record(NamedTuple):
    """What the loop fills, one row per instant from t = 0."""

    out: NDArray[np.float64]  # (n, 29) channels
    pins: NDArray[np.float64]  # (n, 29) fourteen vectors and the actuator
    sums: NDArray[np.float64]  # (14,) work, traffic and losses [J]
    stored: NDArray[np.float64]  # (2,) at the start and at the end [J]
    worst: NDArray[np.float64]  # (3,) momentum balance [N or N m], impulse size [N], gap in a pivot [m]


class Engine:
    """Steps the engine's space along the toolbar's states; keeps what one step hands to the next."""

    def __init__(
        self, ready: Prepared, part: Parts, scene: Scene, tables: GroundTables, slow: NDArray[np.float64], step: float
    ) -> None:
        self.ready, self.part, self.scene, self.tables, self.slow, self.step = ready, part, scene, tables, slow, step
        self.pose, self.vel, self.force = np.zeros((10, 3)), np.zeros((10, 3)), np.zeros((10, 3))
        self.lost = np.zeros(len(LOSSES))
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
        t = self.tables
        return _before(
            self.ready.model, self.ready.law, self.part, self.now, self.old, toolbar, step, t.table, t.stone, t.x0,
            1.0 / t.dx, self.slow, self.pose, self.vel, self.force, row, self.lost,
        )  # fmt: skip

    def advance(
        self,
        toolbar: NDArray[np.float64],
        chord: NDArray[np.float64],
        row: NDArray[np.float64],
        pins: NDArray[np.float64],
    ) -> tuple[float, float]:
        """One step to the instant of `toolbar`, whose row and pins are filled → toolbar's power, stored energy."""
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
        m = self.ready.model
        gas = m.gas_mass * internal_energy(m.gas_mass / min(row[26], m.v_acc), row[27], self.ready.law)
        return power, held + moving + gas


def _cross(engine: Engine, states: NDArray[np.float64], settle: int, passes: int, unit: Unit) -> Record:
    """Drive the engine through all instants of `states` but the last; the first `settle` are not recorded."""
    step = engine.step
    n = states.shape[0] - 1 - settle
    rec = Record(np.zeros((n, len(CHANNELS))), np.zeros((n, 29)), np.zeros(14), np.zeros(2), engine.worst)
    aside, aside_pins = np.zeros(len(CHANNELS)), np.zeros(29)
    chord = np.diff(states[:, :3], axis=0) / step
    engine.evaluate(states[0], 0.0, aside)  # a step of no length sets what tyres and gas start from
    for i in range(settle):
        engine.advance(states[i], chord[i], aside, aside_pins)
    engine.scene.space.iterations = passes
    engine.worst[:] = 0.0
    for j in range(n):
        row = rec.out[j]
        row[0] = j * step
        power, stored = engine.advance(states[settle + j], chord[settle + j], row, rec.pins[j])
        _stay_inside(row, unit)
        share = step if 0 < j < n - 1 else 0.5 * step
        rec.sums[0] += share * power
        rec.sums[1] += share * abs(power)
        rec.sums[2:] += share * engine.lost
        if j == 0:
            rec.stored[0] = stored
    rec.stored[1] = stored
    return rec


def _stay_inside(row: NDArray[np.float64], unit: Unit) -> None:
    """Raise RunError where the unit leaves what the model can describe."""
    k = unit.main_links
    where = f"at {row[0]:.3f} s, {row[1]:.2f} m along the track, arm angle {math.degrees(row[4]):.1f}°"
    if not k.stop_down - TRAVEL_MARGIN < row[4] < k.stop_up + TRAVEL_MARGIN:
        raise RunError(
            f"the arm left its travel {where}; the ground is too rough for this unit and speed, the stops are too "
            "soft, or the rigid-body engine needs a smaller step or more passes"
        )
    if row[26] < 0.05 * unit.accumulator.volume:
        raise RunError(
            f"the gas was pressed below a twentieth of the accumulator {where}; raise the precharge or its volume"
        )


def simulate_rigid(
    unit: Unit, soil: Soil, track: Track, settings: Settings, *, step: float = RIGID_STEP, passes: int = PASSES
) -> Run:
    """March one unit along a track as loose rigid bodies and keep every step of the measured stretch.

    step [s]; passes: iterations over the pivots in each step. The instants are those of `sim.run.simulate` at the
    same step. Reactions are Newton's law on the engine's own velocity changes (sim.rigid_reactions); in
    `pin_residuals` stand the largest residual of a body's momentum balance, the largest difference between a
    vector's size and the engine's impulse, and the widest gap in a pivot. Raises as `simulate` does, and ValueError
    where a part is too light for this engine.
    """
    begin = time.perf_counter()
    part = parts(unit)
    ready = prepare(unit, soil, track, settings)
    y = start_state(unit, soil, ready)
    pose = assemble(unit, ready.setting.crank_angle, y.th, y.ps)
    x_start = track.x_from - LEAD_IN - (pose[CARRIER, 0] + part.hub[0])
    n = math.ceil((track.x_to - track.x_from + LEAD_IN + 0.2) / (settings.speed * step)) + 1
    settle = math.ceil(SETTLE / step)
    states = _toolbar_states(unit, track, settings, ready.setting.toolbar_height, x_start, step, settle, n)
    pose[:, 0] += states[0, 0] - step * settings.speed
    pose[:, 1] += states[0, 1]
    slow = np.zeros(12)
    slow[TYRE], slow[PRESS_TYRE], slow[GAS], slow[OIL], slow[STONE] = y.dg, y.dp, y.tg, y.vo, -1.0
    scene = _scene(part, pose, settings.speed, step)
    engine = Engine(ready, part, scene, ground_tables(unit, track, settings.set_depth), slow, step)
    rec = _cross(engine, states, settle, passes, unit)
    return _run(unit, soil, track, settings, ready, rec, step, begin)


def _run(
    unit: Unit, soil: Soil, track: Track, settings: Settings, ready: Prepared, rec: Record, step: float, begin: float
) -> Run:
    """The frozen result over the measured stretch."""
    inside = (rec.out[:, 1] >= track.x_from) & (rec.out[:, 1] <= track.x_to)
    kept, pins = rec.out[inside], rec.pins[inside]
    series = {c.name: np.ascontiguousarray(kept[:, i]) for i, c in enumerate(CHANNELS)}
    losses = {name: float(rec.sums[2 + i]) * (-1 if name in GAINS else 1) for i, name in enumerate(LOSSES)}
    work, stored = float(rec.sums[0]), float(rec.stored[1] - rec.stored[0])
    energy = Energy(work, float(rec.sums[1]), stored, losses, work - stored - sum(losses.values()))
    told = _warnings(unit, settings, ready, series, energy, begin)
    if rec.worst[2] > WIDE_GAP:
        told.append(
            f"a pivot of the rigid bodies opened by {rec.worst[2] * 1e3:.2f} mm: take a smaller step or more passes"
        )
    return Run(
        unit=unit,
        soil=soil,
        settings=settings,
        track=track,
        setting=ready.setting,
        reference=ready.reference,
        step=step,
        steps=rec.out.shape[0],
        cut_steps=0,
        series=series,
        pins=np.ascontiguousarray(pins[:, :28]).reshape(-1, 14, 2),
        actuator=np.ascontiguousarray(pins[:, 28]),
        energy=energy,
        pin_residuals={
            "momentum_balance_N": float(rec.worst[0]),
            "impulse_size_N": float(rec.worst[1]),
            "pivot_gap_m": float(rec.worst[2]),
        },
        downforce=downforce(unit, settings.oil_pressure),
        wall=time.perf_counter() - begin,
        compile_wall=0.0,
        engine="rigid",
        warnings=tuple(told),
    )
