"""Lays a track: lead-in, ground, stones and strength on one grid, 5 mm or finer.

Layout along the disc's path, in measured distance from x_from: a margin, 14 m flat, 8 m in which ground and strength
blend in (3u² − 2u³), 4 m of full ground to settle, the measured stretch up to x_to, and ground to run out on.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.curves import blend
from scenarios.ground.feature import numbered
from scenarios.ground.patches import SoilPatch, patch_factor
from scenarios.ground.profile import Profile, profile_heights, profile_shares
from scenarios.ground.roughness import rough_heights
from scenarios.ground.stone_field import field_stones
from scenarios.ground.stones import Stone, lay_stones, stone_profile
from scenarios.ground.strength import strength_shares
from scenarios.ground.synthesis import FINE_ROUGHNESS, STEP
from scenarios.spec import Feature, Ground, Roughness, Stones, Surface, Variation
from sim.track import Track
from sim.unit import Unit

SAMPLES = 20  # least number of samples in the shortest wave of random ground
FLAT, BLEND, SETTLE = 14.0, 8.0, 4.0  # lead-in [m]
MARGIN, RUN_OUT = 4.0, 6.0  # least ground behind the start and after the end, for wheels and axles [m]


@dataclass(frozen=True)
class Layout:
    """Where the parts of a track lie [m]."""

    start: float  # first sample
    dx: float  # distance between samples
    samples: int
    x_from: float
    x_to: float

    @cached_property
    def x(self) -> NDArray[np.float64]:
        """Positions of the samples [m]."""
        return self.start + self.dx * np.arange(self.samples, dtype=np.float64)

    @cached_property
    def ramp(self) -> NDArray[np.float64]:
        """0 on the flat, rising over the blend, up to where the settling stretch begins; from there on it is 1."""
        head = int(np.searchsorted(self.x, self.blend_from + BLEND)) + 1
        return blend((self.x[:head] - self.blend_from) / BLEND)

    @property
    def blend_from(self) -> float:
        """Where the flat ends and the ground begins to blend in [m]."""
        return self.x_from - SETTLE - BLEND


def reach(unit: Unit) -> tuple[float, float]:
    """Ground [m] that the toolbar's axles need behind and ahead of the disc, whole metres, at least 4 and 6."""
    toolbar = unit.toolbar
    centre = unit.main_links.length - toolbar.upper_pin[0] - unit.disc.hub[0]  # O ahead of the disc
    slack = toolbar.wheel_radius + 0.5
    behind = np.ceil(toolbar.axle_rear - centre + slack)
    ahead = np.ceil(toolbar.axle_front + centre + slack)
    return max(MARGIN, float(behind)), max(RUN_OUT, float(ahead))


def spacing(rough: Roughness | None) -> float:
    """Distance [m] between samples of ground with this random roughness: `STEP` up to 10 c/m, halved with each octave.

    Measured on class E up to 40 c/m at 10 km/h against a quarter of the distance and an eighth of the time step:
    depth within 0.057, 0.018, 0.013 mm and the worst pin within 0.90, 0.27, 0.17 % at 5, 2.5 and 1.25 mm (with stones
    0.38 and 0.21 % at the last two).
    """
    dx = STEP
    while rough is not None and SAMPLES * dx * rough.band[1] > 1.0 + 1e-9:
        dx *= 0.5
    return dx


def layout(unit: Unit, x_from: float, x_to: float, dx: float = STEP) -> Layout:
    """The grid of a track measured from x_from to x_to [m], samples dx [m] apart."""
    behind, ahead = reach(unit)
    start = x_from - FLAT - BLEND - SETTLE - behind
    samples = int(np.floor((x_to + ahead - start) / dx + 1e-6)) + 1
    return Layout(start, dx, samples, x_from, x_to)


def heights(plan: Layout, ground: Ground, profile: Profile | None, seed: int) -> NDArray[np.float64]:
    """Height of the soil surface [m], shape (samples,): all parts added, blended in from flat ground.

    The flat lies at height 0, a measured profile's line before its first point at 0 where the blend begins.
    """
    x = plan.x
    if profile is not None and profile.laid is not None:
        return profile_heights(profile, x, plan.blend_from)
    if ground.roughness is None:
        total = np.zeros(plan.samples)
    else:
        total = rough_heights(ground.roughness, plan.samples, plan.dx, seed)
    for feature, number in numbered(ground.features):
        if isinstance(feature, Surface):
            total += feature.heights(x, seed, number)
    if profile is not None:
        total += profile_heights(profile, x, plan.blend_from)
        if profile.fine is not None:
            total += rough_heights(profile.fine, plan.samples, plan.dx, seed, FINE_ROUGHNESS)
    total[: plan.ramp.size] *= plan.ramp
    return total


def strengths(
    plan: Layout,
    mean: float,
    variation: Variation,
    features: tuple[Feature, ...],
    profile: Profile | None,
    seed: int,
) -> NDArray[np.float64]:
    """Soil strength [Pa], shape (samples,), blended in from its mean: random or measured, times that of patches."""
    if profile is not None and profile.strength is not None:
        shares = profile_shares(profile, plan.x)
    else:
        shares = strength_shares(variation, plan.samples, plan.dx, seed)
    if profile is not None and profile.laid is not None:
        return mean * shares
    if any(isinstance(feature, SoilPatch) for feature in features):
        shares *= patch_factor(features, plan.x, seed)
    head = shares[: plan.ramp.size]
    head[:] = 1.0 + plan.ramp * (head - 1.0)
    shares *= mean
    return shares


def lay_track(
    plan: Layout,
    ground: Ground,
    stones: Stones,
    mean_strength: float,
    variation: Variation,
    profile: Profile | None,
    seed: int,
) -> Track:
    """The track of one row: the same arguments give the same track, bit for bit."""
    surface = heights(plan, ground, profile, seed)
    top, number = stone_profile(stones_on(plan, ground, stones, seed), plan.x, surface)
    return Track(
        x0=plan.start,
        dx=plan.dx,
        ground=surface,
        stone_top=top,
        stone_id=number,
        strength=strengths(plan, mean_strength, variation, ground.features, profile, seed),
        x_from=plan.x_from,
        x_to=plan.x_to,
        rock=stones.contact,
    )


def stones_on(plan: Layout, ground: Ground, stones: Stones, seed: int) -> list[Stone]:
    """Stones of a track, none in the lead-in; `Track.stone_id` counts them in this order."""
    end = plan.start + plan.dx * (plan.samples - 1)
    return sorted(lay_stones(stones, plan.x_from, end, seed) + field_stones(ground.features, plan.x_from, end, seed))
