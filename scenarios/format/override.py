"""A measured profile put in the place of a scenario's ground: what of that ground stays, and what falls off it."""

from __future__ import annotations

from dataclasses import replace

from scenarios.spec import Feature, Ground, Stones, Surface

Stretch = tuple[float, float]


def without_shapes(features: tuple[Feature, ...]) -> tuple[Feature, ...]:
    """Patches and stone fields: what a measured surface does not hold."""
    return tuple(feature for feature in features if not isinstance(feature, Surface))


def on_the_profile(ground: Ground, stones: Stones, stretch: Stretch) -> tuple[Ground, Stones, list[str]]:
    """Ground and stones without what does not lie on the measured stretch [m], and what is to be told of it."""
    features = tuple(feature for feature in ground.features if _touches(feature, stretch))
    placed = tuple(s for s in stones.placed if stretch[0] <= s.at - 0.5 * s.length and s.at <= stretch[1])
    lost = (
        ("placed stones", len(stones.placed) - len(placed)),
        ("patches and stone fields", len(ground.features) - len(features)),
    )
    notes = [f"{what} that do not lie on the profile and are left out: {count}" for what, count in lost if count]
    return replace(ground, features=features), replace(stones, placed=placed), notes


def _touches(feature: Feature, stretch: Stretch) -> bool:
    """Whether any of a feature lies on the stretch; one without ends lies everywhere."""
    start, end = getattr(feature, "start", None), getattr(feature, "end", None)
    return (start is None or start <= stretch[1]) and (end is None or end >= stretch[0])
