"""Whether made-up ground is one feature, or a few, on ground that is flat otherwise.

There a share of the way measures how much flat ground was laid beside the feature, so that what happens on the feature
is judged by its own worst (`Limits.on_feature`). A feature is a shape with a place: hump, hollow, drop, bank, ramp,
edge, rut. Not so where something goes on all along the way, for which shares are right: random roughness, measured
ground, waves (sine, ridges, gilgai), soil in patches, stones. Random strength of the soil does not count against it.
"""

from __future__ import annotations

from scenarios.ground.feature import Placed
from scenarios.ground.profile import Profile
from scenarios.ground.spec_ground import Ground
from scenarios.ground.stones import Stones

KIND_WORDS = {"sine": "waves", "patch": "a soil patch", "patches": "soil patches", "stone_field": "a field of stones"}


def placed_shapes(ground: Ground) -> tuple[Placed, ...]:
    """Its shapes that have a place, in the order in which the row meets them."""
    found = [feature for feature in ground.features if isinstance(feature, Placed)]
    return tuple(sorted(found, key=lambda shape: shape.at))


def all_along(ground: Ground, stones: Stones, profile: Profile | None) -> tuple[str, ...]:
    """What there is beside placed shapes, in words."""
    kinds = dict.fromkeys(feature.kind for feature in ground.features if not isinstance(feature, Placed))
    strewn = stones.rate_per_100m > 0.0 or bool(stones.placed)
    found = {
        "random roughness": ground.roughness is not None,
        "a measured profile": profile is not None,
        **{KIND_WORDS.get(kind, kind): True for kind in kinds},
        "stones": strewn,
    }
    return tuple(words for words, there in found.items() if there)


def is_feature(ground: Ground, stones: Stones, profile: Profile | None) -> bool:
    """Whether the ground is one feature or a few, and flat otherwise."""
    return bool(placed_shapes(ground)) and not all_along(ground, stones, profile)
