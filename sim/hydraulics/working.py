"""The working pressures of the gas over the arm's travel, and which precharges and oil pressures keep a `GasRule`.

Lowest: at the lower stop after a slow move; highest: at the upper stop after a fast one; each with the oil pressure set
at the gas's temperature and the arm at its nominal angle, oil trapped. Pressures are gauge [Pa] unless they are called
absolute.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

from sim.arithmetic.bracket import zero_between
from sim.errors import LawError
from sim.hydraulics.accumulator import fill, pushing
from sim.hydraulics.cylinder import swept
from sim.hydraulics.gas_rule import COLD, HOT, MOST, GasRule
from sim.laws.gas import SMALLEST_SHARE, density, gas_law, state_at
from sim.unit import ATMOSPHERE, Accumulator, Cylinder, MainLinks, Settings, Unit

LOWEST, HIGHEST = 1e5, 250e5  # pressures looked through for those that keep the rule [Pa]


def gas_pressure(unit: Unit, settings: Settings, temperature: float, volume: float) -> float:
    """Pressure [Pa] of the gas that was filled in, at a temperature [K] and a volume [m³]."""
    law = gas_law(settings)
    return float(state_at(_mass(unit, settings) / volume, temperature, law)[0]) - ATMOSPHERE


def full_pressure(unit: Unit, settings: Settings, temperature: float) -> float:
    """Pressure [Pa] of the gas when it fills its accumulator at a temperature [K]: the precharge there."""
    return gas_pressure(unit, settings, temperature, unit.accumulator.volume)


def _mass(unit: Unit, settings: Settings) -> float:
    """Of the gas [kg]."""
    t0 = settings.precharge_temperature
    return fill(unit, settings.precharge, settings.precharge, t0, t0, gas_law(settings)).mass


def lowest_working(unit: Unit, settings: Settings, oil_pressure: float, temperature: float) -> float:
    """Gas pressure at the lower stop after a slow move down [Pa]; inf where the gas would leave its law.

    Where the gas comes to its end before that: what it would have had it the room. The oil has none left there; so the
    ratio to the precharge still tells by how much it is too little.
    """
    law, mass = gas_law(settings), _mass(unit, settings)
    nominal = mass / density(oil_pressure + ATMOSPHERE, temperature, law)
    volume = nominal + swept(unit, unit.main_links.stop_down)
    if volume < SMALLEST_SHARE * unit.accumulator.volume:
        return math.inf
    return float(state_at(mass / volume, temperature, law)[0]) - ATMOSPHERE


def highest_working(unit: Unit, settings: Settings, oil_pressure: float, temperature: float) -> float:
    """Oil pressure at the upper stop after a fast move up [Pa]; inf where the gas would leave its law."""
    try:
        return pushing(unit, settings, oil_pressure, temperature).pressure(unit.main_links.stop_up, fast=True)
    except LawError:
        return math.inf


class Ratios(NamedTuple):
    """A precharge between the working pressures, absolute ones, each up to MOST."""

    share: float  # precharge over the lowest working pressure, hot gas; above 1 the gas comes to its end on the way
    squeeze: float  # highest working pressure over the precharge, cold gas


def ratios(unit: Unit, settings: Settings, cold: float = COLD, hot: float = HOT) -> Ratios:
    """The ratios at the oil pressure and precharge of the settings; gas temperatures [K]. Remembered."""
    s = settings
    parts = unit.main_links, unit.cylinder, unit.accumulator
    return _ratios(*parts, s.oil_pressure, s.precharge, s.precharge_temperature, s.gas, cold, hot)


@lru_cache(maxsize=4096)
def _ratios(
    links: MainLinks, cylinder: Cylinder, accumulator: Accumulator, oil_pressure: float, precharge: float,
    precharge_temperature: float, gas: str, cold: float, hot: float,
) -> Ratios:  # fmt: skip
    unit = Unit(main_links=links, cylinder=cylinder, accumulator=accumulator)
    s = Settings(precharge=precharge, precharge_temperature=precharge_temperature, gas=gas)
    low, high = lowest_working(unit, s, oil_pressure, hot), highest_working(unit, s, oil_pressure, cold)
    full_hot, full_cold = (full_pressure(unit, s, at) + ATMOSPHERE for at in (hot, cold))
    return Ratios(min(full_hot / (low + ATMOSPHERE), MOST), min((high + ATMOSPHERE) / full_cold, MOST))


class Span(NamedTuple):
    """Pressures [Pa] from which and up to which the rule is kept; None: none between 1 and 250 bar keeps that part."""

    low: float | None
    high: float | None

    @property
    def empty(self) -> bool:
        """Whether no pressure keeps both parts of the rule."""
        return self.low is None or self.high is None or self.low > self.high

    @property
    def bars(self) -> str:
        """Both ends in bar, rounded so that they keep the rule; "no" where there is none.

        >>> Span(18.57e5, 29.42e5).bars, Span(None, 29e5).bars
        ('18.6 to 29.4', 'no')
        """
        if self.low is None or self.high is None or self.low > self.high:
            return "no"
        return f"{math.ceil(self.low / 1e4 - 1e-9) / 10:g} to {math.floor(self.high / 1e4 + 1e-9) / 10:g}"


def rule_ratios(rule: GasRule, unit: Unit, settings: Settings) -> Ratios:
    """The ratios that a rule bounds, at its temperatures."""
    return ratios(unit, settings, rule.cold, rule.hot)


def keeps(rule: GasRule, unit: Unit, settings: Settings) -> bool:
    """Whether the precharge of the settings suits their oil pressure."""
    found = rule_ratios(rule, unit, settings)
    return found.share <= rule.share and found.squeeze <= rule.squeeze


def suiting_precharges(rule: GasRule, unit: Unit, settings: Settings) -> Span:
    """Precharges that suit the oil pressure of the settings."""
    return _precharges(rule, _only_gas(unit), _only_these(settings, precharge=LOWEST))


def suiting_oils(rule: GasRule, unit: Unit, settings: Settings) -> Span:
    """Oil pressures that suit the precharge of the settings."""
    return _oils(rule, _only_gas(unit), _only_these(settings, oil_pressure=LOWEST))


def _only_gas(unit: Unit) -> Unit:
    """The unit with no more of its own than the rule looks at, so that what is remembered is found again."""
    return Unit(main_links=unit.main_links, cylinder=unit.cylinder, accumulator=unit.accumulator)


def _only_these(settings: Settings, **changes: float) -> Settings:
    """The same of settings, with a value that is looked for put in."""
    names = ("oil_pressure", "precharge", "precharge_temperature", "gas")
    return Settings(**{name: getattr(settings, name) for name in names} | changes)


@lru_cache(maxsize=512)
def _precharges(rule: GasRule, unit: Unit, settings: Settings) -> Span:
    def found(precharge: float) -> Ratios:
        return rule_ratios(rule, unit, _only_these(settings, precharge=precharge))

    return Span(_from(lambda p: found(p).squeeze - rule.squeeze), _to(lambda p: found(p).share - rule.share))


@lru_cache(maxsize=512)
def _oils(rule: GasRule, unit: Unit, settings: Settings) -> Span:
    def found(oil_pressure: float) -> Ratios:
        return rule_ratios(rule, unit, _only_these(settings, oil_pressure=oil_pressure))

    return Span(_from(lambda p: found(p).share - rule.share), _to(lambda p: found(p).squeeze - rule.squeeze))


def _from(over: Callable[[float], float]) -> float | None:
    """Pressure [Pa] from which a ratio that falls with it is no longer over its bound."""
    if over(LOWEST) <= 0.0:
        return LOWEST
    return None if over(HIGHEST) > 0.0 else _meeting(over)


def _to(over: Callable[[float], float]) -> float | None:
    """Pressure [Pa] up to which a ratio that rises with it is not over its bound."""
    if over(HIGHEST) <= 0.0:
        return HIGHEST
    return None if over(LOWEST) > 0.0 else _meeting(over)


def _meeting(over: Callable[[float], float]) -> float:
    return zero_between(over, LOWEST, HIGHEST)
