"""simulate_rigid(unit, soil, track, settings) → Run: the same crossing in a general rigid-body engine (pymunk).

Nine bodies (sim.rigid.bodies) hang on the toolbar by twelve pivots; the engine finds their motion and reactions by
iterating over the pivots' impulses. Force laws, the depth setting and the toolbar's path are shared with the
compiled engine; kinematics, assembly, equations of motion, reactions and the measurement of depth are not.

- Toolbar: a kinematic body. The engine moves places before it solves for velocities, so before each step the body
  is put back by one step's travel along the chord to the next node of `sim.toolbar.path.path` and given the chord's
  velocities: after the engine's move it stands exactly on the path, with the velocities of the step to come.
- Locked crank: the crank is a body on its pivot, held by a massless strut of fixed length, the depth actuator.
- Time: places x_j belong to t_j, the engine's velocities to the middle of the steps. Forces are evaluated at the
  places that the engine is about to reach, x_j = x_(j−1) + v·Δt, with velocities carried on to t_j from the last
  two steps, so that the whole is a leapfrog of second order; tyre deflections and gas are carried along with it.
- Start: the bodies are put together at the equilibrium and driven over flat ground for SETTLE seconds before t = 0
  with many passes, so that the impulses the engine starts each step from are those of the equilibrium.
- Passes: the impulses pass through a chain of bodies of 1 to 95 kg; below about 100 passes a step the demonstration
  unit is not held up, from 400 on its reactions no longer change by 0.3 %. So many passes are made that a quarter
  of them holds the unit at rest; parts that are too light beside the carrier for that are refused.
"""

from __future__ import annotations

import math
import time
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.errors import RunError
from sim.laws.gas import SMALLEST_SHARE
from sim.record import CHANNEL, CHANNELS, Channels, Run, Sums
from sim.rigid.bodies import BODIES, CARRIER, LOWER, TOOLBAR, Parts, assemble, parts
from sim.rigid.engine import ACTUATOR, Engine, scene_of
from sim.rigid.laws import Laws, laws
from sim.rigid.loads import GAS, OIL, PRESS_TYRE, SLOW, STONE, TYRE
from sim.run import (
    GroundTables,
    Marched,
    Prepared,
    arm_limits,
    gas_text,
    ground_tables,
    measured_steps,
    place_text,
    prepare,
    run_of,
    start_position,
    start_state,
)
from sim.toolbar.path import path
from sim.track import Track
from sim.unit import Settings, Soil, Unit
from sim.worn import is_worn

RIGID_STEP = 5e-4  # default step [s]
PASSES = 400  # passes over the pivots in each step, at least
MOST_PASSES = 6400  # and at most
SETTLE = 0.2  # time over flat ground before t = 0, and of the trial for the passes [s]
AT_REST = 1e-5  # arm angle that such a trial may lose [rad]
WIDE_GAP = 1e-4  # gap in a pivot above which a run warns, [m]
OPEN_GAP = 1e-3  # and above which it stops


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

    out: NDArray[np.float64]  # (n, channels)
    pins: NDArray[np.float64]  # (n, 29) fourteen vectors and the actuator
    sums: NDArray[np.float64]  # (15,) work, traffic and losses [J]
    stored: NDArray[np.float64]  # (2,) at the start and at the end [J]
    worst: NDArray[np.float64]  # (3,) momentum balance [N or N m], impulse size [N], gap in a pivot [m]


class Case(NamedTuple):
    """Everything that stands before the first step; engines are made from it."""

    unit: Unit
    ready: Prepared
    part: Parts
    constants: Laws
    tables: GroundTables
    pose: NDArray[np.float64]  # (10, 3) one step before the first instant
    slow: NDArray[np.float64]  # (12,) slow states at rest
    states: NDArray[np.float64]  # (settle + n + 1, 6) of the toolbar
    chord: NDArray[np.float64]  # (settle + n, 3) its velocities from instant to instant
    settle: int
    step: float
    speed: float


def _case(unit: Unit, soil: Soil, track: Track, settings: Settings, step: float, crank: float | None) -> Case:
    if is_worn(unit):
        raise RunError(
            "the rigid-body engine hangs every part on a pivot without play; given a unit with clearance in its pins; "
            "allowed: unit.clearance of 0 mm; try: the compiled engine (rowbench run), or all of unit.clearance at 0"
        )
    part = parts(unit)
    ready = prepare(unit, soil, track.rock, settings, crank)
    y = start_state(unit, soil, ready)
    last = measured_steps(track, settings.speed, step)[1]
    settle = math.ceil(SETTLE / step)
    states = _toolbar_states(
        unit, track, settings, ready.setting.toolbar_height, start_position(unit, track.x_from), step, settle, last + 1
    )
    pose = assemble(unit, ready.setting.crank_angle, y.th, y.ps)
    pose[:, :2] += states[0, :2] - (step * settings.speed, 0.0)
    slow = np.zeros(SLOW)
    slow[TYRE], slow[PRESS_TYRE], slow[GAS], slow[OIL], slow[STONE] = y.dg, y.dp, y.tg, y.vo, -1.0
    constants = laws(unit, soil, track.rock, settings, ready)
    tables = ground_tables(unit, track, settings.set_depth)
    chord = np.diff(states[:, :3], axis=0) / step
    return Case(unit, ready, part, constants, tables, pose, slow, states, chord, settle, step, settings.speed)


def _settled(case: Case, passes: int) -> Engine:
    """An engine driven over flat ground up to t = 0 with twice the passes, then set to `passes`."""
    scene = scene_of(case.part, case.pose, case.speed, case.step)
    engine = Engine(
        case.ready, case.constants, case.part, scene, case.tables, case.slow.copy(), case.step,
        case.unit.accumulator.volume,
    )  # fmt: skip
    aside, aside_pins = np.zeros(len(CHANNELS)), np.zeros(ACTUATOR + 1)
    engine.evaluate(case.states[0], 0.0, aside)  # a step of no length sets what tyres and gas start from
    scene.space.iterations = 2 * passes
    for i in range(case.settle):
        engine.advance(case.states[i], case.chord[i], aside, aside_pins)
    scene.space.iterations = passes
    engine.worst[:] = 0.0
    return engine


def _enough_passes(case: Case) -> int:
    """Passes of which a quarter holds the unit at rest. Raises RunError where MOST_PASSES do not do."""
    row, pins = np.zeros(len(CHANNELS)), np.zeros(ACTUATOR + 1)
    rest = case.pose[TOOLBAR, 2] - case.pose[LOWER, 2]
    passes = PASSES
    while passes <= MOST_PASSES:
        engine = _settled(case, passes)
        engine.scene.space.iterations = passes // 4
        for i in range(case.settle, min(2 * case.settle, case.chord.shape[0])):
            engine.advance(case.states[i], case.chord[i], row, pins)
        if abs(row[CHANNEL.arm_angle] - rest) < AT_REST and engine.worst[2] < WIDE_GAP:
            return passes
        passes *= 2
    light = int(np.argmin(case.part.mass))
    raise RunError(
        f"the rigid-body engine cannot hold this unit: its {BODIES[light]} of {case.part.mass[light]:g} kg is too "
        f"light beside the carrier's {case.part.mass[CARRIER]:g} kg; allowed: parts that it can hold together; "
        "try: more mass for it under [unit], or the compiled engine (rowbench run)"
    )


def _cross(case: Case, passes: int) -> Record:
    """Drive an engine through all instants from t = 0."""
    engine, step, settle = _settled(case, passes), case.step, case.settle
    n = case.chord.shape[0] - settle
    out, pins, sums = np.zeros((n, len(CHANNELS))), np.zeros((n, ACTUATOR + 1)), np.zeros(len(Sums._fields))
    rec = Record(out, pins, sums, np.zeros(2), engine.worst)
    for j in range(n):
        row = rec.out[j]
        row[CHANNEL.time] = j * step
        stored = engine.advance(case.states[settle + j], case.chord[settle + j], row, rec.pins[j])
        _stay_inside(row, case.unit, float(engine.worst[2]))
        share = step if 0 < j < n - 1 else 0.5 * step
        rec.sums[:] += share * engine.lost
        if j == 0:
            rec.stored[0] = stored
    rec.stored[1] = stored
    return rec


def _stay_inside(row: NDArray[np.float64], unit: Unit, gap: float) -> None:
    """Raise RunError where the unit leaves what the model can describe."""
    low, high = arm_limits(unit)
    open_pivot, no_gas = not gap < OPEN_GAP, row[CHANNEL.gas_volume] < SMALLEST_SHARE * unit.accumulator.volume
    if not open_pivot and not no_gas and low < row[CHANNEL.arm_angle] < high:
        return
    now = Channels(*row)
    where = place_text(now.time, now)
    if open_pivot:
        raise RunError(
            f"a pivot of the rigid bodies opened by {gap * 1e3:.1f} mm {where}; allowed: {OPEN_GAP * 1e3:g} mm; "
            "try: more passes, the masses and stiffnesses under [unit] nearer to the defaults, or the compiled engine"
        )
    if no_gas:
        raise RunError(gas_text(where))
    raise RunError(
        f"the arm left its travel {where}: the ground is too rough for this unit and speed, or the stops are too "
        f"soft; allowed: {math.degrees(low):.0f}° to {math.degrees(high):.0f}°; try: less settings.speed_kmh, "
        "smoother ground, or more unit.main_links.stop_stiffness_kNm_per_rad"
    )


def simulate_rigid(
    unit: Unit,
    soil: Soil,
    track: Track,
    settings: Settings,
    *,
    step: float = RIGID_STEP,
    passes: int | None = None,
    crank: float | None = None,
) -> Run:
    """March one unit along a track as loose rigid bodies and keep every step of the measured stretch.

    step [s]; passes: iterations over the pivots in each step, by default as many as a trial at rest asks for;
    crank: angle [rad] at which the depth linkage's crank is held, as in `sim.run.prepare`. The instants are those of
    `sim.run.simulate` at the same step. Reactions are Newton's law on the engine's own velocity changes
    (sim.rigid.reactions); in `pin_residuals` stand the largest residual of a body's momentum balance, the largest
    difference between a vector's size and the engine's impulse, and the widest gap in a pivot. Raises as `simulate`
    does, and RunError where a part is too light for this engine.
    """
    begin = time.perf_counter()
    case = _case(unit, soil, track, settings, step, crank)
    rec = _cross(case, passes or _enough_passes(case))
    momentum, impulse, gap = rec.worst.tolist()
    residuals = {"momentum_balance_N": momentum, "impulse_size_N": impulse, "pivot_gap_m": gap}
    told = []
    if gap > WIDE_GAP:
        told.append(f"a pivot of the rigid bodies opened by {gap * 1e3:.2f} mm: take a smaller step or more passes")
    pins, actuator = rec.pins[:, :ACTUATOR], rec.pins[:, ACTUATOR]
    marched = Marched(
        np.ascontiguousarray(rec.out.T), pins, actuator, rec.sums, float(rec.stored[1] - rec.stored[0]), residuals
    )
    return run_of(unit, soil, track, settings, case.ready, marched, step, begin, "rigid", told)
