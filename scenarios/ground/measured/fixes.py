"""Fixes of a satellite receiver along a pass: those that no machine can have come to from the one before.

A receiver that has lost its place writes 0, 0, or the place of another hour. One such line would make a pass of
thousands of kilometres, or a spike in the ground; what counts as one is an assumption, told with every fault.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scenarios.format.csv_table import Finds
from scenarios.format.edge_units import distance_text

EARTH = 6_371_009.0  # mean radius [m], IUGG
FARTHEST = 100.0  # from one fix to the next along a pass [m] (assumed)
ASIDE = 5.0  # way out to a fix and back that still counts as scatter [m], or so many median steps (assumed)
STEEPEST = 10.0  # a height may change by this more than the step [m] (assumed)
NO_FIX = 1e-6  # a latitude and longitude within this of 0, 0 is none [degrees]

Values = NDArray[np.float64]


def fix_faults(path: Path, lines: Sequence[int], latitude: Values, longitude: Values, height: Values) -> list[str]:
    """What is wrong with the fixes of a pass, in words with the number of each line; latitude … (n,), as `lines`."""
    finds = Finds(str(path))
    nowhere = np.hypot(latitude, longitude) < NO_FIX
    for i in map(int, np.flatnonzero(nowhere)):
        finds.add(lines[i], "latitude 0, longitude 0", "places on the pass", "no fix: drop the line")
    there = np.flatnonzero(~nowhere)
    if there.size < 2:
        return finds.texts()
    step = apart(latitude[there[:-1]], longitude[there[:-1]], latitude[there[1:]], longitude[there[1:]])
    far = step > FARTHEST
    off = _off(latitude[there], longitude[there], step)
    for k in np.flatnonzero(far | off[1:]):
        if far[k] and off[k]:  # the way back from a fix that is told already
            continue
        i = int(there[k + 1])
        given = f"{distance_text(step[k])} from the place before ({latitude[i]:.6f}, {longitude[i]:.6f})"
        finds.add(lines[i], given, f"steps of up to {FARTHEST:g} m along the pass, and no place far off to a side",
                  "drop the line, or begin a new pass behind a gap")  # fmt: skip
    climb = np.abs(np.diff(height[there]))
    for k in np.flatnonzero((climb > STEEPEST + step) & ~far):
        given = f"elevation_m {height[there[k + 1]]:g} after {height[there[k]]:g}, {distance_text(step[k])} on"
        finds.add(lines[int(there[k + 1])], given, f"a change of up to {STEEPEST:g} m more than the step",
                  "no height there: drop the line")  # fmt: skip
    return finds.texts()


def apart(latitude: Values, longitude: Values, other_latitude: Values, other_longitude: Values) -> Values:
    """Distance over a sphere between places in degrees [m], by the haversine formula; shapes as given."""
    a, b = np.radians(latitude), np.radians(other_latitude)
    half = np.sin(0.5 * (b - a)) ** 2
    half = half + np.cos(a) * np.cos(b) * np.sin(0.5 * np.radians(other_longitude - longitude)) ** 2
    return np.asarray(2.0 * EARTH * np.arcsin(np.sqrt(np.minimum(half, 1.0))))


def _off(latitude: Values, longitude: Values, step: Values) -> NDArray[np.bool_]:
    """Fixes that lie off the way between their neighbours: out and back is far longer than straight on. (n,)."""
    off = np.zeros(latitude.size, dtype=bool)
    if latitude.size < 3:
        return off
    straight = apart(latitude[:-2], longitude[:-2], latitude[2:], longitude[2:])
    off[1:-1] = step[:-1] + step[1:] - straight > max(ASIDE, ASIDE * float(np.median(step)))
    return off
