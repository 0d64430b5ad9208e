"""The ground under one pass of a machine, row by row and wheel by wheel, made in stretches as it is travelled.

Travel u [m] counts from where the measured stretch begins. Ahead of it lie 14 m flat, 8 m in which ground and
strength blend in and 4 m to settle; behind it the ground goes on. Samples stand dx apart, 5 mm or finer where waves
are shorter than 0.1 m (`spacing`); sample i stands at u = i·dx.
A pass that runs against the first one's direction meets the same ground the other way round. Rows count from the
left; places across from the machine's middle, left positive.

The random surface lies on parallel lines (`surface_lines`); rows lie on such lines exactly, wheels on the nearest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.curves import blend
from scenarios.ground.lay import BLEND, FLAT, SETTLE, reach, spacing
from scenarios.ground.stones import stone_profile
from scenarios.ground.strength import HIGHEST, LOWEST
from scenarios.ground.synthesis import ROUGHNESS, STEP, STRENGTH
from scenarios.paddock.paddock import COARSE, Paddock
from scenarios.paddock.plan_input import Nodes
from scenarios.paddock.plan_shapes import bank_heights, hump_heights, rut_share, zone_share
from scenarios.paddock.plan_stones import StoneField, row_stones
from scenarios.paddock.plan_strength import StrengthMap
from scenarios.paddock.spec import PlanBank, PlanHump, Ruts, StonePatch
from scenarios.paddock.surface import Isotropic, rough_surface, strength_surface
from scenarios.paddock.surface_lines import Lines, Travelled, whole_period
from sim.track import NO_STONE

Values = NDArray[np.float64]
Numbers = NDArray[np.int64]

LINE_SPACING = 0.3  # lines of the random surface lie no further apart [m]
KEPT_AS = np.float32  # random lines: rounded to 6e-8 of themselves, a few nanometres
LONGEST_PERIOD = 2048.0  # the random surface repeats along the passes after this at the latest [m]


@dataclass(frozen=True)
class Stretch:
    """Ground of several lines over a stretch of travel; arrays (lines, n), as in `sim.track.Track`."""

    ground: Values
    stone_top: Values
    stone_id: NDArray[np.int32]
    strength: Values


class _Drawn(NamedTuple):
    """Lines of a random surface, not made yet."""

    surface: Lines
    numbers: Numbers


class Lanes:
    """The ground under pass `number` of a paddock."""

    def __init__(self, paddock: Paddock, number: int) -> None:
        self.paddock, self.number = paddock, number
        self.length = paddock.length(number)
        self.backwards = paddock.backwards(number)
        self.behind, self.ahead = reach(paddock.unit)
        self.dx = spacing(paddock.ground.roughness)
        machine = paddock.machine
        self.rows = np.array([machine.offset(j) for j in range(machine.rows)])
        self.wheels = np.array([*machine.front_wheels, *machine.rear_wheels])
        self._across = np.concatenate([self.rows, self.wheels])  # all lines: rows, then wheels

    @property
    def start(self) -> float:
        """Travel at which there is ground first [m]."""
        return -(FLAT + BLEND + SETTLE + self.behind)

    def row_ground(self, first: int, count: int, rows: Sequence[int] | None = None) -> Stretch:
        """Ground of rows (all, or these of them, from 0) at samples first … first + count."""
        chosen = np.arange(self.rows.size) if rows is None else np.array(rows)
        ground, top, number = self._surfaces(chosen, first, count)
        return Stretch(ground, top, number, self._strengths(chosen, first, count))

    def wheel_heights(self, first: int, count: int) -> Values:
        """Surface (ground and stones) under the wheels, front ones first, (wheels, count) [m]."""
        ground, top, _ = self._surfaces(self.rows.size + np.arange(self.wheels.size), first, count)
        return np.maximum(ground, top)

    def places(self, u: Values, across: Values) -> tuple[Values, Values]:
        """Places in plan: x at travel u (same shape), y at places across the machine (same shape) [m]."""
        side = -1.0 if self.backwards else 1.0
        x = self.length - u if self.backwards else u
        return x, self.paddock.centre(self.number) + side * across

    @property
    def room(self) -> int:
        """What its random lines take once they are made [bytes]; they are not made for it."""
        drawn = [one for one in (self._rough_lines, self._strength_lines) if one is not None]
        return sum(one.numbers.size * one.surface.samples * KEPT_AS().itemsize for one in drawn)

    # --- random surfaces -----------------------------------------------------------------------------------------

    @cached_property
    def _roughness(self) -> Travelled | None:
        return self._travelled(self._rough_lines)

    @cached_property
    def _row_strength(self) -> Travelled | None:
        return self._travelled(self._strength_lines)

    @property
    def _rough_lines(self) -> _Drawn | None:
        """Under the rows and the wheels: drawn together, since they share strips."""
        return self._drawn(self._rough, self._across, ROUGHNESS, COARSE * self.dx / STEP)

    @property
    def _strength_lines(self) -> _Drawn | None:
        paddock = self.paddock
        if paddock.variation.variation_cv == 0.0 or self._nodes_strength is not None:
            return None
        return self._drawn(strength_surface(paddock.variation), self.rows, STRENGTH, COARSE)

    @cached_property
    def _rough(self) -> Isotropic | None:
        """Density of the random roughness; on measured ground only what lies below its sampling."""
        rough, measured = self.paddock.ground.roughness, self.paddock.measured
        if rough is None:
            return None
        surface = rough_surface(rough)
        if measured is None:
            return surface
        shortest = 1.0 / measured.shortest_wave(self.number)
        if shortest >= surface.highest:
            return None
        # a measured plane holds all longer waves; a measured line all that are longer along it, whatever their angle
        return replace(surface, longest=shortest) if measured.plane else replace(surface, longest=0.0, lowest=shortest)

    def _drawn(self, density: Isotropic | None, across: Values, purpose: int, step: float) -> _Drawn | None:
        """A random surface at samples `step` [m] apart: 1/2 or 1/4 of COARSE where its waves are that short."""
        if density is None:
            return None
        machine = self.paddock.machine
        share = math.ceil(machine.row_spacing / LINE_SPACING)
        apart = machine.row_spacing / share
        y = self.places(np.zeros(across.size), across)[1]
        lines = np.maximum(np.floor(y / apart + 1e-6), 0.0).astype(np.int64)
        longest = max(self.paddock.length(i) for i in range(self.paddock.count))
        around = 2.0 * (FLAT + BLEND + SETTLE + self.behind + self.ahead)
        period = whole_period(min(longest + around, LONGEST_PERIOD), COARSE)
        return _Drawn(Lines(density, apart, period, step, (self.paddock.seed, purpose)), lines)

    def _travelled(self, drawn: _Drawn | None) -> Travelled | None:
        if drawn is None:
            return None
        surface, numbers = drawn
        begin = round(self.length / surface.step) if self.backwards else 0
        heights = surface.heights(numbers).astype(KEPT_AS)
        return Travelled(heights, round(surface.step / self.dx), begin, self.backwards)

    # --- everything together --------------------------------------------------------------------------------------

    @cached_property
    def _nodes(self) -> Nodes | None:
        if self.paddock.measured is None:
            return None
        centre = self.paddock.centre(self.number)
        return self.paddock.measured.nodes(self.number, self._across, centre, self.backwards, self.ahead)

    @cached_property
    def _nodes_strength(self) -> Values | None:
        return None if self._nodes is None else self._nodes.strength

    @cached_property
    def _strength_map(self) -> StrengthMap | None:
        points = self.paddock.strengths
        return None if points is None else StrengthMap(self.paddock, points)

    def _surfaces(self, lines: Numbers, first: int, count: int) -> tuple[Values, Values, NDArray[np.int32]]:
        """Ground, top and name of stones on lines at samples first … first + count, (lines, count)."""
        stones = StoneField(self.paddock.stones, self._patches, self.paddock.seed)
        margin = 0 if stones.empty else math.ceil(self.paddock.stones.length[1] / self.dx)
        u = self._travel(first - margin, count + 2 * margin)
        ground = self._heights(lines, u, first - margin)
        inside = slice(margin, margin + count)
        top, number = self._stones(stones, self._across[lines], u, ground)
        return (
            np.ascontiguousarray(ground[:, inside]),
            np.ascontiguousarray(top[:, inside]),
            np.ascontiguousarray(number[:, inside]),
        )

    def _travel(self, first: int, count: int) -> Values:
        return self.dx * np.arange(first, first + count, dtype=np.float64)

    def _heights(self, lines: Numbers, u: Values, first: int) -> Values:
        across, rough = self._across[lines], self._roughness
        x, y = self.places(u, np.zeros(1))[0], self.places(np.zeros(across.size), across)[1]
        total = np.zeros((across.size, u.size)) if rough is None else rough.heights(first, u.size, lines)
        if self._nodes is not None:
            total += self._nodes.at(u, lines)
        for feature in self.paddock.ground.features:
            match feature:
                case PlanHump():
                    near = _columns(x, (feature.at[0], feature.at[0]), 0.5 * feature.length)
                    total[:, near] += hump_heights(feature, x[near], y)
                case PlanBank():
                    near = _columns(x, (feature.start[0], feature.end[0]), feature.base)
                    total[:, near] += bank_heights(feature, x[near], y)
                case Ruts():
                    total -= feature.depth * rut_share(feature, across)[:, None]
        return _blended(total, 0.0, u)

    def _strengths(self, rows: Numbers, first: int, count: int) -> Values:
        u, across, strengths = self._travel(first, count), self.rows[rows], self._row_strength
        x, y = self.places(u, np.zeros(1))[0], self.places(np.zeros(across.size), across)[1]
        reference = self.paddock.soil.strength
        if self._nodes_strength is not None:
            assert self._nodes is not None
            mean = np.broadcast_to(np.interp(u, self._nodes.u, self._nodes_strength), (across.size, u.size))
        elif self._strength_map is not None:
            mean = self._strength_map.at(self.number, u, across, x, y)
        else:
            mean = np.broadcast_to(reference, (across.size, u.size))
        for zone in self.paddock.zones:
            if zone.strength is not None:
                near = _columns(x, (zone.start[0], zone.end[0]), 1.0)
                mean = np.array(mean)
                mean[:, near] += zone_share(zone, x[near], y) * (zone.strength - mean[:, near])
        for feature in self.paddock.ground.features:
            if isinstance(feature, Ruts) and feature.strength_share != 1.0:
                mean = mean * (1.0 + (feature.strength_share - 1.0) * rut_share(feature, across)[:, None])
        if strengths is not None:
            share = strengths.heights(first, u.size, rows)
            share += 1.0
            mean = np.multiply(mean, np.clip(share, LOWEST, HIGHEST, out=share), out=share)
        return np.ascontiguousarray(_blended(mean, reference, u))

    def _stones(self, field: StoneField, across: Values, u: Values, ground: Values) -> tuple[Values, NDArray[np.int32]]:
        number = np.full(ground.shape, -1, dtype=np.int32)
        if field.empty or u[-1] < 0.0:
            return np.full(ground.shape, min(NO_STONE, ground.min() - 1.0)), number
        top = np.empty(ground.shape)
        low, high = (self.length - u[-1], self.length - u[0]) if self.backwards else (u[0], u[-1])
        places = self.places(np.zeros(across.size), across)[1]
        for j, y in enumerate(places):
            met = row_stones(field, float(low), float(high), float(y))
            if self.backwards:
                met = [(stone._replace(at=self.length - stone.at), k) for stone, k in reversed(met)]
            met = [(stone, k) for stone, k in met if stone.at - 0.5 * stone.length >= 0.0]
            top[j], which = stone_profile([stone for stone, _ in met], u, ground[j])
            names = np.array([*(k for _, k in met), -1], dtype=np.int32)
            number[j] = names[which]
        return top, number

    @cached_property
    def _patches(self) -> tuple[StonePatch, ...]:
        return tuple(f for f in self.paddock.ground.features if isinstance(f, StonePatch))


def _blended(values: Values, flat: float, u: Values) -> Values:
    """Values over a stretch of travel u [m], blended in from what stands on the flat ahead of the pass."""
    if u[0] >= -SETTLE:
        return values
    return flat + (values - flat) * blend((u + SETTLE + BLEND) / BLEND)


def _columns(x: Values, ends: tuple[float, float], around: float) -> slice:
    """The samples of a stretch of places x (rising or falling) that lie within `around` of what lies between ends."""
    low, high = min(ends) - around, max(ends) + around
    inside = np.flatnonzero((x >= low) & (x <= high))
    return slice(int(inside[0]), int(inside[-1]) + 1) if inside.size else slice(0, 0)
