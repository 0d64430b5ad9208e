"""One instant, two ways: the compiled equations against loose bodies with a multiplier for every pin.

The bodies' places come from a root search, their velocities and accelerations and all reactions from linear systems
in 27 coordinates and 25 constraints (rigid multibody dynamics in its plainest form); no time is stepped, so both
must agree to rounding. Runs compiled and, with NUMBA_DISABLE_JIT=1, as plain Python (test_broken_physics does that).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pytest
from crooked import CROOKED, TRUE
from numpy.typing import NDArray

from sim.hydraulics.oil import hydraulics
from sim.laws.contact import COLUMN, COLUMNS
from sim.march import loop as kernel
from sim.mechanism.kinematics import State
from sim.record import CHANNEL, CHANNELS, LOSSES, SUM, Channels
from sim.rigid.bodies import CARRIER, CRANK, LOWER, PRESS, TOOLBAR, Parts, assemble, parts
from sim.rigid.laws import laws
from sim.rigid.loads import GAS, OIL, PRESS_TYRE, SLOW, STONE, TYRE, loads
from sim.run import Prepared, prepare
from sim.unit import ATMOSPHERE, GRAVITY, Rock, Settings, Soil, Unit

SETTINGS = {
    "real gas": Settings(speed=10 / 3.6),
    "held, ideal gas": Settings(speed=6 / 3.6, gas="ideal", oil="held", press_notch=-1),
    "out of oil": Settings(speed=8 / 3.6, oil_pressure=30e5, precharge=45e5, reference_pressure=30e5),
}
CASES = [(unit, name) for unit in ("true", "crooked") for name in SETTINGS]
UNITS = {"true": TRUE, "crooked": CROOKED}
X0, DX = -4.0, 0.05  # ground tables [m]
INSTANTS = 12
POWERS = [name for name in LOSSES if name != "rock"]  # a stone that gives way switches within the step
BLINK = 1e-7  # step of the compiled march [s]: powers change by less than 1e-4 of themselves in it


@dataclass(frozen=True)
class Instant:
    """A state of the unit and its toolbar, and the ground around it."""

    arm: tuple[float, float]  # θ, θ′
    press: tuple[float, float]  # ψ, ψ′
    bar: NDArray[np.float64]  # z, z′, z″, p, p′, p″
    slow: tuple[float, float, float, float]  # δ, δ_p, gas temperature, let-in oil
    table: NDArray[np.float64]  # (7, n): sim.laws.contact.GroundColumns


def instants(unit: Unit, ready: Prepared, seed: int) -> list[Instant]:
    """Random states within the travel, over uneven ground that all wheels, the disc and a stone mostly touch."""
    rng = np.random.default_rng(seed)
    x = X0 + DX * np.arange(round(8.0 / DX) + 1)
    found = []
    for _ in range(INSTANTS):
        th, ps = rng.uniform(-0.45, 0.45), rng.uniform(-0.55, 0.3)
        # the ground goes up and down with the arm, and here and there beyond its reach
        height = (th - unit.main_links.angle_nominal) * unit.main_links.length + rng.normal(0.0, 0.01)
        wave = 0.01 * np.sin(2 * np.pi * x / rng.uniform(0.8, 3.0) + rng.uniform(0, 6))
        columns = [height + wave + rng.normal(0.0, 0.002) for _ in range(COLUMNS)]
        columns[COLUMN.hard] = columns[COLUMN.hard] - rng.uniform(-0.005, 0.06)
        for column in (COLUMN.strength, COLUMN.wheel_strength):  # not the same under disc, gauge and press wheel
            columns[column] = rng.uniform(0.6e6, 2e6) * (1.0 + 0.3 * np.sin(2 * np.pi * x / 2.5 + rng.uniform(0, 6)))
        table = np.stack(columns)
        bar = rng.normal(0.0, 1.0, 6) * (0.01, 0.2, 3.0, 0.03, 0.15, 2.0)
        slow = (rng.uniform(0, 0.008), rng.uniform(0, 0.004), rng.uniform(270, 320), rng.normal(0.0, 5e-6))
        found.append(Instant((th, rng.normal(0, 1.0)), (ps, rng.normal(0, 2.0)), bar, slow, table))
    return found


class Seen(NamedTuple):
    """What an engine says of an instant."""

    row: NDArray[np.float64]  # channels (29,)
    pins: NDArray[np.float64]  # (29,) with the actuator
    powers: NDArray[np.float64]  # (15,) in the order of sim.record.Sums [W]


def compiled(unit: Unit, ready: Prepared, at: Instant, speed: float) -> Seen:
    """An instant from the compiled march's record of its first step; powers are means over that step."""
    out, pins, checks = np.zeros(2 * kernel.N_CHANNELS), np.zeros(2 * kernel.N_PINS), np.zeros(2 * kernel.N_CHECKS)
    sums, y = np.zeros(kernel.N_SUMS), State(*at.arm, *at.press, *at.slow)
    status = kernel.march(
        ready.model, ready.law, at.table, np.full(at.table.shape[1], -1, dtype=np.int32), X0, 1.0 / DX,
        _moving(at.bar), ready.setting.toolbar_height, _bar_x(unit), BLINK, -2.0, 2.0, y, out, pins,
        checks, sums, np.zeros(kernel.N_INFO),
    )  # fmt: skip
    assert status == kernel.OK
    assert np.abs(checks[1:3]).max() < 1e-8 * np.abs(pins).max()  # the equations left over
    return Seen(out[::2], np.append(pins[: kernel.N_PINS], checks[0]), sums / BLINK)


def _moving(bar: NDArray[np.float64]) -> NDArray[np.float64]:
    """Three nodes of the toolbar's path, half a step apart, that carry an instant on."""
    z, vz, az, p, vp, ap = bar
    nodes = [(z + vz * t, vz + az * t, az, p + vp * t, vp + ap * t, ap) for t in (0.0, 0.5 * BLINK, BLINK)]
    return np.array(nodes)


def _bar_x(unit: Unit) -> float:
    """Toolbar so far ahead that the disc stands about x = 0."""
    return unit.main_links.length - unit.toolbar.upper_pin[0] - unit.disc.hub[0]


def _turned(angle: float, point: NDArray[np.float64]) -> NDArray[np.float64]:
    c, s = math.cos(angle), math.sin(angle)
    return np.array([c * point[0] - s * point[1], s * point[0] + c * point[1]])


def _left(v: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.array([-v[1], v[0]])


class Bodies:
    """All bodies at one instant: places, and the constraints between them as rows of a linear system."""

    def __init__(self, unit: Unit, ready: Prepared, at: Instant, speed: float) -> None:
        self.part: Parts = parts(unit)
        self.at = at
        z, vz, az, p, vp, ap = at.bar
        level = assemble(unit, ready.setting.crank_angle, at.arm[0], at.press[0])
        self.pose = level.copy()
        origin = np.array([_bar_x(unit), ready.setting.toolbar_height + z])
        for i in range(10):
            self.pose[i, :2] = _turned(p, level[i, :2]) + origin
            self.pose[i, 2] += p
        self.bar_vel, self.bar_acc = np.array([speed, vz, vp]), np.array([0.0, az, ap])
        self.rows = self._rows()
        self.vel = self._velocities()

    def _pairs(self):
        """(first body, its lever, second body, its lever) of every pivot, then of the strut."""
        part = self.part
        ends = [*zip(part.first, part.on_first, part.second, part.on_second, strict=True)]
        ends.append((TOOLBAR, part.strut_bar, CRANK, part.strut_crank))
        return [(a, _turned(self.pose[a, 2], u), b, _turned(self.pose[b, 2], v)) for a, u, b, v in ends]

    def _rows(self) -> NDArray[np.float64]:
        """(25, 30): relative velocity of the two points of each pivot from all bodies' velocities."""
        rows = np.zeros((25, 30))
        for j, (a, u, b, v) in enumerate(self._pairs()[:12]):
            for body, lever, sign in ((a, u, -1.0), (b, v, 1.0)):
                rows[2 * j, 3 * body] += sign
                rows[2 * j + 1, 3 * body + 1] += sign
                rows[2 * j : 2 * j + 2, 3 * body + 2] += sign * _left(lever)
        a, u, b, v = self._pairs()[12]
        along = self.pose[b, :2] + v - self.pose[a, :2] - u
        self.strut = along / np.hypot(*along)
        for body, lever, sign in ((a, u, -1.0), (b, v, 1.0)):
            rows[24, 3 * body : 3 * body + 2] = sign * self.strut
            rows[24, 3 * body + 2] = sign * self.strut @ _left(lever)
        return rows

    def _velocities(self) -> NDArray[np.float64]:
        """Velocities (10, 3) from the two rates and the toolbar's motion."""
        system = np.zeros((27, 27))
        system[:25] = self.rows[:, :27]
        right = np.concatenate([-self.rows[:, 27:] @ self.bar_vel, np.zeros(2)])
        system[25, 3 * LOWER + 2] = -1.0  # θ′ = p′ − link's turn
        right[25] = self.at.arm[1] - self.bar_vel[2]
        system[26, 3 * CARRIER + 2], system[26, 3 * PRESS + 2] = 1.0, -1.0  # ψ′ = carrier's turn − press arm's
        right[26] = self.at.press[1]
        return np.concatenate([np.linalg.solve(system, right), self.bar_vel]).reshape(10, 3)

    def _centripetal(self) -> NDArray[np.float64]:
        """What the constraints' accelerations have beside rows @ accelerations, (25,)."""
        turn = self.vel[:, 2]
        gamma = np.zeros(25)
        for j, (a, u, b, v) in enumerate(self._pairs()):
            bend = turn[a] ** 2 * u - turn[b] ** 2 * v
            if j < 12:
                gamma[2 * j : 2 * j + 2] = bend
            else:
                apart = self.vel[b, :2] + turn[b] * _left(v) - self.vel[a, :2] - turn[a] * _left(u)
                length = np.hypot(*(self.pose[b, :2] + v - self.pose[a, :2] - u))
                gamma[24] = self.strut @ bend + (apart @ apart - (self.strut @ apart) ** 2) / length
        return gamma

    def solve(self, force: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Accelerations (10, 3) and reactions (25,), first body on second, under forces (10, 3)."""
        mass = np.stack([self.part.mass, self.part.mass, self.part.inertia], axis=1).ravel()
        weight = np.stack([np.zeros(9), -GRAVITY * self.part.mass, np.zeros(9)], axis=1).ravel()
        rows = self.rows[:, :27]
        system = np.block([[np.diag(mass), -rows.T], [rows, np.zeros((25, 25))]])
        right = np.concatenate([force[:9].ravel() + weight, -self.rows[:, 27:] @ self.bar_acc - self._centripetal()])
        scale = np.concatenate([np.sqrt(mass), np.full(25, 10.0)])
        found = np.linalg.solve(system / scale / scale[:, None], right / scale) / scale
        return np.concatenate([found[:27], self.bar_acc]).reshape(10, 3), found[27:]


def loose(unit: Unit, soil: Soil, rock: Rock, settings: Settings, ready: Prepared, at: Instant) -> Seen:
    """An instant from the loose bodies; the hub's acceleration as the compiled one defines it."""
    bodies = Bodies(unit, ready, at, settings.speed)
    row, force, lost = np.zeros(len(CHANNELS)), np.zeros((10, 3)), np.zeros(kernel.N_SUMS)
    slow = np.zeros(SLOW)
    slow[TYRE], slow[PRESS_TYRE], slow[GAS], slow[OIL] = at.slow
    slow[STONE] = -1.0
    _, cyl_x, cyl_z = loads(
        laws(unit, soil, rock, settings, ready), ready.model, ready.law, bodies.part, bodies.pose, bodies.vel,
        at.table, np.full(at.table.shape[1], -1, dtype=np.int32), X0, 1.0 / DX, 0.0, slow, force, row, lost,
    )  # fmt: skip
    acceleration, found = bodies.solve(force)
    pins = np.zeros(29)
    for j in range(12):
        place = 2 * (j if j < 4 else j + 2)
        pins[place : place + 2] = _turned(-at.bar[3], found[2 * j : 2 * j + 2])
    pins[8:10] = pins[10:12] = _turned(-at.bar[3], np.array([cyl_x, cyl_z]))
    pins[28] = found[24]
    # the hub rides on the carrier: a + p″JΔ − p′²Δ, Δ turned with the toolbar
    off = np.subtract(unit.disc.hub, unit.carrier.centre)
    off = _turned(at.bar[3], off)
    level, turn = acceleration[CARRIER, 1:]
    row[CHANNEL.carrier_acceleration] = level + turn * off[0] - at.bar[4] ** 2 * off[1]
    return Seen(row, pins, lost)


@pytest.mark.parametrize(("unit", "name"), CASES)
def test_both_agree_at_any_instant(unit, name):
    settings, soil, rock = SETTINGS[name], Soil(), Rock()
    ready = prepare(UNITS[unit], soil, rock, settings)
    touched = np.zeros(4)
    for at in instants(UNITS[unit], ready, seed=5):
        row, pins, powers = compiled(UNITS[unit], ready, at, settings.speed)
        other, other_pins, other_powers = loose(UNITS[unit], soil, rock, settings, ready, at)
        names = [channel.name for channel in CHANNELS]
        size = {"Pa": 1e5, "N": 1e3, "K": 300.0, "m3": 1e-4, "m/s2": 10.0}
        for i, channel in enumerate(CHANNELS[1:], start=1):
            allowed = 1e-9 * max(abs(row[i]), size.get(channel.unit, 1.0))
            assert other[i] == pytest.approx(row[i], abs=allowed), names[i]
        np.testing.assert_allclose(other_pins, pins, rtol=0.0, atol=1e-9 * np.abs(pins).max())
        for loss in POWERS:
            power = powers[getattr(SUM, loss)]
            assert other_powers[getattr(SUM, loss)] == pytest.approx(power, rel=2e-4, abs=0.02), loss
        now = Channels(*row)
        touched += [now.gauge_load > 0, now.press_load > 0, now.disc_vertical > 0, now.rock_force > 0]
    assert (touched >= 3).all()  # wheels, disc and stone were on the ground


def test_the_gas_spring_of_a_run_is_nitrogen():
    """Stiffness of a fast stroke from the set pressure, −(Δp/p)/(ΔV/V), against ρ a²/p of nitrogen.

    Density and speed of sound: Span et al. 2000 through CoolProp (computed). An ideal gas would give 1.40.
    """
    from CoolProp.CoolProp import PropsSI  # noqa: PLC0415 - two seconds that the other tests here do not need

    settings = Settings(gas="real", oil_pressure=60e5)
    ready = prepare(TRUE, Soil(), Rock(), settings)
    length, time = ready.model.cyl_nominal, 1e-4
    stroke, wall = 1e-4, ready.model.wall
    _, before, _, volume, warming, *_ = hydraulics(ready.model, ready.law, length, stroke / time, wall, 0.0)
    # one fast step of Heun's rule: temperature follows the stroke
    _, _, _, _, later, *_ = hydraulics(
        ready.model, ready.law, length + stroke, stroke / time, wall + time * warming, 0.0
    )
    warm = wall + 0.5 * time * (warming + later)
    _, after, _, end, *_ = hydraulics(ready.model, ready.law, length + stroke, stroke / time, warm, 0.0)
    assert before == pytest.approx(60e5 + ATMOSPHERE, rel=1e-9)
    exponent = -math.log(after / before) / math.log(end / volume)
    density = PropsSI("D", "P", before, "T", wall, "Nitrogen")
    nitrogen = density * PropsSI("A", "P", before, "T", wall, "Nitrogen") ** 2 / before
    assert exponent == pytest.approx(nitrogen, rel=0.01)
