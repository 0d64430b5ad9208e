"""Heights of single features and of regular and random waves, in measured distance."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scenarios.spec import Drop, Feature, Gilgai, Hollow, Hump, Sine
from scenarios.synthesis import GILGAI, stream

Heights = NDArray[np.float64]


def blend(u: Heights) -> Heights:
    """3u² − 2u³ with u held between 0 and 1: a smooth step from 0 to 1."""
    v = np.clip(u, 0.0, 1.0)
    return v * v * (3.0 - 2.0 * v)


def feature_heights(feature: Feature, x: Heights, seed: int, number: int) -> Heights:
    """Height [m] that a feature adds at distances x [m], shape of x.

    `number` tells several random features of one scenario apart: each draws from a stream of its own.
    """
    match feature:
        case Hump():
            return feature.height * _raised_cosine(x, feature.at, feature.length)
        case Hollow():
            return -feature.depth * _raised_cosine(x, feature.at, feature.length)
        case Drop():
            return -feature.depth * blend((x - feature.at) / feature.length)
        case Sine():
            return _waves(feature, x)
        case Gilgai():
            return _gilgai(feature, x, stream(seed, GILGAI, number))


def _raised_cosine(x: Heights, at: float, length: float) -> Heights:
    """(1 + cos(2π(x − at)/length))/2 within half a length of `at`, else 0."""
    u = np.clip((x - at) / length, -0.5, 0.5)
    return 0.5 * (1.0 + np.cos(2.0 * np.pi * u))


def _waves(sine: Sine, x: Heights) -> Heights:
    """Sine waves, faded over half a wave inside their ends."""
    start = 0.0 if sine.start is None else sine.start
    heights = sine.amplitude * np.sin(2.0 * np.pi * (x - start) / sine.wavelength)
    fade = 0.5 * sine.wavelength
    if sine.start is not None:
        heights = heights * blend((x - sine.start) / fade)
    if sine.end is not None:
        heights = heights * blend((sine.end - x) / fade)
    return heights


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
