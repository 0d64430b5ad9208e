"""Patches of softer or harder soil: by how much they change the strength along the row.

What a patch changes is the strength under disc and boot and the rolling resistance of the gauge wheel. How far the
wheels sink follows the soil's own Bekker constants, which are one set for the whole row.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.features import blend, numbered
from scenarios.ground.synthesis import PATCHES, stream
from scenarios.spec import Feature, Patch, Patches

SPREAD = 0.5  # lengths of random patches: size·(1 ± SPREAD), spread evenly
CYCLES_AHEAD = 20  # patches and gaps drawn ahead of the track, so that its start is like any other place

Values = NDArray[np.float64]


def patch_factor(features: Iterable[Feature], x: Values, seed: int) -> Values:
    """Strength over that without patches at distances x [m], shape of x; where patches overlap, shares multiply."""
    factor = np.ones(x.size)
    for feature, number in numbered(features):
        match feature:
            case Patch():
                ends = np.array([[feature.start, feature.end]])
            case Patches():
                ends = random_patches(feature, float(x[0]), float(x[-1]), seed, number)
            case _:
                continue
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
