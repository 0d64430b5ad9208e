"""Ridges crossed with the whole model: what they do where small motions end, and what would change it.

Even ridges, height/2·cos, on otherwise flat ground of the soil's mean strength, without stones; they begin in the
lead-in as all ground does, so that what is measured has settled.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from scenarios.ground.curves import blend
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.hydraulics.working import keeps
from sim.run import LEAD_IN, simulate
from sim.track import Track, flat_track
from sim.unit import Settings, Unit

SHORTEST, WAVES = 10.0, 8  # measured at least [m], and so many ridges
FLAT, RISE = 14.0, 8.0  # of the lead-in: flat, then the ridges grow [m]
NAN = math.nan


@dataclass(frozen=True)
class Crossed:
    """One crossing of ridges; NaN where it could not be made."""

    speed: float  # [m/s]
    swing: float = NAN  # half of what lies between the shallowest and the deepest depth [m]
    worst: float = NAN  # depth error at its worst, either way [m]
    wheel_off: float = NAN  # share of the way without load on the gauge wheel [1]
    load_swing: float = NAN  # half of what lies between the least and the most load on it [N]
    problem: str = ""


@dataclass(frozen=True)
class Change:
    """One change and what became of the swing at the file's own speed."""

    name: str
    value: float  # of what was changed, in edge units
    found: Crossed


def ridges_track(spacing: float, height: float, strength: float) -> Track:
    """Even ridges [m] on flat soil of a strength [Pa]; the measured stretch holds a whole number of them."""
    count = max(WAVES, math.ceil(SHORTEST / spacing))
    track = flat_track(count * spacing, strength)
    share = blend((track.x + LEAD_IN - FLAT) / RISE)
    ground = 0.5 * height * np.cos(2.0 * np.pi * track.x / spacing) * share
    return replace(track, ground=ground)


def cross_ridges(
    scenario: Scenario, spacing: float, height: float, settings: Settings, unit: Unit | None = None
) -> Crossed:
    """Cross ridges so far apart and so high [m] with the whole model."""
    track = ridges_track(spacing, height, scenario.soil.strength)
    try:
        run = simulate(scenario.unit if unit is None else unit, scenario.soil, track, settings)
    except SimulationError as error:
        return Crossed(settings.speed, problem=str(error))
    depth, load = run.series["depth"], run.series["gauge_load"]
    worst = float(np.abs(depth - settings.set_depth).max())
    off = float(np.mean(load <= 0.0))
    return Crossed(settings.speed, 0.5 * float(np.ptp(depth)), worst, off, 0.5 * float(np.ptp(load)))


def by_speed(scenario: Scenario, spacing: float, height: float, speeds: tuple[float, ...]) -> tuple[Crossed, ...]:
    """Cross the same ridges at each speed [m/s]."""
    return tuple(
        cross_ridges(scenario, spacing, height, replace(scenario.settings, speed=speed)) for speed in speeds
    )  # fmt: skip


def _gauge(**factors: float) -> Callable[[Unit], Unit]:
    def changed(unit: Unit) -> Unit:
        wheel = unit.gauge_wheel
        return replace(unit, gauge_wheel=replace(wheel, **{k: f * getattr(wheel, k) for k, f in factors.items()}))

    return changed


ASLANT = math.radians(45.0)
SQUARE = math.radians(60.0)  # ridges met at a smaller angle than this are met aslant already
PRESSURE_STEP, LEAST_PRESSURE, MOST_PRESSURE = 10e5, 10e5, 250e5  # [Pa]


def changes(scenario: Scenario, spacing: float, height: float, angle: float) -> tuple[Change, ...]:
    """What the swing at the file's own speed would be: ridges met aslant, other pressure, another tyre.

    spacing: along the row, angle: between ridges and travel [rad]; those that are met aslant already are not turned.
    A pressure that the precharge does not suit is left out.
    """
    s = scenario.settings

    def crossed(settings: Settings = s, unit: Unit | None = None, apart: float = spacing) -> Crossed:
        return cross_ridges(scenario, apart, height, settings, unit)

    def pressed(name: str, pressure: float) -> Change | None:
        other = replace(s, oil_pressure=pressure)
        if not LEAST_PRESSURE <= pressure <= MOST_PRESSURE or not keeps(scenario.limits.gas_rule, scenario.unit, other):
            return None
        return Change(name, pressure / 1e5, crossed(other))

    wheel = scenario.unit.gauge_wheel
    found = [
        Change("aslant", math.degrees(ASLANT), crossed(apart=spacing * math.sin(angle) / math.sin(ASLANT)))
        if angle > SQUARE
        else None,
        pressed("more_pressure", s.oil_pressure + PRESSURE_STEP),
        pressed("less_pressure", s.oil_pressure - PRESSURE_STEP),
        Change("tyre_damping", 2e-3 * wheel.tyre_damping, crossed(unit=_gauge(tyre_damping=2.0)(scenario.unit))),
        Change(
            "tyre_stiffness", 0.5e-3 * wheel.tyre_stiffness, crossed(unit=_gauge(tyre_stiffness=0.5)(scenario.unit))
        ),
    ]
    return tuple(one for one in found if one is not None)
