"""Measured ground from a CSV file: distance, height and perhaps soil strength.

The file: plain CSV with commas, a header in the first line, columns distance_m, height_m and perhaps strength_MPa in
any order; other columns are left alone and named. The ground's height counts from the first point. The first 12 m
serve as lead-in (8 m in which the ground blends in from flat, 4 m to settle), the last metres as room for the
toolbar's front axle; what lies between is measured, at the file's own distances.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scenarios.resample import resample

LONG_WAVES = 20.0  # [m]: what is longer belongs to the lie of the land, not to its roughness

# Row units shake at 10–50 Hz (Agriculture 2024, 14(11) 1878, seen): waves of 0.06–0.28 m at 10 km/h. A profile whose
# shortest wave is longer than 0.5 m (5.6 Hz at that speed) holds nothing of what shakes the unit.
WHEEL_NEEDS = 0.5  # [m]


@dataclass(frozen=True, eq=False)
class Profile:
    """A measured profile as read; arrays of shape (n,)."""

    path: Path
    distance: NDArray[np.float64]  # [m], rising
    height: NDArray[np.float64]  # [m], as in the file
    strength: NDArray[np.float64] | None  # [Pa]
    ignored: tuple[str, ...] = ()  # columns left alone
    roughness_gain: float = 1.0  # factor on heights of waves up to some 10 m, fading out by 20 m

    @property
    def spacing(self) -> float:
        """Median distance between points [m]."""
        return float(np.median(np.diff(self.distance)))

    @property
    def largest_gap(self) -> float:
        """Largest distance between points [m]."""
        return float(np.max(np.diff(self.distance)))

    @property
    def shortest_wavelength(self) -> float:
        """Shortest wave that the profile holds all along [m]: two of its largest gaps (sampling theorem)."""
        return 2.0 * self.largest_gap

    @property
    def mean_strength(self) -> float | None:
        """Mean soil strength over distance [Pa], None where the file has none."""
        if self.strength is None:
            return None
        steps = np.diff(self.distance)
        means = 0.5 * (self.strength[1:] + self.strength[:-1])
        return float(np.sum(means * steps) / np.sum(steps))

    def scaled(self, gain: float) -> Profile:
        """The same profile, short waves (up to some 10 m) `gain` times as high; 2: one class of ISO 8608 rougher."""
        return replace(self, roughness_gain=self.roughness_gain * gain)


def profile_heights(profile: Profile, x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Height over the first point [m] on a uniform grid x; constant before the first and after the last point."""
    heights = resample(profile.distance, profile.height - profile.height[0], x)
    if profile.roughness_gain == 1.0:
        return heights
    return heights + (profile.roughness_gain - 1.0) * (heights - _moving_mean(heights, x[1] - x[0]))


def _moving_mean(values: NDArray[np.float64], dx: float) -> NDArray[np.float64]:
    """Mean over 20 m around each sample, weighted by a triangle, the ends held: two means over 10 m in turn."""
    half = round(0.25 * LONG_WAVES / dx)
    for _ in range(2):
        total = np.cumsum(np.pad(values, (half + 1, half), mode="edge"))
        values = (total[2 * half + 1 :] - total[: -2 * half - 1]) / (2 * half + 1)
    return values


def profile_shares(profile: Profile, x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Measured strength as a share of its mean, straight between the points, held beyond them; shape of x."""
    mean = profile.mean_strength
    if profile.strength is None or mean is None:
        return np.ones(x.size)
    return np.interp(x, profile.distance, profile.strength) / mean


def _strength_hint(profile: Profile) -> str:
    """What to do if the file holds a strength under another name."""
    if profile.strength is None and any(name.lower().endswith(("mpa", "kpa")) for name in profile.ignored):
        return " (a strength is read from a column called strength_MPa)"
    return ""


def warnings_of(profile: Profile) -> list[str]:
    """What a user should know about a profile, as sentences."""
    name, notes = profile.path.name, []
    if profile.ignored:
        notes.append(f"{name}: columns not used: {', '.join(profile.ignored)}{_strength_hint(profile)}")
    wave = profile.shortest_wavelength
    if wave > WHEEL_NEEDS * (1.0 + 1e-9):
        notes.append(
            f"{name}: points are up to {profile.largest_gap:.3g} m apart, so no wave shorter than {wave:.3g} m is in "
            f"it; what shakes a unit at 10 km/h is shorter than {WHEEL_NEEDS} m. A scenario file can add "
            f"[ground.roughness] with band_c_per_m = [{max(1.0 / wave, 0.05):.3g}, 10]"
        )
    slopes = np.abs(np.diff(profile.height) / np.diff(profile.distance))
    if np.max(slopes) > 2.0:
        at = profile.distance[int(np.argmax(slopes))]
        notes.append(f"{name}: the ground rises {np.max(slopes):.3g} m per m at {at:.6g} m; are heights in metres?")
    return notes
