"""What is said where the ground is one feature, or where a feature lies on other ground."""

from __future__ import annotations

from analysis.crossing.place_words import metres
from analysis.present.edge import mm
from analysis.present.sentences import capital, joined, span
from analysis.present.texts import number, plural, short
from analysis.window.feature.at_feature import AtFeature
from analysis.window.gain import Use
from scenarios.ground.feature import Placed
from scenarios.scenario import Scenario
from scenarios.single import all_along, placed_shapes

NAMED = 3  # shapes that are named one by one


def judged(scenario: Scenario) -> str:
    """By what settings are judged and why, where the ground holds a shape that has a place; "" where it has none.

    A sentence of its own, as is `judged_short`.
    """
    shapes = placed_shapes(scenario.ground)
    if not shapes:
        return ""
    way = f"the {short(scenario.length)} m"
    if scenario.limits.on_feature:
        return (
            f"Flat ground but for {_named(shapes)}: judged by the worst depth there and by metres at one place, not by "
            f"shares of {way}, which more flat ground would better."
        )
    others = joined(all_along(scenario.ground, scenario.stones, scenario.profile))
    return (
        f"{capital(_named(shapes))} on ground with {others}: judged by shares of {way}, in which one feature counts "
        f"little; to judge {'it' if len(shapes) == 1 else 'them'} alone, search without {others}."
    )


def judged_short(scenario: Scenario) -> str:
    """The same in a line."""
    shapes, way = placed_shapes(scenario.ground), f"the {short(scenario.length)} m"
    if not shapes:
        return ""
    if scenario.limits.on_feature:
        return f"Judged by the worst at {_named(shapes)}, not by shares of {way}."
    return f"Judged by shares of {way}; one feature ({_named(shapes)}) counts little in them."


def _named(shapes: tuple[Placed, ...]) -> str:
    """Shapes with their places."""
    if len(shapes) > NAMED:
        return f"{plural(len(shapes), 'feature')} from {shapes[0].at:g} to {shapes[-1].at:g} m"
    return joined([f"{'an' if shape.kind[0] in 'aeiou' else 'a'} {shape.kind} at {shape.at:g} m" for shape in shapes])


def slot(depth: float) -> str:
    """Depth of a slot [m] to whole millimetres.

    >>> slot(0.0523), slot(-0.02)
    ('52 mm', 'out of the ground')
    """
    return f"{number(mm(depth), 0)} mm" if depth > 0.0 else "out of the ground"


def slot_span(found: AtFeature) -> str:
    """The slot from its shallowest to its deepest."""
    if found.shallowest <= 0.0:
        return f"{slot(found.shallowest)} to {slot(found.deepest)}"
    return f"{span(number(mm(found.shallowest), 0), number(mm(found.deepest), 0))} mm"


def compared(pick: Use, present: Use, tolerance: float) -> list[tuple[str, str, str]]:
    """Rows of a table: what, at the pick, at the present setting; tolerance of the depth [m]."""
    what = (
        "shallowest slot",
        "deepest slot",
        f"off depth at one place (±{short(mm(tolerance))} mm)",
        "gauge wheel off at one place",
    )
    return list(zip(what, *(_column(use.at) for use in (pick, present)), strict=True))


def _column(found: AtFeature | None) -> tuple[str, ...]:
    if found is None:
        return ("–",) * 4
    return slot(found.shallowest), slot(found.deepest), metres(found.off_depth), metres(found.wheel_off)


def changed_words(pick: AtFeature, present: AtFeature) -> str:
    """What changes at the feature from the present setting to the pick, in a line."""
    off = span(metres(present.off_depth), metres(pick.off_depth), " → ")
    return f"slot {span(slot_span(present), slot_span(pick), ' → ')}, off depth {off}"
