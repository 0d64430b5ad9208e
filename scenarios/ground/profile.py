"""Measured ground from a CSV file: distance, height and perhaps soil strength.

The file: plain CSV with commas, a header in the first line, columns distance_m, height_m and perhaps strength_MPa in
any order; other columns are left alone and named. All of it is measured, at the file's own distances. The lead-in is
put before it and room for the toolbar's front axle behind it, straight on from its ends (`measured.beyond`): flat
ground, 8 m in which the slope of the first metres blends in, 4 m on that slope to settle, the first point.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.measured.beyond import beyond, end_slopes
from scenarios.ground.measured.low_pass import low_passed
from scenarios.ground.measured.record_spectrum import EVEN, Spectrum, spectrum_of_points
from scenarios.ground.resample import resample
from scenarios.ground.roughness import roughness_name
from scenarios.ground.smoothness import smooth_below
from scenarios.spec import Ground, Roughness

LONG_WAVES = 20.0  # [m]: what is longer belongs to the lie of the land, not to its roughness
FINEST = 10.0  # [c/m], as for roughness by class; shorter waves: [ground.roughness] with a band from 10 c/m up

# Row units shake at 10–50 Hz (Agriculture 2024, 14(11) 1878, seen): waves of 0.06–0.28 m at 10 km/h. A profile whose
# shortest wave is longer than 0.5 m (5.6 Hz at that speed) holds nothing of what shakes the unit.
WHEEL_NEEDS = 0.5  # [m]
UNEVEN = 2.0  # largest gap over the median one from which a profile counts as uneven


@dataclass(frozen=True, eq=False)
class Profile:
    """A measured profile as read; arrays of shape (n,)."""

    path: Path
    distance: NDArray[np.float64]  # [m], rising
    height: NDArray[np.float64]  # [m], as in the file
    strength: NDArray[np.float64] | None  # [Pa]
    ignored: tuple[str, ...] = ()  # columns left alone
    roughness_gain: float = 1.0  # factor on heights of waves up to some 10 m, fading out by 20 m
    fine: Roughness | None = None  # random roughness in the waves that the points cannot hold
    laid: tuple[float, float] | None = None  # measured stretch [m] of points that hold lead-in and run-out as well
    kept: float = 0.0  # shortest wave that a filter left in the heights [m]
    nominal: float | None = None  # strength that shares are of [Pa]; None: the mean of the file's

    @property
    def stretch(self) -> tuple[float, float]:
        """Where measures begin and end [m], in the file's own distances: from the first point to the last."""
        return self.laid or (float(self.distance[0]), float(self.distance[-1]))

    @property
    def spacing(self) -> float:
        """Median distance between points [m]."""
        return float(np.median(np.diff(self.distance)))

    @property
    def largest_gap(self) -> float:
        """Largest distance between points [m]."""
        return float(np.max(np.diff(self.distance)))

    @cached_property
    def smooth_below(self) -> float | None:
        """Wavelength [m] below which the heights are smooth although points lie close enough; None: they are not, or
        were smoothed here (`kept`).
        """
        found = None if self.kept else smooth_below(self.distance, self.height)
        return found if found is not None and found > 1.25 * 2.0 * self.largest_gap else None

    @property
    def shortest_wavelength(self) -> float:
        """Shortest wave that the profile holds all along [m]: two of its largest gaps (sampling theorem), `kept`, or
        longer where the heights were smoothed before.
        """
        return max(2.0 * self.largest_gap, self.kept, self.smooth_below or 0.0)

    @property
    def spectrum(self) -> Spectrum | None:
        """Spectrum of its heights where the points stand evenly; None where they do not."""
        return spectrum_of_points(self.distance, self.height)

    def without_waves(self, shortest: float) -> Profile:
        """The same profile without waves shorter than `shortest` [m]; uneven points become even ones."""
        x = np.linspace(self.distance[0], self.distance[-1], round(float(np.ptp(self.distance)) / self.spacing) + 1)
        even = x.size == self.distance.size and np.abs(x - self.distance).max() < EVEN * self.spacing
        at = self.distance if even else x
        height = self.height if even else resample(self.distance, self.height, x)
        height = low_passed(height, float(x[1] - x[0]), shortest)
        strength = None if self.strength is None else np.interp(at, self.distance, self.strength)
        return replace(self, distance=at, height=height, strength=strength, kept=shortest)

    @property
    def mean_strength(self) -> float | None:
        """Mean soil strength over distance [Pa], or `nominal`; None where the file has none."""
        if self.strength is None:
            return None
        if self.nominal is not None:
            return self.nominal
        steps = np.diff(self.distance)
        means = 0.5 * (self.strength[1:] + self.strength[:-1])
        return float(np.sum(means * steps) / np.sum(steps))

    def scaled(self, gain: float) -> Profile:
        """The same profile, short waves (up to some 10 m) `gain` times as high; 2: one class of ISO 8608 rougher."""
        fine = None if self.fine is None else self.fine.scaled(gain**2)
        return replace(self, roughness_gain=self.roughness_gain * gain, fine=fine)

    @property
    def missing_band(self) -> tuple[float, float] | None:
        """Spatial frequencies that a wheel feels and the points cannot hold, (low, high) [c/m]; None: there are none.

        From that of the shortest wave held, or of 20 m where that is longer, to 10 c/m (a band narrower than 1 % of
        that counts as none).
        """
        low = max(1.0 / self.shortest_wavelength, 1.0 / LONG_WAVES)
        return (low, FINEST) if low < 0.99 * FINEST else None

    def with_fine(self, letter: str) -> Profile:
        """The same profile with random roughness of a class of ISO 8608 added in `missing_band`, if there is one."""
        band = self.missing_band
        return self if band is None else replace(self, fine=Roughness(letter=letter, band=band))

    @property
    def label(self) -> str:
        """How the ground is named: "measured", or "measured + class C below 6 m"."""
        if self.fine is None:
            return "measured"
        return f"measured + {roughness_name(self.fine)} below {1.0 / self.fine.band[0]:.3g} m"


def profile_heights(profile: Profile, x: NDArray[np.float64], level: float) -> NDArray[np.float64]:
    """Height [m] on a uniform grid x over the height at the place `level` [m], which lies before the first point.

    Beyond its ends the profile goes on straight (`beyond`). Points that hold a lead-in already count from 0.
    """
    if profile.laid is not None:
        heights = resample(profile.distance, profile.height, x)
    else:
        slopes = end_slopes(profile.distance, profile.height)
        points = profile.height - profile.height[0] + slopes[0] * (profile.stretch[0] - level)
        heights = resample(profile.distance, points, x) + beyond(x, profile.stretch, slopes)
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


def _coarse_notes(profile: Profile) -> list[str]:
    """What a profile with points far apart lacks, and what was added in its place or can be."""
    name, wave, band = profile.path.name, profile.shortest_wavelength, profile.missing_band
    held = f"points are up to {profile.largest_gap:.3g} m apart, so no wave shorter than {wave:.3g} m is in it"
    if profile.smooth_below is not None:
        held = f"the record is smooth below waves of {wave:.2g} m, as if a filter or a wide wheel had taken them out"
    elif wave > 2.0 * profile.largest_gap:
        held = f"no wave shorter than {wave:.3g} m is left in it"
    if profile.fine is None:
        if wave <= WHEEL_NEEDS * (1.0 + 1e-9) or band is None:
            return []
        return [
            f"{name}: {held}; what shakes a unit at 10 km/h is shorter than {WHEEL_NEEDS} m. A scenario file can add "
            f'it at random: roughness_class = "C" (or another) in [ground.profile] puts waves of {1 / band[0]:.3g} m '
            f"down to {1 / band[1]:.3g} m on it"
        ]
    low, high = profile.fine.band
    notes = [
        f"{name}: {held}; made-up roughness ({roughness_name(profile.fine)}, {low:.3g} to {high:.3g} c/m) stands for "
        f"waves of {1 / low:.3g} m down to {1 / high:.3g} m: each ground drawn has others"
    ]
    if profile.largest_gap > UNEVEN * profile.spacing:
        at = profile.distance[int(np.argmax(np.diff(profile.distance)))]
        notes.append(
            f"{name}: the widest gap, {profile.largest_gap:.3g} m at {at:.6g} m, is over {UNEVEN:g} times the usual "
            f"{profile.spacing:.3g} m: where points lie closer, made-up waves come on top of measured ones"
        )
    return notes


def added_notes(profile: Profile, letter: str | None, ground: Ground | None) -> list[str]:
    """What to know where a file asks for made-up roughness in a profile's short waves (class `letter`)."""
    name = profile.path.name
    if letter is None:
        return []
    if profile.fine is None:
        held = f"down to {profile.shortest_wavelength:.3g} m"
        return [f"{name}: its points hold waves {held}, all that a wheel feels: roughness_class adds nothing"]
    rough = None if ground is None else ground.roughness
    low, high = profile.fine.band
    if rough is not None and max(rough.band[0], low) < min(rough.band[1], high):
        return [
            f"{name}: [ground.roughness] and roughness_class both put waves on the ground from "
            f"{max(rough.band[0], low):.3g} to {min(rough.band[1], high):.3g} c/m: they add up"
        ]
    return []


def warnings_of(profile: Profile) -> list[str]:
    """What a user should know about a profile, as sentences."""
    name, notes = profile.path.name, []
    if profile.ignored:
        notes.append(f"{name}: columns not used: {', '.join(profile.ignored)}{_strength_hint(profile)}")
    notes += _coarse_notes(profile)
    slopes = np.abs(np.diff(profile.height) / np.diff(profile.distance))
    if np.max(slopes) > 2.0:
        at = profile.distance[int(np.argmax(slopes))]
        notes.append(f"{name}: the ground rises {np.max(slopes):.3g} m per m at {at:.6g} m; are heights in metres?")
    return notes
