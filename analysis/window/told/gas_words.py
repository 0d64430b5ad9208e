"""What is told of the precharge beside a window: which would suit where none of the pressures does, pair by pair."""

from __future__ import annotations

import math

from analysis.present.edge import bar
from analysis.present.texts import short
from analysis.window.grid import Window
from analysis.window.pick import Nearest
from analysis.window.search import Searched
from sim.hydraulics.working import suiting_oils

GAS_LIMITS = ("precharge_share_max", "gas_squeeze_max")


def gas_fails(nearest: Nearest) -> bool:
    """Whether the precharge is among what a setting fails with."""
    return any(check.limit.name in GAS_LIMITS for check in nearest.failing)


def gas_help(window: Window, nearest: Nearest) -> str:
    """Which precharge would suit the oil pressure that comes nearest, "" where the precharge does not fail there."""
    failing = [check.limit.name for check in nearest.failing if check.limit.name in GAS_LIMITS]
    if not failing or not window.suiting or window.precharge is None:
        return ""
    span, now = window.suiting[nearest.i], f"{short(bar(window.precharge))} bar now"
    if span.empty:
        return f"No precharge suits {short(nearest.oil_pressure_bar)} bar of oil ({now}): a larger accumulator would."
    way = "Less" if "precharge_share_max" in failing else "More"
    tried = _to_try(window)
    option = f"; --precharges {tried} searches them too" if tried else ""
    return f"{way} precharge ({now}): {span.bars} bar suits {short(nearest.oil_pressure_bar)} bar of oil{option}."


def _to_try(window: Window) -> str:
    """Whole bars over all precharges that suit some pressure of the window, as an option takes them."""
    ends = [(s.low, s.high) for s in window.suiting if s.low is not None and s.high is not None and not s.empty]
    if not ends:
        return ""
    low, high = math.ceil(bar(min(low for low, _ in ends))), math.floor(bar(max(high for _, high in ends)))
    return f"{low}:{high}:{min(high - low + 1, 6)}" if low < high else ""


def oil_by_precharge(found: Searched) -> str:
    """Which oil pressures suit each precharge that was tried, by the file's limits."""
    rule = found.scenario.limits.gas_rule
    unit = found.scenario.unit
    spans = {
        short(bar(one.scenario.settings.precharge)): suiting_oils(rule, unit, one.scenario.settings).bars
        for one in found.tried
    }
    said = ", ".join(f"{oil} on {precharge}" for precharge, oil in spans.items())
    return (
        f"Oil that suits each precharge, bar: {said} (at most {rule.share:g} of the lowest working pressure, hot; "
        f"pressed to at most {rule.squeeze:g} times, cold). Outside nothing is picked."
    )
