"""Stones given by the hectare: how many a row strikes, and what it meets of each.

A stone is half an ellipsoid, round in plan with diameter D and 0.3·D high. N stones lie on a hectare (10⁴ m²), at
random places. The disc opens a groove of width g along the row and strikes each stone of which any part lies in that
groove: those whose middle lies within (D + g)/2 of the row on either side, a strip D + g wide. On one metre of row
that strip holds N·(D + g)/10⁴ stones of diameter D, so that

    strikes per row metre = N·(E[D] + g)/10⁴                        (g = 0: a line through discs, the line intercept)

and among the stones struck large ones are more frequent, by D + g. Of a stone struck with its middle at a distance y
from the row the groove meets the part nearest to that middle: with η = max(|y| − g/2, 0)/(D/2), the cut through the
half ellipsoid is half an ellipse c = D·√(1 − η²) long and 0.3·c high on the same base, so its top lies 0.3·(D − c)
lower than that of the stone. |y| is spread evenly over 0 … (D + g)/2.

Derived here (elementary geometry); the case g = 0 is the line-intercept rule of areal sampling (value from memory).
A machine whose rows lie s apart runs 10⁴/s row metres on a hectare and strikes N·(E[D] + g)/s times.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import ClassVar

from scenarios.format.described import needed, span
from scenarios.ground.feature import Feature, Stretch, begin, ends_faults, finish, numbered
from scenarios.ground.stones import HEIGHT_SHARE, Stone, top_faults
from scenarios.ground.synthesis import STONE_FIELD, stream
from sim.unit import quantity

HECTARE = 1e4  # [m²]


@dataclass(frozen=True, kw_only=True)
class ByTheHectare:
    """Stones by the hectare, of some sizes and tops, and the groove in which the disc strikes them."""

    stones_per_ha: float = quantity(0.0, "1/ha", 0.0, 1e6, "stones on a hectare outside patches")
    length: tuple[float, float] = span((0.10, 0.35), "m", 0.03, 2.0, "lengths (diameters in plan), spread evenly")
    top: tuple[float, float] = span(
        (-0.050, 0.030), "m", -0.3, 0.3, "heights of the top over the ground, spread evenly; negative: buried",
        edge="mm",
    )  # fmt: skip
    groove: float = quantity(
        0.025, "m", 0.0, 0.3, "width that the disc opens: a stone is struck if any of it lies in that width",
        edge="mm", source="derived: chord of the default disc at 40 mm depth × sin of its sweep",
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class StoneField(ByTheHectare, Feature):
    """Stones by the hectare: half ellipsoids, round in plan, 0.3 as high as long; the row cuts where it meets them."""

    kind: ClassVar[str] = "stone_field"
    stones_per_ha: float = needed("1/ha", 0.0, 1e6, "stones on a hectare, of these sizes and tops", example=8000.0)
    start: float | None = begin("it starts")
    end: float | None = finish("it ends")

    def faults(self, where: str, stretch: Stretch) -> Iterator[str]:
        yield from ends_faults(self.start, self.end, where, stretch)
        if self.stones_per_ha > 0.0:
            yield from top_faults(where, self.length, self.top)


def strikes_per_metre(field: StoneField) -> float:
    """Stones that one row strikes on a metre, in the mean [1/m], buried ones among them."""
    return field.stones_per_ha * (0.5 * sum(field.length) + field.groove) / HECTARE


def strikes_per_hectare(field: StoneField, row_spacing: float) -> float:
    """Strikes of all rows of a machine on a hectare, rows `row_spacing` [m] apart."""
    return strikes_per_metre(field) * HECTARE / row_spacing


def field_stones(features: Iterable[Feature], start: float, end: float, seed: int) -> list[Stone]:
    """What a row meets of all stone fields between start and end [m]: cuts as `Stone`, in order of distance.

    Each begins in start … end and in its field, and none reaches back before `start`. Drawn in order of distance: a
    longer track only adds to a shorter one.
    """
    found: list[Stone] = []
    for feature, number in numbered(features):
        if isinstance(feature, StoneField) and feature.stones_per_ha > 0.0:
            found += _of_field(feature, start, end, seed, number)
    return sorted(found)


def _of_field(field: StoneField, start: float, end: float, seed: int, number: int) -> list[Stone]:
    rng = stream(seed, STONE_FIELD, number)
    mean_gap = 1.0 / strikes_per_metre(field)
    first = start if field.start is None else max(start, field.start)
    last = end if field.end is None else min(end, field.end)
    found: list[Stone] = []
    at = first
    while at < last:
        for gap, size, offset, top in rng.random((256, 4)):
            at -= mean_gap * math.log1p(-gap)
            stone = cut(field, at, size, offset, top)
            if stone.at - 0.5 * stone.length >= first and stone.at - 0.5 * stone.length < last:
                found.append(stone)
    return found


def cut(field: StoneField, at: float, size: float, offset: float, top: float) -> Stone:
    """What the row meets of the stone that three evenly spread numbers in 0…1 stand for.

    size: (D + g)² lies evenly between its bounds, which gives a density of D that rises with D + g; offset:
    2|y|/(D + g); top: of the whole stone, evenly between its bounds.
    """
    g = field.groove
    low, high = (field.length[0] + g) ** 2, (field.length[1] + g) ** 2
    diameter = math.sqrt(low + size * (high - low)) - g
    eta = max(offset * (diameter + g) - g, 0.0) / diameter
    chord = diameter * math.sqrt(max(1.0 - eta * eta, 0.0))
    whole = field.top[0] + top * (field.top[1] - field.top[0])
    return Stone(at, chord, whole - HEIGHT_SHARE * (diameter - chord))
