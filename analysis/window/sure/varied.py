"""A scenario with one doubtful value at an end of its range."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields, replace
from typing import Any, NamedTuple

from analysis.window.sure.doubtful import PLUS, Doubtful, Path
from scenarios.format.edge_units import file_key
from scenarios.ground.stone_field import StoneField
from scenarios.scenario import Scenario

HELD_AT = 0.010  # [m]: the sinkage at which another exponent leaves the pressure as it is


class End(NamedTuple):
    """One end of a range."""

    value: float  # [SI]
    scenario: Scenario
    cut: bool = False  # the key's own range ends before the value's


def value_at(thing: Any, path: Path) -> float:
    """The number that a path leads to."""
    for step in path:
        thing = thing[step] if isinstance(step, int) else getattr(thing, step)
    return float(thing)


def with_value(thing: Any, path: Path, value: float) -> Any:
    """A copy of a dataclass (or point) with one number in it changed."""
    step, rest = path[0], path[1:]
    if isinstance(step, int):
        return tuple(value if k == step else old for k, old in enumerate(thing))
    return replace(thing, **{step: with_value(getattr(thing, step), rest, value) if rest else value})


def allowed(scenario: Scenario, path: Path) -> tuple[float, float]:
    """Lowest and highest value [SI] that the key of a path may have."""
    meta = _metadata(scenario, path)
    return meta["low"], meta["high"]


def key_of(scenario: Scenario, doubtful: Doubtful) -> str:
    """The key in a scenario file: "unit.disc.edge_width_mm"."""
    path = [step for step in doubtful.paths[0] if isinstance(step, str)]
    if path[-1] == "density":  # of the roughness: by its class or by this
        return "ground.roughness.gd_n0_m3"
    table = ["soil" if path[0] == "variation" else path[0], *path[1:-1]]
    return ".".join([*table, file_key(path[-1], _metadata(scenario, doubtful.paths[0])["edge"])])


def edge_of(scenario: Scenario, doubtful: Doubtful) -> str:
    """Its unit in a file, as `scenarios.format.edge_units` names it."""
    return str(_metadata(scenario, doubtful.paths[0])["edge"])


def default_of(path: Path) -> Any:
    """What a value is where no file gives it; None where it has no default."""
    from scenarios.spec import Stones, Variation  # noqa: PLC0415
    from sim.unit import Settings, Soil, Unit  # noqa: PLC0415

    groups = {"soil": Soil, "variation": Variation, "unit": Unit, "settings": Settings, "stones": Stones}
    return value_at(groups[str(path[0])](), path[1:]) if path[0] in groups else None


def _metadata(scenario: Scenario, path: Path) -> Any:
    names = [step for step in path if isinstance(step, str)]
    group: Any = scenario
    for name in names[:-1]:
        group = getattr(group, name)
    name = "gd_n0" if names[-1] == "density" else names[-1]
    return next(item.metadata for item in fields(group) if item.name == name)


def without_effect(scenario: Scenario, doubtful: Doubtful) -> str:
    """Why a value cannot matter in a scenario; "" where it may."""
    reason = _REASONS.get(doubtful.name)
    why = "" if reason is None else reason(scenario)
    if not why and doubtful.way != PLUS and value_at(scenario, doubtful.paths[0]) == 0.0:
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


def _level(scenario: Scenario) -> str:
    return "the toolbar is held level" if scenario.settings.toolbar == "level" else ""


_REASONS: dict[str, Callable[[Scenario], str]] = {
    "roughness": _smooth,
    "strength_scatter": _constant,
    "strength_length": _constant,
    "stone_contact": _stoneless,
    "toolbar_tyres": _level,
}


def ends(scenario: Scenario, doubtful: Doubtful) -> tuple[End | None, End | None]:
    """The scenario with a value at the low and at the high end of its range; None where that is the file's own value.

    A range is cut where the key's own range ends.
    """
    return _end(scenario, doubtful, doubtful.low), _end(scenario, doubtful, doubtful.high)


def _end(scenario: Scenario, doubtful: Doubtful, by: float) -> End | None:
    now = value_at(scenario, doubtful.paths[0])
    low, high = allowed(scenario, doubtful.paths[0])
    asked = now + by if doubtful.way == PLUS else now * by
    value = min(max(asked, low), high)
    if value == now:
        return None
    special = _SPECIAL.get(doubtful.name)
    if special is not None:
        return End(value, special(scenario, value), value != asked)
    changed = with_value(scenario, doubtful.paths[0], value)
    for path in doubtful.paths[1:]:
        low, high = allowed(scenario, path)
        changed = with_value(changed, path, min(max(value_at(scenario, path) * value / now, low), high))
    return End(value, changed, value != asked)


def _other_exponent(scenario: Scenario, n: float) -> Scenario:
    """Another sinkage exponent, moduli changed with it so that the pressure at HELD_AT stays; within their ranges."""
    soil = scenario.soil
    share = HELD_AT ** (soil.sinkage_exponent - n)
    moduli = {}
    for name in ("cohesive_modulus", "frictional_modulus"):
        low, high = allowed(scenario, ("soil", name))
        moduli[name] = min(max(getattr(soil, name) * share, low), high)
    return scenario.with_soil(sinkage_exponent=n, **moduli)


def _other_roughness(scenario: Scenario, density: float) -> Scenario:
    """Made-up roughness of another density; what was measured beside it stays."""
    assert scenario.ground.roughness is not None
    rougher = scenario.with_roughness_scaled(density / scenario.ground.roughness.density)
    return replace(rougher, profile=scenario.profile)


_SPECIAL: dict[str, Callable[[Scenario, float], Scenario]] = {
    "sinkage_exponent": _other_exponent,
    "roughness": _other_roughness,
}


def lie_alike(a: Scenario, b: Scenario) -> bool:
    """Whether two scenarios that differ in one doubtful value have one and the same ground, tables and all."""
    radii = (a.unit.disc.radius, a.unit.gauge_wheel.radius, a.unit.press_wheel.radius, a.settings.set_depth)
    others = (b.unit.disc.radius, b.unit.gauge_wheel.radius, b.unit.press_wheel.radius, b.settings.set_depth)
    return (
        a.profile is b.profile
        and radii == others
        and (a.ground, a.stones, a.variation) == (b.ground, b.stones, b.variation)
        and a.soil.strength == b.soil.strength
        and a.layout() == b.layout()
    )
