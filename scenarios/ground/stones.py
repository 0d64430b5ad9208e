"""Stones in and on the ground: where they lie, and the profile of their upper surface."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from scenarios.format.described import needed, span
from scenarios.format.errors import fault
from scenarios.ground.feature import Stretch, edge_text, on_stretch
from scenarios.ground.synthesis import STONES, stream
from sim.track import NO_STONE
from sim.unit import Rock, quantity

HEIGHT_SHARE = 0.3  # height of a stone over its length


@dataclass(frozen=True, kw_only=True)
class PlacedStone:
    """One stone at a known place: half an ellipse, height 0.3 × length."""

    at: float = needed("m", -1e6, 1e6, "distance of its middle", example=80.0)
    length: float = needed("m", 0.03, 2.0, "its length along the track", example=0.3)
    top: float = needed("m", -0.3, 0.6, "height of its top over the ground; negative: buried", edge="mm", example=0.03)


@dataclass(frozen=True, kw_only=True)
class Stones:
    """Stones strewn at random (Poisson), placed ones, and the disc's contact with them."""

    rate_per_100m: float = quantity(0.0, "1/(100 m)", 0.0, 500.0, "stones on 100 m of one row's track")
    length: tuple[float, float] = span((0.10, 0.35), "m", 0.03, 2.0, "lengths, spread evenly")
    top: tuple[float, float] = span(
        (-0.050, 0.030),
        "m",
        -0.3,
        0.3,
        "heights of the top over the ground, spread evenly; negative: buried",
        edge="mm",
    )
    placed: tuple[PlacedStone, ...] = ()
    contact: Rock = field(default_factory=Rock)


class Stone(NamedTuple):
    """One stone: distance of its middle [m], length [m], height of its top over the ground there [m]."""

    at: float
    length: float
    top: float


def strewn(stones: Stones, start: float, end: float, seed: int) -> list[Stone]:
    """Random stones that lie wholly after `start` and begin before `end`, in order of distance.

    A Poisson process: gaps between middles are exponential with mean 100 m/rate, lengths and tops spread evenly.
    Drawn in order of distance: a longer track only adds to a shorter one.
    """
    if stones.rate_per_100m == 0.0:
        return []
    rng = stream(seed, STONES)
    mean_gap = 100.0 / stones.rate_per_100m
    found: list[Stone] = []
    at = start
    while at < end:
        for gap, length, top in rng.random((256, 3)):
            at -= mean_gap * np.log1p(-gap)
            stone = Stone(float(at), _between(stones.length, length), _between(stones.top, top))
            if stone.at - 0.5 * stone.length >= start and stone.at - 0.5 * stone.length < end:
                found.append(stone)
    return found


def _between(bounds: tuple[float, float], share: float) -> float:
    return float(bounds[0] + (bounds[1] - bounds[0]) * share)


def lay_stones(stones: Stones, start: float, end: float, seed: int) -> list[Stone]:
    """Random and placed stones of a stretch in order of distance; their places in the list are their numbers."""
    placed = [Stone(s.at, s.length, s.top) for s in stones.placed if start <= s.at - 0.5 * s.length < end]
    return sorted(strewn(stones, start, end, seed) + placed)


def stone_profile(
    stones: list[Stone], x: NDArray[np.float64], ground: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.int32]]:
    """Upper surface of the stones on the grid x and the number of the stone it belongs to, shapes of x.

    A stone is the upper half of an ellipse, height 0.3 × length, its top `top` over the ground at its middle. Where
    two overlap the higher one counts. Where there is none the height is NO_STONE (lower still on ground that falls
    below that, so that it never shows above the ground) and the number −1.
    """
    top = np.full(x.size, min(NO_STONE, float(ground.min()) - 1.0))
    number = np.full(x.size, -1, dtype=np.int32)
    if not stones:
        return top, number
    at, length, above = np.array(stones).T
    firsts = np.searchsorted(x, at - 0.5 * length).tolist()
    ends = np.searchsorted(x, at + 0.5 * length, side="right").tolist()
    peaks = (np.interp(at, x, ground) + above).tolist()
    for i, (stone, first, end, peak) in enumerate(zip(stones, firsts, ends, peaks, strict=True)):
        u = (x[first:end] - stone.at) / (0.5 * stone.length)
        height = peak - HEIGHT_SHARE * stone.length * (1.0 - np.sqrt(np.maximum(1.0 - u * u, 0.0)))
        here = top[first:end]
        higher = height > here
        np.copyto(here, height, where=higher)
        np.copyto(number[first:end], i, where=higher)
    return top, number


def stones_faults(stones: Stones, stretch: Stretch, file: str) -> Iterator[str]:
    """Stones off the stretch, in the lead-in, or so high that they would hang over the ground."""
    if stones.rate_per_100m > 0.0:
        yield from top_faults(f"{file}: stones", stones.length, stones.top)
    for i, stone in enumerate(stones.placed):
        where = f"{file}: stones.placed[{i}]"
        if not stretch[0] <= stone.at - 0.5 * stone.length <= stone.at <= stretch[1]:
            hint = f"{sum(stretch) / 2:g}"
            yield fault(f"{where}.at_m", f"given {stone.at:g}", f"the whole stone {on_stretch(stretch)}", hint)
        if stone.top > HEIGHT_SHARE * stone.length + 1e-9:
            yield fault(
                f"{where}.top_mm",
                f"given {edge_text(stone.top, 'mm')}",
                f"up to 0.3 of its length, {edge_text(HEIGHT_SHARE * stone.length, 'mm')} mm",
                f"{edge_text(HEIGHT_SHARE * stone.length, 'mm')}",
            )


def top_faults(where: str, length: tuple[float, float], top: tuple[float, float]) -> Iterator[str]:
    """Tops of strewn stones so high that the stones would hang over the ground."""
    tallest = HEIGHT_SHARE * length[0]
    if top[1] > tallest + 1e-9:
        yield fault(
            f"{where}.top_mm",
            f"tops up to {edge_text(top[1], 'mm')} on stones of {length[0]:g} m",
            f"up to {HEIGHT_SHARE:g} of the shortest stone, {edge_text(tallest, 'mm')} mm",
            "longer stones or lower tops",
        )
