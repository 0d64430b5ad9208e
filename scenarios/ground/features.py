"""Heights of single features and of regular and random waves, along the row in measured distance."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.synthesis import GILGAI, stream
from scenarios.spec import Bank, Drop, Edge, Feature, Gilgai, Hollow, Hump, Ramp, Ridges, Rut, Sine, Surface

Heights = NDArray[np.float64]

ROUNDED = 0.1  # share of a ramp's run that is rounded at either end


def numbered(features: Iterable[Feature]) -> Iterator[tuple[Feature, int]]:
    """Features with their number among those of their kind: what their random numbers depend on.

    A feature of another kind, wherever it stands in the list, therefore changes nothing.
    """
    seen: Counter[type] = Counter()
    for feature in features:
        yield feature, seen[type(feature)]
        seen[type(feature)] += 1


def blend(u: Heights) -> Heights:
    """3u² − 2u³ with u held between 0 and 1: a smooth step from 0 to 1."""
    v = np.clip(u, 0.0, 1.0)
    return v * v * (3.0 - 2.0 * v)


def feature_heights(feature: Surface, x: Heights, seed: int, number: int) -> Heights:
    """Height [m] that a feature adds at distances x [m], shape of x.

    `number` tells several random features of one kind apart: each draws from a stream of its own.
    """
    match feature:
        case Hump():
            heights = feature.height * _raised_cosine(x, feature.at, feature.length)
        case Hollow():
            heights = -feature.depth * _raised_cosine(x, feature.at, feature.length)
        case Drop():
            heights = -feature.depth * blend((x - feature.at) / feature.length)
        case Sine():
            heights = feature.amplitude * np.sin(_phase(feature, x)) * _fade(feature, x)
        case Gilgai():
            heights = _gilgai(feature, x, stream(seed, GILGAI, number))
        case Bank():
            heights = _bank(feature, x)
        case Ramp():
            heights = feature.rise * _ramp((x - feature.at) / feature.run)
        case Edge():
            heights = feature.step * np.clip((x - feature.at) / feature.run, 0.0, 1.0)
        case Rut():
            heights = _rut(feature, x)
        case Ridges():
            heights = 0.5 * feature.height * np.cos(_phase(feature, x)) * _fade(feature, x)
    return heights


def _raised_cosine(x: Heights, at: float, length: float) -> Heights:
    """(1 + cos(2π(x − at)/length))/2 within half a length of `at`, else 0."""
    u = np.clip((x - at) / length, -0.5, 0.5)
    return 0.5 * (1.0 + np.cos(2.0 * np.pi * u))


def _phase(waves: Sine | Ridges, x: Heights) -> Heights:
    """Phase of regular waves [rad], from their start, or from distance 0 where they have none."""
    start = 0.0 if waves.start is None else waves.start
    return 2.0 * np.pi * (x - start) / waves.wavelength


def _fade(waves: Sine | Ridges, x: Heights) -> Heights:
    """Waves fade in and out over half a wave inside their ends, where they have ends: their share, 0 to 1."""
    share = np.ones(x.size)
    if waves.start is not None:
        share = share * blend((x - waves.start) / (0.5 * waves.wavelength))
    if waves.end is not None:
        share = share * blend((waves.end - x) / (0.5 * waves.wavelength))
    return share


def _bank(bank: Bank, x: Heights) -> Heights:
    """Both slopes smooth, from the toes inwards, measured square to the bank."""
    across = np.abs(x - bank.at) * np.sin(bank.angle)
    return bank.height * blend((0.5 * bank.base - across) / bank.slope)


def _ramp(u: Heights) -> Heights:
    """0 before u = 0, 1 after u = 1, straight between but for parabolas over `ROUNDED` at either end."""
    r = ROUNDED
    v = np.clip(u, 0.0, 1.0)
    parts = [0.5 * v**2 / r, 1.0 - r - 0.5 * (1.0 - v) ** 2 / r]
    return np.select([v < r, v > 1.0 - r], parts, default=v - 0.5 * r) / (1.0 - r)


def _rut(rut: Rut, x: Heights) -> Heights:
    """Square to the rut: flat for |u| ≤ 1/2, up to the lip at |u| = 1, a shoulder up to |u| = 3/2; u in half widths."""
    u = np.abs(x - rut.at) * np.sin(rut.angle) / (0.5 * rut.width)
    shoulder = _raised_cosine(u, 1.25, 0.5)
    return rut.shoulder * shoulder - rut.depth * blend(2.0 * (1.0 - u))


def _gilgai(gilgai: Gilgai, x: Heights, rng: np.random.Generator) -> Heights:
    """Humps and hollows in turn, joined by half cosines.

    Their tops and bottoms lie `wavelength`/2·(1 ± 0.3) apart and at ±`height`/2·(1 ± 0.4), both spread evenly.
    Drawn in order of distance: a longer track only adds to a shorter one that begins at the same place.
    """
    half = 0.5 * gilgai.wavelength
    count = int(np.ceil((x[-1] - x[0]) / (0.7 * half))) + 3
    first = -1.0 if rng.random() < 0.5 else 1.0
    draws = rng.uniform(-1.0, 1.0, (count, 2))
    places = x[0] - 2.0 * half + np.cumsum(half * (1.0 + 0.3 * draws[:, 0]))
    signs = first * np.where(np.arange(count) % 2 == 0, 1.0, -1.0)
    tops = signs * 0.5 * gilgai.height * (1.0 + 0.4 * draws[:, 1])
    i = np.clip(np.searchsorted(places, x, side="right") - 1, 0, count - 2)
    u = np.clip((x - places[i]) / (places[i + 1] - places[i]), 0.0, 1.0)
    return tops[i] + (tops[i + 1] - tops[i]) * 0.5 * (1.0 - np.cos(np.pi * u))
