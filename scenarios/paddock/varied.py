"""A paddock with other values in place of those in doubt, and what cannot matter in it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace

from scenarios.doubt import varied
from scenarios.doubt.belief import Belief, belief
from scenarios.doubt.doubtful import Doubtful
from scenarios.doubt.keys import allowed
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.plan_input import LineInput
from scenarios.paddock.plan_input_csv import MeasuredLine
from scenarios.paddock.plan_stones import StoneField
from scenarios.paddock.spec import StonePatch


def believed(paddock: Paddock) -> Belief:
    """What a paddock's file says about its values in doubt; those that cannot matter in it are left out."""
    return belief(paddock, without_effect)


def with_values(paddock: Paddock, values: Mapping[str, float]) -> Paddock:
    """A paddock with other values [SI], by their names in `scenarios.doubt.doubtful`.

    The strengths of its zones and measured ones change by the same share as that of the soil: what is in doubt about
    one is about all. As `scenarios.doubt.varied.with_values` otherwise.
    """
    made = varied.with_values(paddock, values)
    share = made.soil.strength / paddock.soil.strength
    return made if share == 1.0 else _stronger(made, share)


def _stronger(paddock: Paddock, share: float) -> Paddock:
    """A paddock whose strengths beside that of the soil are `share` times as high."""
    low, high = allowed(("soil", "strength"))
    zones = tuple(
        zone if zone.strength is None else replace(zone, strength=min(max(zone.strength * share, low), high))
        for zone in paddock.zones
    )
    points, measured = paddock.strengths, paddock.measured
    if points is not None:
        points = replace(points, strength=points.strength * share)
    if isinstance(measured, LineInput):
        measured = replace(measured, lines=tuple(_stronger_line(line, share) for line in measured.lines))
    return replace(paddock, zones=zones, strengths=points, measured=measured)


def _stronger_line(line: MeasuredLine, share: float) -> MeasuredLine:
    profile = line.profile
    if profile.strength is None:
        return line
    return replace(line, profile=replace(profile, strength=profile.strength * share))


def without_effect(paddock: Paddock, doubtful: Doubtful) -> str:
    """Why a value cannot matter in a paddock; "" where it may."""
    return varied.reason_without(_REASONS, paddock, doubtful)


def _smooth(paddock: Paddock) -> str:
    if paddock.measured is not None:
        return "the ground was measured"
    return "no random roughness on this ground" if paddock.ground.roughness is None else ""


def _constant(paddock: Paddock) -> str:
    lines = paddock.measured.lines if isinstance(paddock.measured, LineInput) else ()
    if lines and all(line.profile.strength is not None for line in lines):
        return "the strength was measured"
    return "" if paddock.variation.variation_cv > 0.0 else "the strength is constant in the file"


def _stoneless(paddock: Paddock) -> str:
    patches = tuple(feature for feature in paddock.ground.features if isinstance(feature, StonePatch))
    return "no stones on this ground" if StoneField(paddock.stones, patches, paddock.seed).empty else ""


_REASONS: dict[str, Callable[[Paddock], str]] = {
    "roughness": _smooth,
    "strength_scatter": _constant,
    "strength_length": _constant,
    "stone_contact": _stoneless,
    "toolbar_tyres": varied.held_level,
}
