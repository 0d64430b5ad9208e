"""The pressure chart: oil pressure → downforce over the travel, spring rate and use of the gas, in the cold and hot.

The oil pressure is read with the arm at its nominal angle and the gas at the temperature of the state; the gas itself
is what was filled in at the precharge and its own temperature. Top and bottom are the arm's travel stops.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from analysis.present.edge import bar, kgf, mm
from scenarios.scenario import Scenario
from sim.arithmetic.bracket import zero_between
from sim.errors import LawError
from sim.hydraulics.accumulator import Pushing, pushing
from sim.hydraulics.cylinder import lever, swept
from sim.hydraulics.gas_rule import COLD as COLD_GAS
from sim.hydraulics.gas_rule import HOT as HOT_GAS
from sim.hydraulics.gas_rule import GasRule
from sim.hydraulics.working import full_pressure, gas_pressure
from sim.laws.gas import SMALLEST_SHARE
from sim.unit import ATMOSPHERE, KELVIN, Settings, Unit

COLD, HOT = COLD_GAS - KELVIN, HOT_GAS - KELVIN  # gas on a cold morning and on a hot afternoon [°C]
BESIDE, DRAWN = 2e5, 90  # oil pressures drawn beyond the chart's [Pa], and how many points a line has
RANGE = (20e5, 200e5)  # absolute pressures within which the real gas law holds within 1–2 % [Pa]


@dataclass(frozen=True)
class End:
    """One end of the travel; gauge pressures [Pa], downforce [N]. None: the gas would leave its law."""

    pressure: float | None
    downforce: float | None
    fast_pressure: float | None
    fast_downforce: float | None
    share: float  # of the accumulator that the gas is asked to fill; above 1: out of oil


@dataclass(frozen=True)
class Line:
    """One oil pressure at one temperature; SI units, gauge pressures."""

    oil_pressure: float
    downforce: float  # at the nominal arm angle
    bottom: End
    top: End
    share: float  # of the accumulator that the gas fills at the nominal arm angle
    spring_slow: float  # at the disc [N/m]
    spring_fast: float
    cushion: bool  # the gas carries the oil at the nominal arm angle
    lost_at: (
        float | None
    )  # height of the disc over its nominal place at which the gas comes to its end [m]; None: never

    @property
    def cushion_at_bottom(self) -> bool:
        """The gas carries the oil down to the lower stop."""
        return self.cushion and self.lost_at is None

    @property
    def highest(self) -> float | None:
        """Highest oil pressure over the travel, slow or fast, gauge [Pa]."""
        found = [p for end in (self.bottom, self.top) for p in (end.pressure, end.fast_pressure)]
        return None if None in found else max(p for p in found if p is not None)

    def evenness(self, fast: bool) -> float | None:
        """Change of the downforce from end to end of the travel as a share of the nominal one."""
        ends = [end.fast_downforce if fast else end.downforce for end in (self.bottom, self.top)]
        if None in ends:
            return None
        values = [*(d for d in ends if d is not None), self.downforce]
        return (max(values) - min(values)) / self.downforce

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "oil_pressure_bar": bar(self.oil_pressure),
            "downforce_kgf": kgf(self.downforce),
            "top": _end(self.top),
            "bottom": _end(self.bottom),
            "gas_share_nominal": self.share,
            "spring_rate_slow_N_per_mm": self.spring_slow / 1e3,
            "spring_rate_fast_N_per_mm": self.spring_fast / 1e3,
            "change_over_travel_slow": self.evenness(False),
            "change_over_travel_fast": self.evenness(True),
            "cushion": self.cushion,
            "cushion_at_bottom": self.cushion_at_bottom,
            "cushion_lost_at_mm": None if self.lost_at is None else mm(self.lost_at),
        }


def _end(end: End) -> dict[str, float | None]:
    def of(value: float | None, edge: Any) -> float | None:
        return None if value is None else edge(value)

    return {
        "slow_pressure_bar": of(end.pressure, bar),
        "slow_downforce_kgf": of(end.downforce, kgf),
        "fast_pressure_bar": of(end.fast_pressure, bar),
        "fast_downforce_kgf": of(end.fast_downforce, kgf),
        "gas_share": end.share,
    }


@dataclass(frozen=True)
class State:
    """The chart at one temperature of the gas."""

    name: str
    temperature: float  # [K]
    full_pressure: float  # gauge [Pa]: precharge at this temperature; below it the cushion is lost
    bottom_pressure: float | None  # lowest setting with cushion down to the lower stop, gauge [Pa]; None: there is none
    lines: tuple[Line, ...]

    @property
    def celsius(self) -> float:
        """Temperature [°C]."""
        return round(self.temperature - KELVIN, 9)

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "temperature_degC": self.celsius,
            "precharge_bar": bar(self.full_pressure),
            "cushion_lost_below_bar": bar(self.full_pressure),
            "cushion_over_travel_from_bar": None if self.bottom_pressure is None else bar(self.bottom_pressure),
            "lines": [line.to_dict() for line in self.lines],
        }


@dataclass(frozen=True, repr=False)
class Chart:
    """The pressure chart of a scenario's unit; `own` is the line of the file's own oil pressure by state."""

    unit: Unit
    settings: Settings
    states: tuple[State, ...]  # cold, hot
    own: tuple[Line, ...]
    warmed: float  # reading of the file's pressure set in the cold with the oil trapped, in the heat, gauge [Pa]
    max_oil_pressure: float | None
    pressure_warning: float
    rule: GasRule  # of the file's limits, at the temperatures of the states

    def __repr__(self) -> str:
        own = self.own[0]
        return (
            f"{type(self).__name__}: {len(self.states[0].lines)} oil pressures, cold and hot; the file's "
            f"{bar(own.oil_pressure):.4g} bar give {kgf(own.downforce):.0f} kgf a row"
        )

    @property
    def travel(self) -> tuple[float, float]:
        """Height of the disc at the lower and upper stop over its nominal place [m]."""
        links = self.unit.main_links
        return lever(self.unit, links.stop_down).height, lever(self.unit, links.stop_up).height

    @cached_property
    def allowed(self) -> tuple[bool, ...]:
        """Which pressures of the chart the file allows."""
        highest = self.max_oil_pressure
        return tuple(highest is None or allowed_pressure(line.oil_pressure, highest) for line in self.states[0].lines)

    @property
    def reach(self) -> tuple[float, float]:
        """Oil pressures that a drawing shows, gauge [Pa]: those of the chart, and the cushion's end."""
        shown = [line.oil_pressure for line in self.states[0].lines]
        shown += [*(state.full_pressure for state in self.states), self.own[0].oil_pressure]
        return max(min(shown) - BESIDE, 0.0), max(shown) + BESIDE

    @cached_property
    def dense(self) -> tuple[State, ...]:
        """The states over DRAWN oil pressures, close enough to draw lines through."""
        low, high = self.reach
        pressures = [float(p) for p in np.linspace(max(low, 1e5), high, DRAWN)]
        return tuple(
            replace(s, lines=tuple(_line(self.unit, self.settings, p, s.temperature) for p in pressures))
            for s in self.states
        )

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        down, up = self.travel
        return {
            "oil_pressures_bar": [bar(line.oil_pressure) for line in self.states[0].lines],
            "allowed": list(self.allowed),
            "max_oil_pressure_bar": None if self.max_oil_pressure is None else bar(self.max_oil_pressure),
            "precharge_bar": bar(self.settings.precharge),
            "precharge_temperature_degC": self.settings.precharge_temperature - KELVIN,
            "accumulator_l": self.unit.accumulator.volume * 1e3,
            "travel_mm": {"bottom": mm(down), "top": mm(up)},
            "states": {s.name: s.to_dict() for s in self.states},
            "own": {s.name: line.to_dict() for s, line in zip(self.states, self.own, strict=True)},
            "own_set_cold_reads_hot_bar": bar(self.warmed),
        }


def allowed_pressure(oil_pressure: float, highest: float) -> bool:
    """Whether an oil pressure may be set under the file's highest [Pa]; equal to rounding counts as allowed."""
    return oil_pressure <= highest * (1.0 + 1e-12)


def chart(scenario: Scenario, pressures: Sequence[float] | None = None, cold: float = COLD, hot: float = HOT) -> Chart:
    """The pressure chart of a scenario's unit; pressures gauge [Pa] (None: those of the file's search), cold, hot [°C].

    Raises ValueError where the gas law does not hold at a setting itself.
    """
    unit, settings = scenario.unit, scenario.settings
    tried = sorted(scenario.search.pressures if pressures is None else pressures)
    states, own = [], []
    for name, celsius in (("cold", cold), ("hot", hot)):
        at = celsius + KELVIN
        lines = tuple(_line(unit, settings, p, at) for p in tried)
        full = full_pressure(unit, settings, at)
        states.append(State(name, at, full, bottom_pressure(unit, settings, at), lines))
        own.append(_line(unit, settings, settings.oil_pressure, at))
    set_cold = pushing(unit, settings, settings.oil_pressure, states[0].temperature).gas
    warmed = set_cold.warmed(states[1].temperature) - ATMOSPHERE
    limits, (at_cold, at_hot) = scenario.limits, (state.temperature for state in states)
    return Chart(
        unit, settings, tuple(states), tuple(own), warmed, limits.max_oil_pressure, limits.gas_pressure_warning,
        replace(limits.gas_rule, cold=at_cold, hot=at_hot),
    )  # fmt: skip


def bottom_pressure(unit: Unit, settings: Settings, temperature: float) -> float | None:
    """Lowest oil pressure [Pa, gauge] at which the gas still holds the oil with the arm at its lower stop.

    There the gas fills its accumulator: at the nominal arm angle it is smaller by what the cylinder takes on its way
    down. None where the accumulator is too small for that.
    """
    space = unit.accumulator.volume
    left = space - max(swept(unit, unit.main_links.stop_down), 0.0)
    return gas_pressure(unit, settings, temperature, left) if left >= SMALLEST_SHARE * space else None


def _line(unit: Unit, settings: Settings, oil_pressure: float, temperature: float) -> Line:
    links = unit.main_links
    at = pushing(unit, settings, oil_pressure, temperature)
    bottom, top = (_travel_end(at, angle) for angle in (links.stop_down, links.stop_up))
    filled = at.gas
    return Line(
        oil_pressure=oil_pressure,
        downforce=at.downforce(links.angle_nominal, fast=False),
        bottom=bottom,
        top=top,
        share=filled.nominal / filled.space,
        spring_slow=at.spring_rate(fast=False),
        spring_fast=at.spring_rate(fast=True),
        cushion=filled.nominal <= filled.space,
        lost_at=_lost_at(at),
    )


def _lost_at(at: Pushing) -> float | None:
    """Height of the disc over its nominal place [m] at which the gas comes to its end on the way down; None: never."""
    links = at.unit.main_links
    left = at.gas.space - at.gas.nominal
    if left <= 0.0:
        return 0.0
    if swept(at.unit, links.stop_down) <= left:
        return None
    angle = zero_between(lambda a: swept(at.unit, a) - left, links.stop_down, links.angle_nominal)
    return lever(at.unit, angle).height


def _travel_end(at: Pushing, angle: float) -> End:
    share = at.volume(angle) / at.gas.space
    try:
        pressures = [at.pressure(angle, fast) for fast in (False, True)]
    except LawError:
        return End(None, None, None, None, share)
    per_pressure = at.area * lever(at.unit, angle).ratio
    slow, fast = pressures
    return End(slow, slow * per_pressure, fast, fast * per_pressure, share)
