"""Stretches of a track for a closer check: where they lie, and the track cut down to one of them."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.record import Run
from sim.track import NO_STONE, Track

BLEND, SETTLE = 8.0, 4.0  # as at the head of every track: blend out of flat ground, travel before the measures [m]


class Window(NamedTuple):
    """A stretch of a track [m] and why it was chosen."""

    name: str
    start: float
    end: float


def pin_loads(run: Run) -> NDArray[np.float64]:
    """Sizes of all pin reactions, shape (n, 14) [N]."""
    return np.hypot(run.pins[..., 0], run.pins[..., 1])


def windows(run: Run, length: float) -> list[Window]:
    """The stretch around the highest pin load and the one whose highest pin load is lowest; one where that is all.

    length [m]. Where the track is no longer than 1.5 lengths, or the two overlap, fewer are given.
    """
    x = run.series["distance"]
    load = pin_loads(run).max(axis=1)
    first, last = run.track.x_from, run.track.x_to
    if last - first <= 1.5 * length:
        return [Window("whole track", first, last)]
    worst = float(np.clip(x[int(load.argmax())] - 0.5 * length, first, last - length))
    starts = np.arange(first, last - length + 1e-9, 1.0)
    apart = starts[np.abs(starts - worst) >= length]
    found = [Window("worst", worst, worst + length)]
    if apart.size:
        peaks = [load[(x >= s) & (x <= s + length)].max() for s in apart]
        calm = float(apart[int(np.argmin(peaks))])
        found.append(Window("calmest", calm, calm + length))
    return found


def cut(track: Track, window: Window, strength: float) -> Track:
    """The track measured over a window only, led into it as every track is led in: from flat ground of `strength` [Pa].

    Within the window and SETTLE ahead of it ground, stones and strength are the track's own, but for one constant
    height; stones that reach back into the blend are left out. So both engines start from their own equilibrium.
    """
    if window.start <= track.x_from:
        return replace(track, x_to=window.end)
    x = track.x
    u = np.clip((x - window.start + SETTLE + BLEND) / BLEND, 0.0, 1.0)
    share = u * u * (3.0 - 2.0 * u)
    level = float(track.ground[(u > 0.0) & (u < 1.0)].mean())
    dropped = np.unique(track.stone_id[(share < 1.0) & (track.stone_id >= 0)])
    gone = np.isin(track.stone_id, dropped) | (share < 1.0)
    return replace(
        track,
        ground=share * (track.ground - level),
        strength=strength + share * (track.strength - strength),
        stone_top=np.where(gone | (track.stone_id < 0), NO_STONE, track.stone_top - level),
        stone_id=np.where(gone, np.int32(-1), track.stone_id).astype(np.int32),
        x_from=window.start,
        x_to=window.end,
    )
