"""The ground's roughness by wave length, read against the classes of ISO 8608."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scenarios.ground.spec_ground import CLASS_A_MEAN, ROUGHNESS_CLASSES
from sim.track import Track

N0 = 0.1  # reference spatial frequency [cycles/m]
LONGEST_WINDOW = 60.0  # length of a piece that a spectrum is taken over [m]
LOW, HIGH = 0.1, 10.0  # spatial frequencies that the class is read from, where the ground is long enough [c/m]
BANDS_PER_DECADE = 10
UNLIKE = 0.6  # decades off a line of slope −2 beyond which no class is told (assumed: a class is 0.6 wide)
SHORTEST = 10.0  # samples of the ground in the shortest wave that is told


def spectrum(track: Track) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Spatial frequency [cycles/m] and one-sided density [m³] of the measured ground, averaged in bands, (n,) each.

    Welch's method with a Hann window; stones are left out. Up to ten samples a wave: 20 c/m on a grid of 5 mm, more
    where the ground holds shorter waves and so has a finer one.
    """
    from scipy.signal import welch  # noqa: PLC0415 (half a second; asked for by a figure or a document)

    inside = (track.x >= track.x_from) & (track.x <= track.x_to)
    ground = track.ground[inside]
    piece = min(ground.size, round(LONGEST_WINDOW / track.dx))
    n, density = welch(ground, fs=1.0 / track.dx, nperseg=piece, detrend="linear", scaling="density")
    low, high = np.log10(0.8 / (piece * track.dx)), -np.log10(SHORTEST * track.dx)
    edges = np.logspace(low, high, round(BANDS_PER_DECADE * (1.9 + high)))
    which = np.digitize(n, edges)
    found = [(n[which == k].mean(), density[which == k].mean()) for k in range(1, edges.size) if (which == k).any()]
    middle, mean = np.array(found).T
    keep = mean > 0.0
    return middle[keep], mean[keep]


def fitted(n: NDArray[np.float64], density: NDArray[np.float64]) -> float:
    """Gd(0.1 c/m) [m³] of the line with slope −2 through the bands between LOW and HIGH, log mean; NaN without any."""
    band = (n >= LOW) & (n <= HIGH)
    if not band.any():
        return float("nan")
    return float(np.exp(np.mean(np.log(density[band] * (n[band] / N0) ** 2))))


def unlike(n: NDArray[np.float64], density: NDArray[np.float64]) -> float:
    """Root mean square of the decades by which the bands between LOW and HIGH lie off the line of `fitted`; NaN: none.

    Random ground scatters by 0.02 to 0.05 on 300 m, by up to 0.5 on 20 m; gilgai and ridges by 0.7, a smooth hump by 2.
    """
    band = (n >= LOW) & (n <= HIGH)
    if not band.any():
        return float("nan")
    line = fitted(n, density) * (n[band] / N0) ** -2.0
    return float(np.sqrt(np.mean(np.log10(density[band] / line) ** 2)))


def has_class(n: NDArray[np.float64], density: NDArray[np.float64]) -> bool:
    """Whether the ground is of the kind that the classes are made for: along its line of slope −2, within UNLIKE."""
    return bool(unlike(n, density) <= UNLIKE)


def class_of(density: float) -> str:
    """Letter of the class with its geometric mean nearest to Gd(0.1) [m³] on a log scale; A and H also beyond them."""
    place = round(np.log(density / CLASS_A_MEAN) / np.log(4.0))
    return ROUGHNESS_CLASSES[int(np.clip(place, 0, len(ROUGHNESS_CLASSES) - 1))]
