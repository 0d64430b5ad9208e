"""What the pressure chart advises: a precharge by the rules in use, and an accumulator for a wanted evenness.

The rule that a precharge has to keep is that of the file's limits (`sim.hydraulics.gas_rule`), the same as in
every search. Besides, common practice without a standard at hand:
· 0.8 to 0.9 of the lowest working pressure as a first pass, where the accumulator stores energy
· 0.6 of the set pressure, where it smooths pulsations
All ratios are of absolute pressures, each at the temperature of the state that decides.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from analysis.present.edge import bar, mm
from analysis.setting_up.pressure_chart import Chart, State
from sim.arithmetic.bracket import zero_between
from sim.errors import LawError
from sim.hydraulics.accumulator import pushing, with_accumulator
from sim.hydraulics.cylinder import lever
from sim.hydraulics.gas_rule import GasRule
from sim.hydraulics.working import HIGHEST, LOWEST, highest_working, suiting_oils, suiting_precharges
from sim.unit import ATMOSPHERE, Settings, Unit

FIRST_PASS, SMOOTHING = 0.8, 0.6
STATUS = "common practice; no standard at hand, the vessel's plate and papers come first"
VOLUMES = (0.1, 1000.0)  # accumulators searched, times the file's
_GRID = 120


@dataclass(frozen=True)
class Precharge:
    """Precharges by the rules for the file's oil pressure, and oil pressures by the rules for its precharge.

    Gauge pressures [Pa], precharges at the file's precharge temperature. None: no such pressure between 1 and 250 bar.
    """

    rule: GasRule
    oil_pressure: float
    given: float  # precharge of the file
    most: float | None  # `rule.share` of the lowest working pressure, in the heat
    first_pass: float | None  # FIRST_PASS of it, or the rule's share where that is less
    smoothing: float  # SMOOTHING of the set pressure
    least: float | None  # the highest pressure is `rule.squeeze` times the precharge, in the cold
    lowest_oil: float | None  # from here on the given precharge is at most `rule.share` of the lowest working pressure
    highest_oil: float | None  # up to here the highest pressure is at most `rule.squeeze` times the given precharge
    warning: float  # pressure at which the file warns
    warned_oil: float | None  # oil pressure from which a fast move to the upper stop passes it, in the cold

    @property
    def verdict(self) -> str:
        """Where the file's precharge lies: "high", "low", "within" or "no way" (the rules leave nothing between)."""
        if self.most is None or (self.least is not None and self.least > self.most):
            return "no way"
        if self.given > self.most:
            return "high"
        return "low" if self.least is None or self.given < self.least else "within"

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""

        def of(value: float | None) -> float | None:
            return None if value is None else bar(value)

        return {
            "oil_pressure_bar": bar(self.oil_pressure),
            "given_bar": bar(self.given),
            "verdict": self.verdict,
            "most_bar": of(self.most),
            "first_pass_bar": of(self.first_pass),
            "smoothing_bar": bar(self.smoothing),
            "least_bar": of(self.least),
            "oil_pressure_from_bar": of(self.lowest_oil),
            "oil_pressure_to_bar": of(self.highest_oil),
            "precharge_share_max": self.rule.share,
            "gas_squeeze_max": self.rule.squeeze,
            "warning_bar": bar(self.warning),
            "warning_from_oil_pressure_bar": of(self.warned_oil),
            "rule_status": STATUS,
        }


def precharge(found: Chart) -> Precharge:
    """The rules at the oil pressure and the precharge of the chart's file."""
    unit, s, rule = found.unit, found.settings, found.rule
    first = replace(rule, share=min(FIRST_PASS, rule.share))
    suiting, oils = suiting_precharges(rule, unit, s), suiting_oils(rule, unit, s)
    p = s.oil_pressure
    return Precharge(
        rule=rule,
        oil_pressure=p,
        given=s.precharge,
        most=suiting.high,
        first_pass=suiting_precharges(first, unit, s).high,
        smoothing=SMOOTHING * (p + ATMOSPHERE) - ATMOSPHERE,
        least=suiting.low,
        lowest_oil=oils.low,
        highest_oil=oils.high,
        warning=found.pressure_warning,
        warned_oil=_warned_oil(found),
    )


def _warned_oil(found: Chart) -> float | None:
    """Oil pressure [Pa, gauge] from which a fast move to the upper stop passes the file's warning, in the cold."""
    unit, s, cold = found.unit, found.settings, found.rule.cold
    most = 2.0 * found.pressure_warning  # stands for what lies beyond the gas law, where a sign is looked for

    def over(oil: float) -> float:
        return min(highest_working(unit, s, oil, cold), most) - found.pressure_warning

    if over(LOWEST) >= 0.0 or over(HIGHEST) < 0.0:
        return None
    return zero_between(over, LOWEST, HIGHEST)


@dataclass(frozen=True)
class Size:
    """The smallest accumulator with which the downforce changes by no more than a wanted share over the travel."""

    state: str
    fast: bool
    travel: tuple[float, float]  # heights of the disc over its nominal place, lower and upper end [m]
    wanted: float  # largest change of the downforce from end to end, share of the nominal one
    given: float | None  # change with the file's accumulator; None: beyond the gas law
    volume: float | None  # [m³]; None: no accumulator between the bounds of the search does
    least: float  # smallest change that any of them gives
    least_volume: float  # [m³]
    lever: float  # change that the cylinder's lever alone makes, at an even pressure

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        return {
            "state": self.state,
            "move": "fast" if self.fast else "slow",
            "travel_mm": [mm(height) for height in self.travel],
            "wanted_change": self.wanted,
            "change": self.given,
            "volume_l": None if self.volume is None else self.volume * 1e3,
            "least_change": self.least,
            "least_change_volume_l": self.least_volume * 1e3,
            "lever_change": self.lever,
        }


def sizes(found: Chart, wanted: float, travel: float | None = None) -> tuple[Size, ...]:
    """Accumulator sizes for a wanted evenness at the file's oil pressure and precharge: each state, slow and fast.

    travel: how far the disc moves up and down from its nominal place [m], no further than the stops; None: to them.
    """
    angles = travel_angles(found.unit, travel)
    return tuple(_size(found, state, fast, wanted, angles) for state in found.states for fast in (False, True))


def travel_angles(unit: Unit, travel: float | None) -> tuple[float, float]:
    """Arm angles [rad] at which the disc lies `travel` [m] under and over its nominal place, the stops at most."""
    links = unit.main_links
    if travel is None:
        return links.stop_down, links.stop_up
    sine = math.sin(links.angle_nominal)
    down, up = (math.asin(min(max(sine + way * travel / links.length, -1.0), 1.0)) for way in (-1, 1))
    return max(down, links.stop_down), min(up, links.stop_up)


def change_over_travel(
    unit: Unit, settings: Settings, temperature: float, fast: bool, angles: tuple[float, float]
) -> float:
    """Largest less smallest downforce at two arm angles and the nominal one, share of the nominal; inf: out of law."""
    at = pushing(unit, settings, settings.oil_pressure, temperature)
    try:
        ends = [at.downforce(angle, fast) for angle in (angles[0], unit.main_links.angle_nominal, angles[1])]
    except LawError:
        return math.inf
    return (max(ends) - min(ends)) / ends[1]


def _size(found: Chart, state: State, fast: bool, wanted: float, angles: tuple[float, float]) -> Size:
    unit, s = found.unit, found.settings

    def change(volume: float) -> float:
        return change_over_travel(with_accumulator(unit, volume), s, state.temperature, fast, angles)

    own = unit.accumulator.volume
    grid = own * np.geomspace(*VOLUMES, _GRID)
    changes = np.array([change(float(v)) for v in grid])
    best = int(changes.argmin())
    good = np.flatnonzero(changes <= wanted)
    volume = None
    if good.size:
        first = int(good[0])
        volume = float(grid[first])
        if first > 0:
            volume = _meeting(change, float(grid[first - 1]), volume, wanted)
    given = change(own)
    down, up = (lever(unit, angle).height for angle in angles)
    ratios = [lever(unit, angle).ratio for angle in (*angles, unit.main_links.angle_nominal)]
    return Size(
        state=state.name,
        fast=fast,
        travel=(down, up),
        wanted=wanted,
        given=given if math.isfinite(given) else None,
        volume=volume,
        least=float(changes[best]),
        least_volume=float(grid[best]),
        lever=(max(ratios) - min(ratios)) / ratios[-1],
    )


def _meeting(change: Callable[[float], float], low: float, high: float, wanted: float) -> float:
    """Volume between one that does not do and one that does, by bisection."""
    while high - low > 1e-9 * high:
        middle = 0.5 * (low + high)
        if change(middle) <= wanted:
            high = middle
        else:
            low = middle
    return high
