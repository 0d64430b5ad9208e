"""Patches of softer or harder soil: by how much they change the strength along the row.

What a patch changes is the strength under disc, boot and wheels, so that in softer soil the disc goes in easily and the
wheels sink further; the soil's Bekker constants hold at its reference strength and are one set for the whole row.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from scenarios.format.described import needed
from scenarios.format.errors import fault
from scenarios.ground.curves import Values, blend
from scenarios.ground.feature import Feature, Stretch, distance, ends_faults, numbered
from scenarios.ground.synthesis import PATCHES, stream
from sim.unit import quantity

SPREAD = 0.5  # lengths of random patches: size·(1 ± SPREAD), spread evenly
CYCLES_AHEAD = 20  # patches and gaps drawn ahead of the track, so that its start is like any other place


def _fade() -> Any:
    """The length over which strength changes at the border of a patch."""
    return quantity(0.5, "m", 0.02, 20.0, "length over which the strength changes at its ends")


class SoilPatch(Feature):
    """A feature that changes the strength of the soil in parts of the row."""

    strength_share: float
    fade: float

    def ends(self, start: float, end: float, seed: int, number: int) -> Values:
        """Starts and ends of the parts that reach into start–end [m], shape (n, 2)."""
        raise NotImplementedError


def _fade_faults(patch: SoilPatch, where: str, what: str, shortest: float) -> Iterator[str]:
    """A change of strength too long for its patch."""
    if patch.fade > shortest * (1.0 + 1e-9):
        yield fault(f"{where}.fade_m", f"given {patch.fade:g}", f"up to {what}, {shortest:g} m", f"{shortest / 2:g}")


@dataclass(frozen=True, kw_only=True)
class Patch(SoilPatch):
    """One patch of softer or harder soil: its strength is a share of the strength around it."""

    kind: ClassVar[str] = "patch"
    start: float = distance("distance at which it begins (halfway through the change)", example=30.0)
    end: float = distance("distance at which it ends (halfway through the change)", example=40.0)
    strength_share: float = needed("1", 0.1, 5.0, "strength in it over the strength around it", example=0.5)
    fade: float = _fade()

    def ends(self, start: float, end: float, seed: int, number: int) -> Values:
        return np.array([[self.start, self.end]])

    def faults(self, where: str, stretch: Stretch) -> Iterator[str]:
        faults = list(ends_faults(self.start, self.end, where, stretch))
        yield from faults or _fade_faults(self, where, "the patch", self.end - self.start)


@dataclass(frozen=True, kw_only=True)
class Patches(SoilPatch):
    """Random patches of softer or harder soil: lengths size ± 50 %, spread evenly, at random distances."""

    kind: ClassVar[str] = "patches"
    share: float = needed("1", 0.01, 0.9, "share of the row that lies in patches, in the long run", example=0.2)
    size: float = needed("m", 0.2, 200.0, "mean length of a patch along the row", example=5.0)
    strength_share: float = needed("1", 0.1, 5.0, "strength in them over the strength around them", example=1.8)
    fade: float = _fade()

    def ends(self, start: float, end: float, seed: int, number: int) -> Values:
        return random_patches(self, start, end, seed, number)

    def faults(self, where: str, stretch: Stretch) -> Iterator[str]:
        return _fade_faults(self, where, "the shortest patch", 0.5 * self.size)


def patch_factor(features: Iterable[Feature], x: Values, seed: int) -> Values:
    """Strength over that without patches at distances x [m], shape of x; where patches overlap, shares multiply."""
    factor = np.ones(x.size)
    for feature, number in numbered(features):
        if isinstance(feature, SoilPatch):
            ends = feature.ends(float(x[0]), float(x[-1]), seed, number)
            factor *= 1.0 + (feature.strength_share - 1.0) * covered(ends, feature.fade, x)
    return factor


def random_patches(spec: Patches, start: float, end: float, seed: int, number: int = 0) -> Values:
    """Starts and ends of the random patches that reach into start–end [m], shape (n, 2), in order of distance.

    A renewal process: lengths even in size·(1 ± 0.5), gaps exponential with mean size·(1 − share)/share, so that the
    share of the row that lies in patches tends to `share`. Drawn in order of distance: a longer track only adds to
    a shorter one that begins at the same place.
    """
    rng = stream(seed, PATCHES, number)
    gap = spec.size * (1.0 - spec.share) / spec.share
    at = start - CYCLES_AHEAD * (spec.size + gap)
    found = []
    while at < end:
        for ahead, length in rng.random((64, 2)):
            begin = at - gap * np.log1p(-ahead)
            at = begin + spec.size * (1.0 + SPREAD * (2.0 * length - 1.0))
            if at + spec.fade > start and begin - spec.fade < end:
                found.append((begin, at))
    return np.array(found).reshape(-1, 2)


def covered(ends: Values, fade: float, x: Values) -> Values:
    """How far x lies in patches, 0 to 1, shape of x: smooth over `fade` [m], halfway at a patch's ends."""
    total = np.zeros(x.size)
    for begin, end in ends:
        first = int(np.searchsorted(x, begin - fade))
        last = int(np.searchsorted(x, end + fade))
        part = x[first:last]
        total[first:last] += blend((part - begin) / fade + 0.5) * blend((end - part) / fade + 0.5)
    return np.minimum(total, 1.0)
