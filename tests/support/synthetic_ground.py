"""Tracks for the tests of `sim`, made here from first principles so that they lean on no other room.

Rough ground: Gd(n) = Gd(0.1)·(n/0.1)^−w, one-sided, harmonics √(2 Gd Δn) with random phase (ISO 8608:2016 form).
Every track has 14 m of flat ground, an 8 m smooth blend and 4 m of settling ahead of x = 0.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache, partial

import numpy as np
from numpy.typing import NDArray

from sim.track import NO_STONE, Track, flat_track

FIRM = 1.2e6  # strength of the default soil [Pa]
VERY_FINE = 0.005 / 16  # [m]
GEOMETRIC_MEAN = {"A": 16e-6, "B": 64e-6, "C": 256e-6, "D": 1024e-6, "E": 4096e-6}  # Gd(0.1) [m³], ISO 8608


def blend(x: NDArray[np.float64]) -> NDArray[np.float64]:
    """0 before −12 m, 1 after −4 m, 3u² − 2u³ between."""
    u = np.clip((x + 12.0) / 8.0, 0.0, 1.0)
    return u * u * (3.0 - 2.0 * u)


def random_heights(n: int, dx: float, gd: float, rng: np.random.Generator, low=0.05, high=10.0, waviness=2.0):
    """Periodic random profile of n samples [m]; the variance is that of the spectrum, exactly."""
    dn = 1.0 / (n * dx)
    k = np.arange(n // 2 + 1)
    f = np.maximum(k * dn, 1e-12)
    amplitude = np.where((f >= low) & (f <= high), np.sqrt(2.0 * gd * (f / 0.1) ** -waviness * dn), 0.0)
    return np.fft.irfft(amplitude * np.exp(2j * np.pi * rng.random(k.size)) * n / 2.0, n)


def correlated(n: int, dx: float, length: float, rng: np.random.Generator) -> NDArray[np.float64]:
    """Zero-mean, unit-SD sequence with exponential correlation over `length` [m]."""
    a = math.exp(-dx / length)
    noise = rng.standard_normal(n) * math.sqrt(1.0 - a * a)
    out = np.empty(n)
    value = 0.0
    for i in range(n):
        value = a * value + noise[i]
        out[i] = value
    out -= out.mean()
    return out / out.std()


def shaped(length: float, shape: Callable[[NDArray[np.float64]], NDArray[np.float64]], dx: float = 0.005) -> Track:
    """Ground of the given shape h(x) [m], blended in."""
    track = flat_track(length, FIRM, dx=dx)
    return replace(track, ground=shape(track.x) * blend(track.x))


def rough(length: float, gd: float, seed: int, *, strength_cv: float = 0.25, dx: float = 0.005) -> Track:
    """Random ground of Gd(0.1) = gd [m³] with random strength correlated over 1 m."""
    track = flat_track(length, FIRM, dx=dx)
    rng = np.random.default_rng(seed)
    n = track.ground.size
    ground = random_heights(n, dx, gd, rng) * blend(track.x)
    spread = np.clip(1.0 + strength_cv * correlated(n, dx, 1.0, rng), 0.2, 2.5) - 1.0
    return replace(track, ground=ground, strength=FIRM * (1.0 + spread * blend(track.x)))


@cache
def _finely(letter: str, high: float) -> Track:
    """Ground and strength (CV 0.25) on the finest grid, neither with waves that a grid of 1.25 mm cannot hold."""
    track = flat_track(30.0, FIRM, dx=VERY_FINE)
    n, rng, ramp = track.ground.size, np.random.default_rng(4), blend(track.x)
    ground = random_heights(n, VERY_FINE, GEOMETRIC_MEAN[letter], rng, high=high)
    strength = random_heights(n, VERY_FINE, 1.0, rng, low=0.16)
    shares = np.clip(0.25 * strength / strength.std(), -0.8, 1.5)
    return replace(track, ground=ground * ramp, strength=FIRM * (1.0 + shares * ramp))


def short_relief(letter: str, high: float, dx: float) -> Track:
    """One random ground of a class up to `high` [c/m], the same whatever dx: a whole number of `VERY_FINE` [m].

    With another `high` the waves up to the lower one are the same.
    """
    track, every = _finely(letter, high), round(dx / VERY_FINE)
    thinned = {name: getattr(track, name)[::every] for name in ("ground", "stone_top", "stone_id", "strength")}
    return replace(track, dx=dx, **thinned)


def with_stone(track: Track, at: float, length: float, proud: float, number: int = 0) -> Track:
    """A half ellipse, 0.3 times as high as long, its top `proud` [m] over the ground at `at` [m]."""
    u = (track.x - at) / (0.5 * length)
    height = 0.3 * length
    top = np.interp(at, track.x, track.ground) + proud
    inside = np.abs(u) < 1.0
    profile = np.where(inside, top - height + height * np.sqrt(np.maximum(1.0 - u * u, 0.0)), NO_STONE)
    higher = profile > track.stone_top
    return replace(
        track,
        stone_top=np.where(higher, profile, track.stone_top),
        stone_id=np.where(higher, np.int32(number), track.stone_id).astype(np.int32),
    )


def stony(length: float, gd: float, seed: int, per_100_m: float = 20.0) -> Track:
    """Rough ground with stones 0.10–0.35 m long, tops 50 mm under to 30 mm over the surface."""
    track = rough(length, gd, seed)
    rng = np.random.default_rng([seed, 7])
    for number in range(round(length * per_100_m / 100.0)):
        at, size, proud = rng.uniform(0.0, length), rng.uniform(0.10, 0.35), rng.uniform(-0.05, 0.03)
        track = with_stone(track, at, size, proud, number)
    return track


def drop(height: float = 0.55, over: float = 1.0, at: float = 4.0, length: float = 20.0) -> Track:
    """A bank down by `height` over `over` [m], smooth at both ends."""
    track = flat_track(length, FIRM)
    u = np.clip((track.x - at) / over, 0.0, 1.0)
    return replace(track, ground=-height * u * u * (3.0 - 2.0 * u))


BUILDERS: dict[str, Callable[[], Track]] = {
    "flat": lambda: flat_track(5.0, FIRM),
    "class C": lambda: rough(150.0, GEOMETRIC_MEAN["C"], 3),
    "class D": lambda: rough(150.0, GEOMETRIC_MEAN["D"], 1),
    "class D short": lambda: rough(40.0, GEOMETRIC_MEAN["D"], 5),
    "stony": lambda: stony(60.0, GEOMETRIC_MEAN["D"], 2),
    "one stone": lambda: with_stone(flat_track(12.0, FIRM), 4.0, 0.30, 0.030),
    "drop": drop,
    **{
        f"class {letter} to {high} c/m, {name}": partial(short_relief, letter, float(high), dx)
        for letter in "CDE"
        for high in (10, 40)
        for name, dx in (("5 mm", 0.005), ("1.25 mm", 0.00125), ("very fine", VERY_FINE))
    },
    "waves": lambda: shaped(20.0, lambda x: 0.03 * np.sin(2 * np.pi * x / 2.5)),
}


@cache
def named(name: str) -> Track:
    """One of the tracks that several tests share."""
    return BUILDERS[name]()
