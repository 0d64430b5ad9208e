"""Small motions about steady travel over flat ground: the compiled model's own derivatives, by differences.

x′ = A x + B u, y = C x + D u. x are the changes of the state of `sim.mechanism.kinematics.State` (the oil let in only
where a valve holds the pressure) and, where the toolbar is carried, its heave and pitch with their rates; u what the
ground brings to each contact (INPUTS); y the answers (OUTPUTS).

What has no slope at rest, or one that holds over no distance worth the name, is kept apart. Seal friction is steep
within some mm/s of piston speed and flat beyond, and the loss in the hose fitting grows with the square of the flow:
both are left out of A, B, C, D and come in as a damper of `rub` [N s/m] in line with the piston (`with_rub`); how
strong it is at a given motion, `piston_drag` tells. Stops, stones and the wheel in the air lie outside small motions.

Differences: central, at TRIES steps that shrink by SHRINK each, extrapolated to no step at all (Ridders 1982, Advances
in Engineering Software 4, 75; from memory); of the table the entry whose neighbours agree best, its disagreement being
the error that is told.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel
from sim.arithmetic.simd import put
from sim.errors import EquilibriumError
from sim.hydraulics.cylinder import cylinder_geometry
from sim.laws.gas import GasLaw
from sim.laws.hard_profile import OUT_OF_REACH
from sim.mechanism.bodies import accelerations, bodies
from sim.mechanism.forces import Ground, contact_forces, pushed
from sim.mechanism.kinematics import Bar, State, contact_points
from sim.mechanism.linkage import closures
from sim.mechanism.pins import pin_forces
from sim.model import Model
from sim.record import PINS, DepthSetting
from sim.run import Prepared, prepare, start_state
from sim.unit import Rock, Settings, Soil, Toolbar, Unit
from sim.worn import without_play

TRIES, SHRINK = 10, 1.6
STEADY, NEWTON = 1e-6, 30  # a step that moves by no larger share of the scales is none; steps at the most
SEALS = 1000.0  # damper by which the slopes to `rub` are found [N s/m]

Values = NDArray[np.float64]


class Given(NamedTuple):
    """What the compiled model is asked at: changes of state, toolbar's motion, ground."""

    th: Any
    om: Any
    ps: Any
    ops: Any
    dg: Any
    dp: Any
    tg: Any
    vo: Any
    z: Any  # of O over its height on flat ground [m]
    vz: Any
    az: Any
    p: Any
    vp: Any
    ap: Any
    ahead: Any  # surface averaged over the disc's leading arc [m]
    gauge: Any  # surface under the gauge wheel, averaged over its contact [m], and its slope
    gauge_slope: Any
    press: Any
    press_slope: Any
    strength: Any  # under the disc [Pa]
    gauge_strength: Any  # under the wheels, averaged over their contact [Pa]
    press_strength: Any


class Told(NamedTuple):
    """What it answers beside the rates of the state."""

    bottom: Any  # height of the disc's lowest point [m]
    gauge_load: Any  # [N]
    press_load: Any
    disc_vertical: Any
    oil_pressure: Any  # [Pa]
    cylinder_force: Any  # [N]
    piston: Any  # speed of the piston, outwards positive [m/s]
    sinkage: Any  # s of the gauge wheel, negative in the air [m]
    disc_x: Any  # places ahead of O [m]
    gauge_x: Any
    press_x: Any


STATE = len(State._fields)
GIVEN, TOLD = len(Given._fields), len(Told._fields)
N_PINS = 2 * len(PINS)
AT: Any = Given(*range(GIVEN))
"""Place of each value that is given, by name."""

INPUTS = (*Given._fields[AT.ahead :], "front", "front_slope", "rear", "rear_slope", "surface")
"""What the ground brings: at the unit's contacts, at the toolbar's axles, and the surface over the disc's place."""

OUTPUTS = ("depth", *Told._fields[1:7], *(f"{pin}_{axis}" for pin in PINS for axis in "xz"))
"""Answers: depth [m], loads [N], oil pressure [Pa], piston speed [m/s], pins in toolbar axes [N]."""


@kernel
def respond(m, law, z_bar, points, out):
    """Rates of the state, answers (Told) and pins at each of `points` (n, GIVEN) → out (n, STATE + TOLD + N_PINS)."""
    width = points.shape[1]
    kept = out.shape[1]
    given = points.reshape(-1)
    told = out.reshape(-1)
    for i in range(points.shape[0]):
        g = given[i * width : (i + 1) * width]
        y = State(g[0], g[1], g[2], g[3], g[4], g[5], g[6], g[7])
        bar = Bar(0.0, z_bar + g[8], g[9], g[10], g[11], g[12], g[13])
        hard = -m.disc_r - OUT_OF_REACH
        gr = Ground(g[14], hard, 0.0, g[15], g[16], g[17], g[18], g[19], g[20], 0.0, g[21], 0.0, 0.0)
        k = closures(m, y.th)
        pt = contact_points(m, bar, y, k, None)
        f = contact_forces(m, bar, y, k, pt, gr, *pushed(m, law, y, k))
        b = bodies(m, bar, y, k, pt)
        acc = accelerations(m, bar, y, k, pt, f, b)
        pins = pin_forces(m, bar, y, k, pt, f, b, acc)
        rates = State(y.om, acc.th, y.ops, acc.ps, f.dg_rate, f.dp_rate, f.tg_rate, f.vo_rate)
        piston = cylinder_geometry(m, k).length_t * y.om
        said = Told(
            pt.hz - m.disc_r, f.gauge_load, f.press_load, f.soil_z, f.p_oil, f.cyl, piston, f.gauge_s, pt.hx, pt.gx,
            pt.px,
        )  # fmt: skip
        put(told, i * kept, rates)
        put(told, i * kept + STATE, said)
        put(told, i * kept + STATE + TOLD, pins[:N_PINS])


class Matrices(NamedTuple):
    """x′ = A x + B u, y = C x + D u."""

    a: Values
    b: Values
    c: Values
    d: Values


@dataclass(frozen=True)
class Linear:
    """Small motions of a unit about steady travel; see the module for what `rub` stands for."""

    unit: Unit  # without play in its pins
    settings: Settings
    model: Model
    law: GasLaw
    setting: DepthSetting
    states: tuple[str, ...]
    free: Matrices  # no rub
    per_rub: Matrices  # its slope to rub, per N s/m
    rest: Values  # the point of rest (GIVEN,)
    at_rest: Values  # what `respond` gives there
    gauge_per_arm: float  # rise of the gauge wheel's axle per arm angle [m/rad]
    places: dict[str, float]  # of disc, gauge, press, front and rear axle ahead of O [m]
    error: float  # of the derivatives, the largest share of a row's largest entry
    speed: float  # [m/s]

    @property
    def told(self) -> Told:
        """The answers at rest."""
        return Told(*self.at_rest[STATE : STATE + TOLD])

    @property
    def pins(self) -> Values:
        """Pin forces at rest in toolbar axes, (14, 2) [N]."""
        return self.at_rest[STATE + TOLD :].reshape(-1, 2)

    def with_rub(self, rub: float) -> Matrices:
        """The matrices with a damper of `rub` [N s/m] in line with the piston."""
        return Matrices(*(free + rub * slope for free, slope in zip(self.free, self.per_rub, strict=True)))

    def piston_drag(self, speeds: Values) -> Values:
        """Drag of seals and fitting [N] at piston speeds [m/s], what the line takes evenly left out.

        The mean of both ways: what differs between them moves the middle of the motion, not its swing.
        """
        slope = float(_ratio(self))
        both = np.concatenate([speeds, -speeds])
        points = np.repeat(self.rest[None], both.size, axis=0)
        points[:, AT.om] = both / slope
        force = _asked(self.model, self.law, self.setting.toolbar_height, points)[
            :, STATE + Told._fields.index("cylinder_force")
        ]
        out, back = force[: speeds.size], force[speeds.size :]
        return 0.5 * (back - out) - self.model.line * self.model.area**2 * speeds


def _ratio(linear: Linear) -> float:
    """Piston speed per arm rate [m/rad]."""
    return float(linear.free.c[OUTPUTS.index("piston"), linear.states.index("om")])


def linearise(unit: Unit, soil: Soil, settings: Settings) -> Linear:
    """The unit's small motions at the settings' pressure and speed on flat ground of the soil's mean strength.

    Play in the pins is left out: a small motion stays on one side of it. Raises SimulationError: as
    `sim.run.prepare`, and EquilibriumError where the gauge wheel carries nothing.
    """
    unit = without_play(unit)
    ready = prepare(unit, soil, Rock(), settings)
    z_bar = ready.setting.toolbar_height
    loose = ready.model._replace(seal_0=0.0, seal_mu=0.0, orifice=0.0)
    held = loose._replace(seal_0=SEALS / loose.seal_slope)
    kept = [name for name in State._fields if name != "vo" or loose.hold > 0.0]
    rest, at_rest, slopes, error = _at_rest(unit, soil, ready, loose, kept)
    told = Told(*at_rest[STATE : STATE + TOLD])
    if not (told.gauge_load > 1.0 and told.sinkage > 0.0):
        raise EquilibriumError(
            f"the gauge wheel carries nothing on flat ground at {settings.oil_pressure / 1e5:g} bar and "
            f"{settings.speed * 3.6:g} km/h, so that nothing holds the depth; allowed: a setting at which it carries; "
            "try: more settings.oil_pressure_bar, or less settings.set_depth_mm"
        )
    rubbed, _ = _slopes(held, ready.law, z_bar, rest)
    places = {"disc": told.disc_x, "gauge": told.gauge_x, "press": told.press_x,
              "front": unit.toolbar.axle_front, "rear": -unit.toolbar.axle_rear}  # fmt: skip
    bar = unit.toolbar if settings.toolbar == "carried" else None
    free = _assembled(slopes, kept, bar)
    per_rub = Matrices(*((r - f) / SEALS for r, f in zip(_assembled(rubbed, kept, bar), free, strict=True)))
    states = (*kept, *(("z", "vz", "p", "vp") if bar else ()))
    per_arm = -float(slopes[STATE + Told._fields.index("sinkage"), AT.th])
    return Linear(unit, settings, ready.model, ready.law, ready.setting, states, free, per_rub, rest, at_rest,
                  per_arm, places, error, settings.speed)  # fmt: skip


def _asked(m: Model, law: GasLaw, z_bar: float, points: Values) -> Values:
    out = np.empty((points.shape[0], STATE + TOLD + N_PINS))
    respond(m, law, z_bar, np.ascontiguousarray(points), out)
    return out


def _scales(m: Model, rest: Values, at: Values) -> Values:
    """Largest step of each value that is given: small beside what its law turns on, (GIVEN,)."""
    told = Told(*at[STATE : STATE + TOLD])

    def squash(load: float, deflection: float, constant: float, strength: float) -> float:
        """The lesser of deflection and sinkage under a load; of a wheel in the air that of the depth."""
        if load <= 0.0 or strength <= 0.0:
            return 0.1 * m.set_depth
        sunk = float(load / (constant * strength * m.q_share)) ** (1.0 / (m.soil_n + 0.5))
        return min(deflection, sunk, 0.1 * m.set_depth)

    height = 0.2 * squash(told.gauge_load, rest[AT.dg], m.gauge_soil_k, rest[AT.gauge_strength])
    press = 0.2 * squash(told.press_load, rest[AT.dp], m.press_soil_k, rest[AT.press_strength])
    rate = 0.1 / m.seal_slope  # m/s at the piston
    turn = min(press, height) / m.l
    push = Given(
        th=turn, om=rate / m.cyl_arm, ps=min(press, height) / m.press_l, ops=rate / m.press_l, dg=height, dp=press,
        tg=1.0, vo=0.01 * m.v_acc, z=min(press, height), vz=0.1 * rate, az=0.1, p=turn, vp=rate, ap=0.1, ahead=height,
        gauge=height, gauge_slope=0.01, press=min(press, height), press_slope=0.01, strength=0.05 / m.q_share,
        gauge_strength=0.05 / m.q_share, press_strength=0.05 / m.q_share,
    )  # fmt: skip
    return np.array(push)


def _slopes(m: Model, law: GasLaw, z_bar: float, rest: Values) -> tuple[Values, float]:
    """∂(rates, answers, pins)/∂given at rest, (STATE + TOLD + N_PINS, GIVEN), and the error as `Linear.error`."""
    at = _asked(m, law, z_bar, rest[None])[0]
    scales = _scales(m, rest, at)
    steps = scales[:, None] * SHRINK ** -np.arange(TRIES)[None]  # (GIVEN, TRIES)
    shifted = np.zeros((2, GIVEN, TRIES, GIVEN))
    which = np.arange(GIVEN)
    shifted[0, which, :, which] = steps
    shifted[1, which, :, which] = -steps
    found = _asked(m, law, z_bar, (rest + shifted).reshape(-1, GIVEN)).reshape(2, GIVEN, TRIES, -1)
    table = (found[0] - found[1]) / (2.0 * steps[..., None])
    best, error = table[:, 0], np.full(table[:, 0].shape, np.inf)
    share = 1.0
    while table.shape[1] > 1:
        share *= SHRINK**2
        better = (share * table[:, 1:] - table[:, :-1]) / (share - 1.0)
        apart = np.maximum(np.abs(better - table[:, 1:]), np.abs(better - table[:, :-1]))
        for i in range(better.shape[1]):
            nearer = apart[:, i] < error
            best, error = np.where(nearer, better[:, i], best), np.where(nearer, apart[:, i], error)
        table = better
    # what is uncertain, in the units of a step: as a share of the most that any step moves an answer
    moved = np.abs(best * scales[:, None]).max(axis=0)
    worst = (error * scales[:, None]).max(axis=0)
    return best.T, float((worst[moved > 0.0] / moved[moved > 0.0]).max())


def _at_rest(
    unit: Unit, soil: Soil, ready: Prepared, m: Model, kept: list[str]
) -> tuple[Values, Values, Values, float]:
    """The point of rest, what `respond` gives there, and `_slopes`; by Newton's method from the run's start on: a valve
    that holds the pressure lets oil in or out until it stands. Raises EquilibriumError."""
    y, law, z_bar = start_state(unit, soil, ready), ready.law, ready.setting.toolbar_height
    q = soil.strength
    rest = np.array(Given(*y, *(0.0,) * 6, *(0.0,) * 5, q, q, q), dtype=np.float64)
    which = [State._fields.index(name) for name in kept]
    for _ in range(NEWTON):
        at = _asked(m, law, z_bar, rest[None])[0]
        slopes, error = _slopes(m, law, z_bar, rest)
        step = np.linalg.solve(slopes[np.ix_(which, which)], at[which])
        if np.all(np.abs(step) <= STEADY * _scales(m, rest, at)[which]):
            return rest, at, slopes, error
        rest[which] -= step
    raise EquilibriumError(
        "the unit finds no steady travel on flat ground; allowed: settings at which it does; try: "
        "settings.oil_pressure_bar and settings.set_depth_mm nearer to the defaults"
    )


def _assembled(slopes: Values, kept: list[str], bar: Toolbar | None) -> Matrices:
    """The unit's slopes with the toolbar's own equations, and with the depth in place of the disc's height."""
    own = [State._fields.index(name) for name in kept]
    rates, answers = slopes[own], slopes[STATE:]
    told = answers[[*range(7), *range(TOLD, TOLD + N_PINS)]].copy()
    told[0] = -told[0]
    ground = list(range(AT.ahead, GIVEN))
    size, wide = len(own) + (4 if bar else 0), len(INPUTS)
    a, b = np.zeros((size, size)), np.zeros((size, wide))
    c, d = np.zeros((len(OUTPUTS), size)), np.zeros((len(OUTPUTS), wide))
    a[: len(own), : len(own)], b[: len(own), : len(ground)] = rates[:, own], rates[:, ground]
    c[:, : len(own)], d[:, : len(ground)] = told[:, own], told[:, ground]
    d[0, INPUTS.index("surface")] = 1.0
    if bar is None:
        return Matrices(a, b, c, d)
    heave, pitch = _toolbar(bar)
    i = len(own)
    a[i, i + 1] = a[i + 2, i + 3] = 1.0
    for row, of in ((i + 1, heave), (i + 3, pitch)):
        a[row, i:], b[row, len(ground) : len(ground) + 4] = of[:4], of[4:]
    # the unit feels the toolbar's place, rate and acceleration
    for block, by in ((a, rates), (c, told)):
        block[: by.shape[0], i:] += by[:, [AT.z, AT.vz, AT.p, AT.vp]]
        block[: by.shape[0], i:] += np.outer(by[:, AT.az], heave[:4]) + np.outer(by[:, AT.ap], pitch[:4])
    for block, by in ((b, rates), (d, told)):
        block[: by.shape[0], len(ground) : len(ground) + 4] += (
            np.outer(by[:, AT.az], heave[4:]) + np.outer(by[:, AT.ap], pitch[4:])
        )  # fmt: skip
    return Matrices(a, b, c, d)


def _toolbar(bar: Toolbar) -> tuple[Values, Values]:
    """Heave and pitch acceleration by z, z′, p, p′ and by height and slope·v under the front and the rear axle."""
    k, c, f, r = bar.stiffness, bar.damping, bar.axle_front, bar.axle_rear
    front = np.array([-k, -c, -k * f, -c * f, k, c, 0.0, 0.0])
    rear = np.array([-k, -c, k * r, c * r, 0.0, 0.0, k, c])
    return (front + rear) / bar.mass, (f * front - r * rear) / bar.inertia
