"""What can be changed against a fault of depth, and which steps of it are tried: each knob both ways where it has two.

Pressure and speed are turned in the cab. Precharge is set in the workshop, another gas volume is another part. The set
depth is what the crop wants: it is tried so that one sees what it does, and never advised as a cure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import islice

from analysis.present.edge import bar, kmh, mm
from analysis.window.weight import may_be_set
from scenarios.format.errors import ScenarioError
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.hydraulics.accumulator import with_accumulator
from sim.hydraulics.working import keeps, suiting_precharges
from sim.run import Prepared, prepare

PRESSURE, SPEED, PRECHARGE, VOLUME, DEPTH = "pressure", "speed", "precharge", "gas volume", "depth setting"
KNOBS = (PRESSURE, SPEED, PRECHARGE, VOLUME, DEPTH)

# steps of a knob, times the size of one
PRESSURE_STEPS = (-2, -1, 1, 2)
HIGHER = range(3, 13)  # and of these, while fewer than two higher pressures hold the set depth
SPEED_STEPS = (-4, -2, -1, 1)
DEPTH_STEPS = (-2, -1, 1, 2)
VOLUME_SHARES = (1.5, 2.0)


@dataclass(frozen=True)
class Change:
    """One thing changed: the knob, its new value and the step to it (SI)."""

    knob: str
    value: float
    step: float

    @property
    def way(self) -> int:
        """1 up, −1 down."""
        return 1 if self.step > 0 else -1

    def edge(self) -> tuple[float, float, str]:
        """New value and step in the trade's unit."""
        if self.knob in (PRESSURE, PRECHARGE):
            return bar(self.value), bar(self.step), "bar"
        if self.knob == SPEED:
            return kmh(self.value), kmh(self.step), "km/h"
        if self.knob == VOLUME:
            return round(self.value * 1e3, 9), round(self.step * 1e3, 9), "l"
        return round(mm(self.value), 6), round(mm(self.step), 6), "mm"


def changes(scenario: Scenario) -> tuple[Change, ...]:
    """What is tried from a scenario's settings.

    Left out is what lies beyond the range of its key or the highest oil pressure, what holds no set depth, an oil
    pressure that takes the gas its cushion, and a precharge that breaks the rule of the limits.
    """
    found = [c for c in _wanted(scenario) if _can_be_set(scenario, c)]
    higher = sum(c.knob == PRESSURE and c.way > 0 for c in found)
    now, step = scenario.settings.oil_pressure, _pressure_step(scenario)
    more = (c for c in (Change(PRESSURE, now + n * step, n * step) for n in HIGHER) if _can_be_set(scenario, c))
    found += islice(more, 2 - higher)
    return tuple(sorted(found, key=lambda c: KNOBS.index(c.knob)))


def changed(scenario: Scenario, change: Change) -> Scenario:
    """The scenario with a change. Raises ScenarioError where the value is out of range."""
    if change.knob == VOLUME:
        return replace(scenario, unit=with_accumulator(scenario.unit, change.value))
    name = {PRESSURE: "oil_pressure", SPEED: "speed", DEPTH: "set_depth", PRECHARGE: "precharge"}[change.knob]
    return scenario.with_settings(**{name: change.value})


def _wanted(scenario: Scenario) -> Iterable[Change]:
    """Every step, whether it can be set or not."""
    s, volume = scenario.settings, scenario.unit.accumulator.volume
    for knob, now, step, steps in (
        (PRESSURE, s.oil_pressure, _pressure_step(scenario), PRESSURE_STEPS),
        (SPEED, s.speed, _round(s.speed / 8.0, 0.5 / 3.6), SPEED_STEPS),
    ):
        yield from (Change(knob, now + n * step, n * step) for n in steps)
    yield from (Change(PRECHARGE, p, p - s.precharge) for p in _precharges(scenario) if p != s.precharge)
    yield from (Change(VOLUME, n * volume, (n - 1.0) * volume) for n in VOLUME_SHARES)
    step = _round(0.125 * s.set_depth, 0.0025)
    yield from (Change(DEPTH, s.set_depth + n * step, n * step) for n in DEPTH_STEPS)


def _precharges(scenario: Scenario) -> tuple[float, ...]:
    """Whole bars [Pa]: both ends of what suits the oil pressure, and half way to them; none where nothing does."""
    span = suiting_precharges(scenario.limits.gas_rule, scenario.unit, scenario.settings)
    if span.low is None or span.high is None:
        return ()
    low, high = math.ceil(span.low / 1e5 - 1e-9) * 1e5, math.floor(span.high / 1e5 + 1e-9) * 1e5
    if low > high:
        return ()
    now = scenario.settings.precharge
    now = now if low <= now <= high else 0.5 * (low + high)
    return tuple(sorted({low, _round(0.5 * (low + now), 1e5), _round(0.5 * (now + high), 1e5), high}))


def _pressure_step(scenario: Scenario) -> float:
    return _round(0.25 * scenario.settings.oil_pressure, 5e5)


def _round(value: float, to: float) -> float:
    """A value as so many whole times `to`, once at least."""
    return max(1, round(value / to)) * to


def _can_be_set(scenario: Scenario, change: Change) -> bool:
    if change.knob == PRESSURE and not may_be_set(scenario, change.value):
        return False
    try:
        other = changed(scenario, change)
        made, now = _prepared(other), _prepared(scenario)
    except (ScenarioError, SimulationError):
        return False
    if not made.setting.reached or (now.gas.cushion and not made.gas.cushion):
        return False
    return change.knob != PRECHARGE or keeps(other.limits.gas_rule, other.unit, other.settings)


def _prepared(scenario: Scenario) -> Prepared:
    return prepare(scenario.unit, scenario.soil, scenario.stones.contact, scenario.settings)
