"""What a unit's worn pins let its gauge wheel up and down: levers, masses, and where all of it lies at rest.

Derivation, lines and law: `sim.mechanism.play`. Levers are those at the nominal arm angle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.arithmetic.compiled import kernel
from sim.laws.gas import GasLaw
from sim.mechanism.bodies import accelerations, bodies
from sim.mechanism.forces import Ground, contact_forces, pushed
from sim.mechanism.kinematics import Bar, State, contact_points
from sim.mechanism.linkage import closures
from sim.mechanism.pins import pin_forces
from sim.mechanism.play import LINES, N_PLAY, N_SLACK, Lift, Slack, forces_along
from sim.model import Model
from sim.record import PINS, DepthSetting
from sim.setting import equilibrium, rest_at
from sim.unit import Clearance, Unit

DEPTH_PINS = ("crank", "rod_front", "rod_rear", "bell_crank", "turnbuckle_front", "turnbuckle_rear")
UPPER_PINS, LOWER_PINS = ("main_upper_front", "main_upper_rear"), ("main_lower_front", "main_lower_rear")
SWEEPS = 4  # over the lines, until none moves
LEAST_MASS = 0.5  # that a loose wheel has [kg]
LEAST_LEVER = 1e-3  # N along a link per N on the wheel, below which its play moves no wheel


@dataclass(frozen=True)
class Worn:
    """Play of a unit at one depth setting, in the order of `sim.mechanism.play.LINES`; heights at the gauge wheel."""

    half: tuple[float, ...]  # by so much each line lets the wheel up or down [m]
    mass: tuple[float, ...]  # that moves while it is crossed, on the wheel [kg]
    lever: tuple[float, ...]  # force along the line per force on the wheel, pushed positive [1]
    at: tuple[float, ...]  # where the wheel is at the setting [m]
    pins: tuple[tuple[str, float], ...]  # by so much the wheel goes from end to end per play in a pin [1]

    @property
    def lift(self) -> Lift:
        """The wheel as the pins hold it at the setting."""
        return Lift(math.fsum(self.at), 0.0)

    def numbers(self) -> NDArray[np.float64]:
        """What a march carries, (N_PLAY,)."""
        made = np.zeros(N_PLAY)
        for i, (half, mass, lever, at) in enumerate(zip(self.half, self.mass, self.lever, self.at, strict=True)):
            side = -1.0 if at < 0.0 else 1.0
            share = 0.0 if abs(lever) < LEAST_LEVER else 1.0 / lever
            made[i * N_SLACK : (i + 1) * N_SLACK] = Slack(half, 1.0 / mass, share, at, 0.0, side, *(0.0,) * 4)
        return made


def without_play(unit: Unit) -> Unit:
    """The same unit with pins that fit."""
    return replace(unit, clearance=Clearance())


class Knocks(NamedTuple):
    """What became of one line of worn pins on a crossing."""

    line: str  # of `sim.mechanism.play.LINES`
    way: float  # of the gauge wheel against the disc, from end to end [m]
    per_km: float  # how often the other end was reached
    fastest: float  # at what speed at most [m/s]
    loose: float  # share of the way on which it did not hold the wheel up


def knocks_of(numbers: NDArray[np.float64], steps: int, travel: float) -> tuple[Knocks, ...]:
    """Every line that has play, from what a march of so many steps carried (N_PLAY,); travel: in one of them [m]."""
    found = [Slack(*numbers[i * N_SLACK : (i + 1) * N_SLACK].tolist()) for i in range(len(LINES))]
    return tuple(
        Knocks(line, 2.0 * s.half, 1e3 * s.count / max(steps * travel, 1e-9), s.fastest, s.loose / max(steps, 1))
        for line, s in zip(LINES, found, strict=True)
        if s.half > 0.0
    )


def is_worn(unit: Unit) -> bool:
    """Whether any pin has play."""
    c = unit.clearance
    return c.main_pins > 0.0 or c.depth_linkage > 0.0 or c.gauge_arm > 0.0


def worn(unit: Unit, crank_angle: float) -> Worn:
    """Lines, levers and masses of a unit at a crank angle [rad] and the nominal arm angle; all play in its middle."""
    c, levers = unit.clearance, wheel_levers(unit, crank_angle)
    play = dict.fromkeys(DEPTH_PINS, c.depth_linkage) | {"gauge_arm": c.gauge_arm}
    play |= dict.fromkeys((*UPPER_PINS, *LOWER_PINS), c.main_pins)
    by_line = ((*DEPTH_PINS, "gauge_arm"), UPPER_PINS, LOWER_PINS)
    half = tuple(0.5 * math.fsum(abs(levers[pin]) * play[pin] for pin in pins) for pins in by_line)
    along = (levers["turnbuckle_front"], levers["main_upper_front"], levers["main_lower_front"])
    mass = _masses(unit, crank_angle, *along[1:])
    return Worn(half, mass, along, (0.0,) * len(LINES), tuple((pin, abs(levers[pin])) for pin in PINS if pin in play))


def wheel_levers(unit: Unit, crank_angle: float) -> dict[str, float]:
    """Force in a pin per newton up on the wheel and down on the disc, by name, from lengths and places alone.

    By virtual work that is the height that the wheel loses per length added to a link (pushed positive), and per way
    of a pivot in its most sensitive direction (no sign); central differences of the closed loops.
    """
    tiny = 1e-6

    def slope(**way: complex) -> float:
        plus, minus = (pose(unit, crank_angle, Moved(**{k: f * v for k, v in way.items()})) for f in (tiny, -tiny))
        return (minus.over - plus.over) / (2.0 * tiny)

    found = {"crank": math.hypot(slope(crank_pivot=1.0), slope(crank_pivot=1j))}
    found |= dict.fromkeys(("rod_front", "rod_rear"), slope(rod=1.0))
    found["bell_crank"] = math.hypot(slope(bell_pivot=1.0), slope(bell_pivot=1j))
    found |= dict.fromkeys(("turnbuckle_front", "turnbuckle_rear"), slope(turnbuckle=1.0))
    found["gauge_arm"] = math.hypot(slope(arm_pivot=1.0), slope(arm_pivot=1j))
    found |= dict.fromkeys(UPPER_PINS, slope(upper=1.0)) | dict.fromkeys(LOWER_PINS, slope(lower=1.0))
    return found


@dataclass(frozen=True)
class Moved:
    """Small changes of a unit: lengths added [m], pivots moved (x + iz) [m]."""

    crank_pivot: complex = 0.0
    rod: complex = 0.0
    bell_pivot: complex = 0.0
    turnbuckle: complex = 0.0
    arm_pivot: complex = 0.0
    upper: complex = 0.0
    lower: complex = 0.0


class Pose(NamedTuple):
    """A unit put together at its nominal arm angle; x + iz from U0 [m]."""

    over: float  # height of the wheel's lowest point over the disc's
    pivot: complex  # of the gauge arm
    axle: complex
    rear: complex  # U1


def pose(unit: Unit, crank_angle: float, by: Moved) -> Pose:
    """The unit with its main links of unlike length, so that the carrier leans, and its pivots moved."""
    links, link, arm, disc = unit.main_links, unit.depth_linkage, unit.gauge_wheel, unit.disc
    th = links.angle_nominal
    lower = complex(0.0, -links.spacing) + (links.length + by.lower.real) * complex(-math.cos(th), math.sin(th))
    rear = meeting(lower, 0.0, links.spacing, links.length + by.upper.real)
    turn = (rear - lower) / complex(0.0, links.spacing)
    # the actuator keeps its length while the crank's pivot moves
    front, base = complex(*link.crank_pivot), complex(*link.actuator_base)
    arm_pin = link.actuator_arm * complex(math.cos(crank_angle), math.sin(crank_angle))
    far = abs(front + arm_pin - base)
    left = ((base - front).conjugate() * arm_pin).imag > 0.0
    front += by.crank_pivot
    held = meeting(front, base, link.actuator_arm, far) if left else meeting(base, front, far, link.actuator_arm)
    crank = front + link.crank / link.actuator_arm * (held - front)
    bell = rear + turn * (complex(*link.bell_pivot) + by.bell_pivot)
    first = meeting(bell, crank, link.bell_first, link.rod + by.rod.real) - bell
    angle = link.bell_angle
    second = bell + link.bell_second / link.bell_first * first * complex(math.cos(angle), math.sin(angle))
    pivot = rear + turn * (complex(*arm.arm_pivot) + by.arm_pivot)
    lug = meeting(pivot, second, arm.lug, link.turnbuckle + by.turnbuckle.real) - pivot
    axle = pivot + arm.arm_length / arm.lug * lug
    hub = rear + turn * complex(*disc.hub)
    return Pose((axle.imag - arm.radius) - (hub.imag - disc.radius), pivot, axle, rear)


def meeting(first: complex, second: complex, r1: float, r2: float) -> complex:
    """Point at r1 from `first` and r2 from `second`, left of the way from one to the other."""
    line = second - first
    far = abs(line)
    cosine = (r1**2 + far**2 - r2**2) / (2.0 * r1 * far)
    return first + r1 * complex(cosine, math.sqrt(max(1.0 - cosine**2, 0.0))) * line / far


def _masses(unit: Unit, crank_angle: float, upper: float, lower: float) -> tuple[float, float, float]:
    """What moves while a line's play is crossed, as a mass on the wheel [kg]; levers of the main links.

    Depth linkage: gauge arm and wheel about their pivot. A main link: all that the carrier holds, leaning about the
    other link's rear pin, free to go up and down with the arms (the press arm as if it did not swing).
    """
    arm, press = unit.gauge_wheel, unit.press_wheel
    at = pose(unit, crank_angle, Moved())
    way = at.axle - at.pivot
    own = max((arm.arm_inertia + arm.arm_mass * arm.arm_centre**2) / way.real**2, LEAST_MASS)
    centre = at.pivot - at.rear + arm.arm_centre / arm.arm_length * way
    held = (
        (unit.carrier.mass, unit.carrier.inertia, complex(*unit.carrier.centre)),
        (arm.arm_mass, arm.arm_inertia, centre),
        (press.arm_mass, 0.0, complex(*press.pivot)),
        (unit.depth_linkage.bell_mass, 0.0, complex(*unit.depth_linkage.bell_pivot)),
    )
    middle = sum(m * p.real for m, _, p in held) / sum(m for m, _, _ in held)
    d = unit.main_links.spacing

    def leaning(height: float) -> float:
        return sum(i + m * ((p.real - middle) ** 2 + (p.imag - height) ** 2) for m, i, p in held) / d**2

    return own, leaning(-d) / max(upper**2, LEAST_LEVER**2), leaning(0.0) / max(lower**2, LEAST_LEVER**2)


@kernel
def _along(m, law, z_bar, th, ps, dg, dp, strength, lift):
    """Forces along turnbuckle, upper and lower link of the unit at rest [N], pushed positive; arguments as `at_rest`,
    dg, dp its tyre deflections."""
    bar = Bar(0.0, z_bar, 0.0, 0.0, 0.0, 0.0, 0.0)
    y = State(th, 0.0, ps, 0.0, dg, dp, m.wall, 0.0)
    k = closures(m, th)
    pt = contact_points(m, bar, y, k, lift)
    gr = Ground(0.0, -0.2, 0.0, 0.0, 0.0, 0.0, 0.0, strength, strength, 0.0, strength, 0.0, 0.0)
    f = contact_forces(m, bar, y, k, pt, gr, *pushed(m, law, y, k))
    b = bodies(m, bar, y, k, pt)
    return forces_along(m, k, pin_forces(m, bar, y, k, pt, f, b, accelerations(m, bar, y, k, pt, f, b)))


def loads(
    m: Model, law: GasLaw, z_bar: float, th: float, ps: float, strength: float, play: Worn, at: Sequence[float]
) -> list[float]:
    """Load on each line at rest, as a force on the wheel that lets it up [N]; at: where the wheel is in each [m]."""
    lift = Lift(math.fsum(at), 0.0)
    rest = rest_at(m, law, z_bar, th, ps, strength, lift)
    forces = _along(m, law, z_bar, th, ps, rest.dg, rest.dp, strength, lift)
    return [f / lever if abs(lever) >= LEAST_LEVER else 0.0 for f, lever in zip(forces, play.lever, strict=True)]


def as_set(m: Model, law: GasLaw, made: DepthSetting, nominal: float, strength: float, play: Worn) -> Worn:
    """The play as it lies when the depth is set: a grower sets it with the loads of work on every pin.

    made: the setting of the same unit without play. At the arm's nominal angle the loads do not hang on the play.
    """
    found = loads(m, law, made.toolbar_height, nominal, made.press_angle, strength, play, play.at)
    return replace(play, at=tuple(math.copysign(h, load) for h, load in zip(play.half, found, strict=True)))


def resting(
    unit: Unit, m: Model, law: GasLaw, z_bar: float, strength: float, play: Worn | None
) -> tuple[float, float, Worn | None]:
    """Arm and press arm angle [rad] at rest on flat ground, and the play as it lies there: each line at the end that
    its load holds it at, or between them where it has none. play: None without wear. Raises EquilibriumError.
    """
    if play is None:
        return *equilibrium(unit, m, law, z_bar, strength), None
    from scipy.optimize import brentq  # noqa: PLC0415 (a third of a second)

    at = list(play.at)

    def load(line: int, here: float) -> float:
        tried = [*at[:line], here, *at[line + 1 :]]
        th, ps = equilibrium(unit, m, law, z_bar, strength, Lift(math.fsum(tried), 0.0))
        return loads(m, law, z_bar, th, ps, strength, play, tried)[line]

    for _ in range(SWEEPS):
        before = list(at)
        for line, half in enumerate(play.half):
            if half == 0.0:
                continue
            if load(line, half) >= 0.0:
                at[line] = half
            elif load(line, -half) <= 0.0:
                at[line] = -half
            else:
                at[line] = float(brentq(lambda x, line=line: load(line, x), -half, half, xtol=1e-7))
        if max(abs(a - b) for a, b in zip(at, before, strict=True)) < 1e-6:
            break
    found = replace(play, at=tuple(at))
    return *equilibrium(unit, m, law, z_bar, strength, found.lift), found
