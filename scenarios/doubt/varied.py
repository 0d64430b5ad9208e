"""A scenario with other values in place of those in doubt, and what cannot matter in it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any, TypeVar

from scenarios.doubt.doubtful import BY_NAME, DOUBTFUL, PLUS, Doubtful, Path
from scenarios.doubt.keys import allowed, value_at
from scenarios.ground.stone_field import StoneField
from scenarios.scenario import Scenario

T = TypeVar("T")
HELD_AT = 0.010  # [m]: the sinkage at which another exponent leaves the pressure as it is


def with_value(thing: Any, path: Path, value: float) -> Any:
    """A copy of a dataclass (or point) with one number in it changed."""
    step, rest = path[0], path[1:]
    if isinstance(step, int):
        return tuple(value if k == step else old for k, old in enumerate(thing))
    return replace(thing, **{step: with_value(getattr(thing, step), rest, value) if rest else value})


def within(doubtful: Doubtful, value: float) -> float:
    """A value [SI] cut at what its key may hold."""
    low, high = allowed(doubtful.paths[0])
    return min(max(value, low), high)


def with_values(scenario: T, values: Mapping[str, float]) -> T:
    """A scenario (or whatever has the same parts) with other values [SI], named as in `scenarios.doubt.doubtful`.

    A value beyond what its key may hold is cut there (`within` tells). What goes along with a value changes by the same
    share, and with another sinkage exponent the moduli change so that the pressure at `HELD_AT` stays; moduli given
    beside it are those at the scenario's own exponent. A value that is the scenario's own changes nothing, bit for bit.
    Raises KeyError for a name that is none.
    """
    unknown = set(values) - set(BY_NAME)
    if unknown:
        raise KeyError(f"no values in doubt: {', '.join(sorted(unknown))}")
    for one in DOUBTFUL:
        if one.name in values:
            scenario = _with(scenario, one, within(one, values[one.name]))
    return scenario


def _with(scenario: T, one: Doubtful, value: float) -> T:
    now = value_at(scenario, one.paths[0])
    if value == now:
        return scenario
    special = _SPECIAL.get(one.name)
    if special is not None:
        return special(scenario, value)
    changed: T = with_value(scenario, one.paths[0], value)
    for path in one.paths[1:]:
        low, high = allowed(path)
        changed = with_value(changed, path, min(max(value_at(scenario, path) * value / now, low), high))
    return changed


def _other_exponent(scenario: Any, n: float) -> Any:
    """Another sinkage exponent, moduli changed with it so that the pressure at HELD_AT stays; within their ranges."""
    soil = scenario.soil
    share = HELD_AT ** (soil.sinkage_exponent - n)
    moduli = {}
    for name in ("cohesive_modulus", "frictional_modulus"):
        low, high = allowed(("soil", name))
        moduli[name] = min(max(getattr(soil, name) * share, low), high)
    return replace(scenario, soil=replace(soil, sinkage_exponent=n, **moduli))


def _other_roughness(scenario: Any, density: float) -> Any:
    """Made-up roughness of another density; what was measured beside it stays."""
    rough = scenario.ground.roughness
    return replace(scenario, ground=replace(scenario.ground, roughness=rough.scaled(density / rough.density)))


_SPECIAL: dict[str, Callable[[Any, float], Any]] = {
    "sinkage_exponent": _other_exponent,
    "roughness": _other_roughness,
}


def without_effect(scenario: Scenario, doubtful: Doubtful) -> str:
    """Why a value cannot matter in a scenario; "" where it may."""
    return reason_without(_REASONS, scenario, doubtful)


def reason_without(reasons: Mapping[str, Callable[[T], str]], thing: T, doubtful: Doubtful) -> str:
    """As `without_effect` of a scenario or a paddock; reasons: by the names of values, "" where one may matter."""
    reason = reasons.get(doubtful.name)
    why = "" if reason is None else reason(thing)
    if not why and doubtful.way != PLUS and value_at(thing, doubtful.paths[0]) == 0.0:
        return "zero in the file"
    return why


def _smooth(scenario: Scenario) -> str:
    if scenario.ground.roughness is not None:
        return ""
    return "no random roughness on this ground" if scenario.profile is None else "the ground was measured"


def _constant(scenario: Scenario) -> str:
    if scenario.profile is not None and scenario.profile.mean_strength is not None:
        return "the strength was measured"
    return "" if scenario.variation.variation_cv > 0.0 else "the strength is constant in the file"


def _stoneless(scenario: Scenario) -> str:
    strewn = any(isinstance(feature, StoneField) for feature in scenario.ground.features)
    return "" if strewn or scenario.stones.rate_per_100m or scenario.stones.placed else "no stones on this ground"


def held_level(thing: Any) -> str:
    """Why toolbar tyres cannot matter: of a scenario or a paddock."""
    return "the toolbar is held level" if thing.settings.toolbar == "level" else ""


_REASONS: dict[str, Callable[[Scenario], str]] = {
    "roughness": _smooth,
    "strength_scatter": _constant,
    "strength_length": _constant,
    "stone_contact": _stoneless,
    "toolbar_tyres": held_level,
}


def lie_alike(a: Scenario, b: Scenario) -> bool:
    """Whether two scenarios that differ in values in doubt have one and the same ground, tables and all."""
    radii = (a.unit.disc.radius, a.unit.gauge_wheel.radius, a.unit.press_wheel.radius, a.settings.set_depth)
    others = (b.unit.disc.radius, b.unit.gauge_wheel.radius, b.unit.press_wheel.radius, b.settings.set_depth)
    return (
        a.profile is b.profile
        and radii == others
        and (a.ground, a.stones, a.variation) == (b.ground, b.stones, b.variation)
        and a.soil.strength == b.soil.strength
        and a.layout() == b.layout()
    )
