"""What is placed in plan against where the passes run: what lies outside all of them is not passed over in silence."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scenarios.format.errors import fault
from scenarios.paddock.spec import PaddockMachine, PlanBank, PlanFeature, Ruts, Zone

OUTSIDE = "lies outside all passes"  # what a note of such a thing says
FROM = "places count from the start of the first pass: x along it, y to its left from its right-hand edge"


class Extent(NamedTuple):
    """A rectangle in plan [m]."""

    x0: float
    x1: float
    y0: float
    y1: float

    def meets(self, other: Extent, around: float = 0.0) -> bool:
        """Whether two rectangles have something in common, this one made larger by `around` [m] on every side."""
        along = self.x0 - around < other.x1 and other.x0 < self.x1 + around
        return along and self.y0 - around < other.y1 and other.y0 < self.y1 + around

    def holds(self, other: Extent) -> bool:
        """Whether the other rectangle lies wholly in this one."""
        return self.x0 <= other.x0 and other.x1 <= self.x1 and self.y0 <= other.y0 and other.y1 <= self.y1

    def __str__(self) -> str:
        return f"x {self.x0:.6g} to {self.x1:.6g} m, y {self.y0:.6g} to {self.y1:.6g} m"


def passes_extent(lengths: Sequence[float], width: float) -> Extent:
    """Where passes of these lengths run side by side, each so wide [m]."""
    return Extent(0.0, max(lengths), 0.0, len(lengths) * width)


def zone_extent(zone: Zone) -> Extent:
    """The rectangle of a zone, its corners in any order."""
    (xa, ya), (xb, yb) = zone.start, zone.end
    return Extent(min(xa, xb), max(xa, xb), min(ya, yb), max(ya, yb))


def feature_extent(feature: PlanFeature) -> Extent | None:
    """The rectangle around a feature; None for ruts, which go with the machine."""
    if isinstance(feature, Ruts):
        return None
    if isinstance(feature, PlanBank):
        (xa, ya), (xb, yb), around = feature.start, feature.end, feature.base
        return Extent(min(xa, xb) - around, max(xa, xb) + around, min(ya, yb) - around, max(ya, yb) + around)
    (x, y), along, across = feature.at, 0.5 * feature.length, 0.5 * feature.width
    return Extent(x - along, x + along, y - across, y + across)


def zone_faults(zones: Sequence[Zone], file: str) -> Iterator[str]:
    """Zones without an area."""
    for i, zone in enumerate(zones):
        here = zone_extent(zone)
        if here.x0 == here.x1 or here.y0 == here.y1:
            yield fault(f"{file}: zones[{i}] ({zone.name})", f"no area ({here})",
                        "two opposite corners of a rectangle", "another end_m")  # fmt: skip


def zone_notes(zones: Sequence[Zone], passes: Extent, machine: PaddockMachine, section: float) -> Iterator[str]:
    """Zones that no pass runs through, and those of which no section has its middle inside."""
    for i, zone in enumerate(zones):
        here = zone_extent(zone)
        covering = [later.name for later in zones[i + 1 :] if zone_extent(later).holds(here)]
        if not passes.meets(here):
            yield f"zone {zone.name} ({here}) {outside(passes)}"
        elif covering:
            yield f"zone {zone.name} lies wholly in zone {covering[0]}, which stands later in the file and counts there"
        elif not (_holds_middle(here.x0, here.x1, section, passes.x1) and
                  _holds_middle(here.y0, here.y1, machine.row_spacing, passes.y1)):  # fmt: skip
            yield (
                f"zone {zone.name} holds the middle of no section (sections are {section:g} m long, rows "
                f"{machine.row_spacing:g} m apart): nothing is told of it by itself; try a smaller section_m"
            )


def outside(passes: Extent) -> str:
    """What is said of a thing that no pass runs over, behind its name and place."""
    return f"{OUTSIDE} and counts for nothing; they run over {passes}. Meant to? If not: {FROM}"


def _holds_middle(low: float, high: float, step: float, end: float) -> bool:
    """Whether some (k + ½)·step up to `end`, counted from either end, lies between low and high."""
    middles = (np.arange(max(1, round(end / step))) + 0.5) * step
    return bool(any(((at >= low) & (at < high)).any() for at in (middles, end - middles)))


def feature_notes(features: Sequence[PlanFeature], passes: Extent, machine: PaddockMachine) -> Iterator[str]:
    """Features that no pass and no wheel runs over."""
    wheels = max((abs(place) for place in (*machine.front_wheels, *machine.rear_wheels)), default=0.0)
    reach = max(0.5 * machine.width, wheels)
    for i, feature in enumerate(features):
        name, here = f"{feature.kind.replace('_', ' ')} (feature {i + 1})", feature_extent(feature)
        if here is not None and not passes.meets(here, max(wheels - 0.5 * machine.width, 0.0)):
            yield f"{name}, {here}, {outside(passes)}"
        half = 0.5 * feature.width if isinstance(feature, Ruts) else 0.0
        for track in feature.tracks if isinstance(feature, Ruts) else ():
            if abs(track) - half >= reach:
                yield f"{name}: at {track:g} m from the machine's middle no row or wheel runs in its rut"


def points_fault(
    file: str, x: NDArray[np.float64], y: NDArray[np.float64], passes: Extent, around: float, what: str = "m"
) -> str | None:
    """Points that all lie far from where the passes run, or on one straight line; None: neither.

    x, y (n,) and `passes` in the same plane and unit `what`; `around`: how far off still counts as near.
    """
    points = Extent(float(x.min()), float(x.max()), float(y.min()), float(y.max()))
    if not passes.meets(points, around):
        unit = "" if what == "m" else f" ({what})"
        return fault(file, f"points at {points}{unit}, none near the passes", f"points around {passes}{unit}",
                     "check columns and units, and latitude, longitude and heading_deg of [passes]")  # fmt: skip
    spread = np.linalg.svd(np.column_stack([x - x.mean(), y - y.mean()]), compute_uv=False)
    if spread[-1] <= 1e-9 * max(spread[0], 1e-300):
        return fault(file, "points on one straight line", "points spread over the paddock", "more points")
    return None
