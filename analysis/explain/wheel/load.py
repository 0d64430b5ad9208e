"""Why the gauge wheel carries more or less at one instant than when the depth was set, newton by newton.

The equation of the arm (`sim.mechanism.bodies`), divided by what the carrier rises per angle, l cos θ, is a balance of
vertical forces: what stands under the unit (wheels, disc, boot, stone, stop) carries its weight, its acceleration and
the push of the cylinder. Every load but the inertia is a channel of the run or follows from one with the law of the
march; so the inertia is what closes the balance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import NamedTuple

from analysis.present.unit_points import unit_points
from sim.ground_tables import GroundTables, ground_tables
from sim.hydraulics.cylinder import lever, piston_area
from sim.laws.contact import COLUMN, table_at
from sim.laws.wheel_soil import brixius_area, motion_resistance_at
from sim.record import Run
from sim.run import Prepared, prepare
from sim.setting import rest_at
from sim.unit import ATMOSPHERE, GRAVITY, Soil, Unit

TURN = 1e-6  # arm angle over which the wheel's path is read [rad]


@dataclass(frozen=True)
class LoadChange:
    """What the gauge load is above that at the depth setting, by cause; positive = more load on the wheel [N].

    The causes add up to the change of the load. Where the setting is left as made at the reference, "when set" is
    there.
    """

    gas: float  # oil pressure of this instant against the one set
    pressure_set: float  # the one set against the one at which the depth was set
    lever: float  # the cylinder's lever at this arm angle
    line: float  # hose and seals
    disc: float  # soil on the disc lifts less
    boot: float
    press: float  # the press wheel carries less
    stone: float
    stop: float  # travel stop of the arm
    tilt: float  # slope of the ground, pitch, arm angle: forces along the ground, and the weight's lever
    inertia: float  # the unit's acceleration: positive = it is being pushed up

    @property
    def total(self) -> float:
        """Change of the gauge load [N]."""
        return sum(self.by_cause().values())

    def by_cause(self) -> dict[str, float]:
        """By name [N]."""
        return {f.name: getattr(self, f.name) for f in fields(self)}


class _Lifts(NamedTuple):
    """What lifts the unit [N], each as it acts on the arm, or its vertical part alone."""

    gauge: float
    press: float
    disc: float
    boot: float
    stone: float

    @property
    def beside_the_wheel(self) -> float:
        return self.press + self.disc + self.boot + self.stone


@dataclass(frozen=True)
class Standing:
    """What a run's loads are held against: the unit at rest at its depth setting, and the ground as it is felt."""

    run: Run
    tables: GroundTables
    gauge: float  # [N]
    press: float
    disc: float
    boot: float
    weight: float  # of the unit on the arm [N]
    pressure: float  # at which the depth was set, gauge [Pa]
    tilt: float  # what closes the balance at the setting [N]

    def change(self, step: int) -> LoadChange:
        """The gauge load at a step against that at the setting."""
        run, s = self.run, self.run.series
        unit, wanted = run.unit, run.settings.oil_pressure
        th, area = float(s["arm_angle"][step]), piston_area(unit)
        here, nominal = lever(unit, th), lever(unit, unit.main_links.angle_nominal)
        oil, pushed = float(s["oil_pressure"][step]) - ATMOSPHERE, float(s["cylinder_force"][step])
        acting, upright = _lifts(run, self.tables, step)
        stopped = -float(s["stop_force"][step]) * unit.main_links.stop_arm / (unit.main_links.length * math.cos(th))
        weight = _weight(unit, run.setting.crank_angle, th, float(s["pitch"][step]), float(s["press_angle"][step]))
        leaning = (upright.gauge - acting.gauge) - (acting.beside_the_wheel - upright.beside_the_wheel)
        known = {
            "gas": (oil - wanted) * area * here.ratio,
            "pressure_set": (wanted - self.pressure) * area * nominal.ratio,
            "lever": wanted * area * (here.ratio - nominal.ratio),
            "line": (pushed - oil * area) * here.ratio,
            "disc": self.disc - upright.disc,
            "boot": self.boot - upright.boot,
            "press": self.press - upright.press,
            "stone": -upright.stone,
            "stop": -stopped,
            "tilt": leaning + (weight - self.weight) - self.tilt,
        }
        return LoadChange(**known, inertia=upright.gauge - self.gauge - sum(known.values()))


def standing(run: Run) -> Standing:
    """The unit at rest at the depth setting of a run. Raises LinkageError, LawError as `sim.run.prepare`."""
    unit, ready, pressure = run.unit, *_as_set(run)
    made, nominal = run.setting, run.unit.main_links.angle_nominal
    lift = None if ready.worn is None else ready.worn.lift
    rest = rest_at(ready.model, ready.law, made.toolbar_height, nominal, made.press_angle, run.soil.strength, lift)
    weight = _weight(unit, made.crank_angle, nominal, 0.0, made.press_angle)
    push = pressure * piston_area(unit) * lever(unit, nominal).ratio
    return Standing(
        run, ground_tables(unit, run.track, run.settings.set_depth),
        made.gauge_load, rest.press_load, rest.disc, rest.boot, weight, pressure,
        tilt=made.gauge_load + rest.press_load + rest.disc + rest.boot - weight - push,
    )  # fmt: skip


def _as_set(run: Run) -> tuple[Prepared, float]:
    """The model at which the depth was set, and its oil pressure, gauge [Pa]."""
    s = run.settings
    if s.setting != "redone":
        s = s.redone_at(s.reference_pressure, s.reference_speed)
    return prepare(run.unit, run.soil, run.track.rock, s), s.oil_pressure


def _lifts(run: Run, tables: GroundTables, step: int) -> tuple[_Lifts, _Lifts]:
    """What lifts the unit at a step: as it acts on the arm, and the vertical parts alone."""
    unit, s = run.unit, {name: float(series[step]) for name, series in run.series.items()}
    th, pitch = s["arm_angle"], s["pitch"]
    points = unit_points(unit, run.setting.crank_angle, th, s["press_angle"])
    carrier, axle = _paths(unit, run.setting.crank_angle, th, s["press_angle"])

    def read(column: int, x: float) -> tuple[float, float]:
        value, slope = table_at(tables.table, column, tables.x0, 1.0 / tables.dx, x)
        return float(value), float(slope)

    def at(name: str) -> float:
        """Place of a point along the ground [m]."""
        (px, pz), (hx, hz) = points[name], points["disc_hub"]
        return s["distance"] + math.cos(pitch) * (px - hx) - math.sin(pitch) * (pz - hz)

    def acts(f_x: float, f_z: float, path: tuple[float, float] = carrier) -> float:
        c, sn = math.cos(pitch), math.sin(pitch)
        along, up = c * f_x + sn * f_z, c * f_z - sn * f_x
        return (along * path[0] + up * path[1]) / (unit.main_links.length * math.cos(th))

    def rolls(load: float, slope: float, resistance: float) -> tuple[float, float]:
        return -load * (slope + resistance), load * (1.0 - resistance * slope)

    wheel, x, gauge, press = unit.gauge_wheel, s["distance"], s["gauge_load"], s["press_load"]
    area = brixius_area(wheel.width, 2.0 * wheel.radius)
    strength = max(read(COLUMN.wheel_strength, at("gauge_axle"))[0], 0.0)
    resistance = float(motion_resistance_at(gauge, strength * area))
    boot_x, boot_z = _boot(unit, run.soil, s["depth"] + read(COLUMN.ahead, x)[0] - read(COLUMN.surface, x)[0],
                           max(read(COLUMN.strength, x)[0], 0.0))  # fmt: skip
    hard = read(COLUMN.hard, x)[1]
    stone = s["rock_force"] / math.hypot(1.0, hard)
    acting = _Lifts(
        acts(*rolls(gauge, read(COLUMN.gauge, at("gauge_axle"))[1], resistance), axle),
        acts(*rolls(press, read(COLUMN.press, at("press_axle"))[1], unit.press_wheel.rolling)),
        acts(s["disc_draught"], s["disc_vertical"]), acts(boot_x, boot_z), acts(-stone * hard, stone),
    )  # fmt: skip
    return acting, _Lifts(gauge, press, s["disc_vertical"], boot_z, stone)


def _boot(unit: Unit, soil: Soil, depth: float, strength: float) -> tuple[float, float]:
    """Soil force on the boot (x, z) [N] at the depth that the disc law sees [m] and a strength [Pa]."""
    share = min(max(depth, 0.0), unit.disc.radius) * strength / soil.reference_strength
    return -unit.disc.boot_draught * share, unit.disc.boot_vertical * share


def _paths(unit: Unit, crank: float, th: float, press: float) -> tuple[tuple[float, float], tuple[float, float]]:
    """How carrier and gauge axle move per arm angle [m/rad], toolbar axes."""
    length = unit.main_links.length
    low, high = (unit_points(unit, crank, th + way * TURN, press)["gauge_axle"] for way in (-1.0, 1.0))
    axle = ((high[0] - low[0]) / (2.0 * TURN), (high[1] - low[1]) / (2.0 * TURN))
    return (length * math.sin(th), length * math.cos(th)), axle


def _weight(unit: Unit, crank: float, th: float, pitch: float, press: float) -> float:
    """Weight of the unit as it acts on the arm [N]: links by half, all else as it moves with the carrier."""
    carrier, axle = _paths(unit, crank, th, press)
    depth, wheel = unit.depth_linkage, unit.gauge_wheel
    share = wheel.arm_centre / wheel.arm_length
    with_carrier = (
        unit.main_links.mass + unit.carrier.mass + unit.press_wheel.arm_mass + depth.bell_mass
        + depth.turnbuckle_mass + 0.5 * depth.rod_mass + (1.0 - share) * wheel.arm_mass
    )  # fmt: skip
    moved = [with_carrier * a + share * wheel.arm_mass * b for a, b in zip(carrier, axle, strict=True)]
    along, up = math.sin(pitch), math.cos(pitch)
    return GRAVITY * (along * moved[0] + up * moved[1]) / (unit.main_links.length * math.cos(th))
