"""Kinds of `[[ground.features]]`: shapes of the surface, patches of other strength, and fields of stones.

Distances count along the row. A feature that a line in the field draws (bank, rut, ridges) is described square to
that line; `angle` is the angle between the line and the direction of travel, so that the row meets every length
of it divided by sin(angle): 90° is a square crossing, a small angle a long one.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, ClassVar

from scenarios.format.described import needed, optional, span
from sim.unit import quantity


def _angle(doc: str) -> Any:
    """The angle at which a row crosses a line in the field."""
    low = math.radians(2.0)
    return quantity(math.radians(90.0), "rad", low, math.radians(90.0), doc, edge="deg")


def _fade() -> Any:
    """The length over which strength changes at the border of a patch."""
    return quantity(0.5, "m", 0.02, 20.0, "length over which the strength changes at its ends")


@dataclass(frozen=True, kw_only=True)
class Hump:
    """One hump, a raised cosine: height·(1 + cos(2π(x − at)/length))/2 within half a length of its top."""

    kind: ClassVar[str] = "hump"
    at: float = needed("m", -1e6, 1e6, "distance of its top", example=50.0)
    height: float = needed("m", 0.001, 2.0, "height of its top over the ground beside it", edge="mm", example=0.15)
    length: float = needed("m", 0.1, 200.0, "length from foot to foot", example=3.0)


@dataclass(frozen=True, kw_only=True)
class Hollow:
    """One hollow: a hump upside down."""

    kind: ClassVar[str] = "hollow"
    at: float = needed("m", -1e6, 1e6, "distance of its lowest point", example=100.0)
    depth: float = needed("m", 0.001, 2.0, "depth of that point under the ground beside it", edge="mm", example=0.15)
    length: float = needed("m", 0.1, 200.0, "length from edge to edge", example=3.0)


@dataclass(frozen=True, kw_only=True)
class Sine:
    """Regular waves, amplitude·sin(2π(x − start)/wavelength), faded over half a wave where they start and end."""

    kind: ClassVar[str] = "sine"
    amplitude: float = needed("m", 0.0005, 1.0, "half the height from trough to crest", edge="mm", example=0.03)
    wavelength: float = needed("m", 0.05, 200.0, "length of one wave", example=2.0)
    start: float | None = optional("m", -1e6, 1e6, "distance at which they start; left out: everywhere", example=20.0)
    end: float | None = optional("m", -1e6, 1e6, "distance at which they end; left out: never", example=60.0)


@dataclass(frozen=True, kw_only=True)
class Gilgai:
    """Gilgai, random humps and hollows in turn: tops at half the height ± 40 %, half a wavelength ± 30 % apart."""

    kind: ClassVar[str] = "gilgai"
    height: float = needed("m", 0.001, 2.0, "mean height from hollow to hump", edge="mm", example=0.15)
    wavelength: float = needed("m", 0.5, 200.0, "mean distance from hump to hump", example=8.0)


@dataclass(frozen=True, kw_only=True)
class Drop:
    """The ground falls, smoothly as 3u² − 2u³, and stays down: the edge of a bank or a gully."""

    kind: ClassVar[str] = "drop"
    at: float = needed("m", -1e6, 1e6, "distance at which the fall begins", example=150.0)
    depth: float = needed("m", 0.001, 2.0, "how far the ground falls", edge="mm", example=0.3)
    length: float = needed("m", 0.1, 200.0, "length over which it falls", example=2.0)


@dataclass(frozen=True, kw_only=True)
class Bank:
    """Contour bank: up, perhaps a level crest, and down again, each slope a smooth 3u² − 2u³."""

    kind: ClassVar[str] = "bank"
    at: float = needed("m", -1e6, 1e6, "distance of its middle", example=120.0)
    height: float = needed("m", 0.01, 2.0, "height over the ground beside it", edge="mm", example=0.35)
    base: float = needed("m", 0.3, 100.0, "width from toe to toe, square to the bank", example=6.0)
    batter: float | None = optional(
        "1", 0.3, 50.0, "metres across per metre up where a slope is steepest; left out: the slopes meet in the crest",
        example=4.0,
    )  # fmt: skip
    angle: float = _angle("angle between the bank and the direction of travel; 90: crossed square")

    @property
    def slope(self) -> float:
        """Width of each slope, square to the bank [m]: 3u² − 2u³ is 3/2 as steep in its middle as on the whole."""
        return 0.5 * self.base if self.batter is None else 1.5 * self.batter * self.height


@dataclass(frozen=True, kw_only=True)
class Ramp:
    """The ground rises (or falls) along a straight slope and stays there; a tenth of the run is rounded at each end."""

    kind: ClassVar[str] = "ramp"
    at: float = needed("m", -1e6, 1e6, "distance at which the slope begins", example=130.0)
    rise: float = needed("m", -20.0, 20.0, "how far the ground rises; negative: falls", edge="mm", example=0.5)
    run: float = needed("m", 0.5, 1000.0, "length of the slope along the row", example=10.0)


@dataclass(frozen=True, kw_only=True)
class Edge:
    """A step up (or down): a straight face over a short run, unrounded."""

    kind: ClassVar[str] = "edge"
    at: float = needed("m", -1e6, 1e6, "distance at which the face begins", example=140.0)
    step: float = needed("m", -0.5, 0.5, "height of the step; negative: down", edge="mm", example=0.06)
    run: float = needed("m", 0.02, 2.0, "length of the face along the row", example=0.1)


@dataclass(frozen=True, kw_only=True)
class Rut:
    """Wheel rut that the row crosses: flat over the middle half, sides 3u² − 2u³, perhaps a shoulder on either side."""

    kind: ClassVar[str] = "rut"
    at: float = needed("m", -1e6, 1e6, "distance of its middle", example=160.0)
    depth: float = needed("m", 0.005, 0.6, "depth under the ground beside it", edge="mm", example=0.08)
    width: float = needed("m", 0.1, 3.0, "width from lip to lip, square to the rut", example=0.6)
    shoulder: float = quantity(
        0.0, "m", 0.0, 0.3, "height of the soil pushed up on either side, a quarter of the width wide", edge="mm"
    )
    angle: float = _angle("angle between the rut and the direction of travel; a row that all but runs in it: 2")


@dataclass(frozen=True, kw_only=True)
class Ridges:
    """Old ridges, height/2·cos(2π(x − start)·sin(angle)/spacing): the row meets waves of spacing/sin(angle)."""

    kind: ClassVar[str] = "ridges"
    spacing: float = needed("m", 0.1, 20.0, "distance from ridge to ridge, square to them", example=0.9)
    height: float = needed("m", 0.002, 0.5, "height from furrow to ridge", edge="mm", example=0.05)
    angle: float = _angle("angle between the ridges and the direction of travel; 90: crossed square")
    start: float | None = optional("m", -1e6, 1e6, "distance at which they start; left out: everywhere", example=20.0)
    end: float | None = optional("m", -1e6, 1e6, "distance at which they end; left out: never", example=60.0)

    @property
    def wavelength(self) -> float:
        """Length of the waves that the row meets [m]."""
        return self.spacing / math.sin(self.angle)


@dataclass(frozen=True, kw_only=True)
class Patch:
    """One patch of softer or harder soil: its strength is a share of the strength around it."""

    kind: ClassVar[str] = "patch"
    start: float = needed("m", -1e6, 1e6, "distance at which it begins (halfway through the change)", example=30.0)
    end: float = needed("m", -1e6, 1e6, "distance at which it ends (halfway through the change)", example=40.0)
    strength_share: float = needed("1", 0.1, 5.0, "strength in it over the strength around it", example=0.5)
    fade: float = _fade()


@dataclass(frozen=True, kw_only=True)
class Patches:
    """Random patches of softer or harder soil: lengths size ± 50 %, spread evenly, at random distances."""

    kind: ClassVar[str] = "patches"
    share: float = needed("1", 0.01, 0.9, "share of the row that lies in patches, in the long run", example=0.2)
    size: float = needed("m", 0.2, 200.0, "mean length of a patch along the row", example=5.0)
    strength_share: float = needed("1", 0.1, 5.0, "strength in them over the strength around them", example=1.8)
    fade: float = _fade()


@dataclass(frozen=True, kw_only=True)
class StoneField:
    """Stones by the hectare: half ellipsoids, round in plan, 0.3 as high as long; the row cuts where it meets them."""

    kind: ClassVar[str] = "stone_field"
    stones_per_ha: float = needed("1/ha", 0.0, 1e6, "stones on a hectare, of these sizes and tops", example=8000.0)
    length: tuple[float, float] = span((0.10, 0.35), "m", 0.03, 2.0, "lengths (diameters in plan), spread evenly")
    top: tuple[float, float] = span(
        (-0.050, 0.030), "m", -0.3, 0.3, "heights of the top over the ground, spread evenly; negative: buried",
        edge="mm",
    )  # fmt: skip
    groove: float = quantity(
        0.025, "m", 0.0, 0.3, "width that the disc opens: a stone is struck if any of it lies in that width",
        edge="mm", source="derived: chord of the default disc at 40 mm depth × sin of its sweep",
    )  # fmt: skip
    start: float | None = optional("m", -1e6, 1e6, "distance at which it starts; left out: everywhere", example=20.0)
    end: float | None = optional("m", -1e6, 1e6, "distance at which it ends; left out: never", example=60.0)


Surface = Hump | Hollow | Sine | Gilgai | Drop | Bank | Ramp | Edge | Rut | Ridges
SURFACES: tuple[type, ...] = (Hump, Hollow, Sine, Gilgai, Drop, Bank, Ramp, Edge, Rut, Ridges)
Feature = Surface | Patch | Patches | StoneField
FEATURES: tuple[type, ...] = (*SURFACES, Patch, Patches, StoneField)
