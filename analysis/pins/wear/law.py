"""Linear wear: how deep a bush is worn, how long it takes, and running that is partly lubricated, partly starved."""

from __future__ import annotations

import math
from collections.abc import Mapping

from analysis.pins.wear.materials import MATERIALS, Span
from sim.bushes import Pin

COSINE = 4.0 / math.pi  # highest over projected pressure where it goes round the bush as a cosine


def wear_depth(factor: float, load: float, diameter: float, length: float, slid: float) -> float:
    """Deepest wear of a bush [m] after a sliding distance [m] under a steady load [N]: w = k (4/π) F/(dL) s.

    factor: specific wear rate k [m²/N] (Archard); cosine pressure as in Shigley's Mechanical Engineering Design,
    chapter 12.
    """
    return factor * COSINE * load / (diameter * length) * slid


def time_to_wear(factor: float, load: float, diameter: float, length: float, speed: float, depth: float) -> float:
    """Time [s] in which a bush that turns steadily is worn to a depth [m]: t = π D L w/(4 K V F), V its sliding speed.

    Shigley's form without his factors f1 (motion) and f2 (surroundings); they multiply K.
    """
    return math.pi * diameter * length * depth / (4.0 * factor * speed * load)


def lubricated_share(travel: float, greasings: float, lasts: float) -> float:
    """Share of a year's travel that a bush runs lubricated: greasings × the travel that one lasts, over the year's.

    An assumed law: each greasing serves in full for `lasts` [same unit as travel], then the bush is starved until the
    next; greasings are spread evenly. By travel and not by time, so that driving faster makes no grease last longer.
    """
    return min(1.0, greasings * lasts / travel) if travel > 0.0 else 1.0


def factors(pin: Pin, lubricated: float) -> Span:
    """Wear factor [m²/N] of a pin's bushes, lowest and highest, running lubricated for a share of the time.

    In proportion to time (assumed). `dry` on a material that is made for it is as lubricated, on others as starved;
    `starved` is never lubricated.
    """
    share = mixing(pin, lubricated)
    wet, bare = MATERIALS[pin.material].lubricated, MATERIALS[pin.material].starved
    return tuple(share * a + (1.0 - share) * b for a, b in zip(wet, bare, strict=True))  # type: ignore[return-value]


def mixing(pin: Pin, lubricated: float) -> float:
    """Share of the time that the bushes of a pin run as if lubricated."""
    shares: Mapping[str, float] = {
        "greased": lubricated, "dry": 1.0 if MATERIALS[pin.material].dry_by_design else 0.0, "starved": 0.0
    }  # fmt: skip
    return shares[pin.lubrication]


def middle(span: Span) -> float:
    """Geometric mean of a range's ends: both are as many times away from it."""
    return math.sqrt(span[0] * span[1])
