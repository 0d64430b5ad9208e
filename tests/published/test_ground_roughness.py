"""Made-up ground against the form, the classes and the closed values of ISO 8608.

Sources and their status (the standard's text itself was not at hand):
- class limits and geometric means, spectral form: ISO 8608:1995/2016, seen in public program code that cites it;
- variance and slope in closed form: derived from that form, values computed;
- paddy field: Hue Univ. J. Sci. (Agriculture and Rural Development) art. 3072, abstract seen.
"""

from __future__ import annotations

import numpy as np
import pytest
from every import every
from iso_classes import CLASSES
from numpy.typing import NDArray
from scipy import integrate, signal

from scenarios.ground.lay import spacing
from scenarios.ground.roughness import density, rough_period, variance_between
from scenarios.spec import Roughness

ISO = "ISO 8608:2016"
CODE = "seen (public code)"
DX = 0.005
# Standard deviation of height [mm] at the mean of each class for w = 2, by band [c/m]; SD of slope 0.1–10 c/m.
HEIGHT_SD = {
    "A": (1.773, 1.259, 0.00791),
    "B": (3.546, 2.517, 0.0158),
    "C": (7.092, 5.034, 0.0316),
    "D": (14.18, 10.07, 0.0633),
    "E": (28.37, 20.14, 0.1265),
    "F": (56.74, 40.27, 0.2531),
}
BANDS = ((0.05, 2.83), (0.1, 10.0))


def ground(spec: Roughness, length: float = 2000.0, seed: int = 3) -> NDArray[np.float64]:
    """One whole period of random ground."""
    return rough_period(spec, round(length / DX), DX, seed)


def spectrum(z: NDArray[np.float64], rate: float, piece: float) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """One-sided density by Welch's method (scipy), pieces of the given length, Hann window."""
    return signal.welch(z, fs=rate, nperseg=round(piece * rate), detrend="linear")


@every("letter", CLASSES)
def test_geometric_means_of_the_classes(letter, published):
    low, mean, high = CLASSES[letter]
    ours = Roughness(letter=letter).density
    published(
        f"Gd(0.1 c/m), class {letter}", source=ISO, status=CODE, value=mean * 1e-6, ours=ours, unit="m³", rel=1e-12
    )
    assert low * 1e-6 < ours < high * 1e-6


@every("letter", HEIGHT_SD)
@every("i", [0, 1], ids=["0.05-2.83", "0.1-10"])
def test_height_deviation_of_the_classes(letter, i, published):
    """Variance of the generated ground within 1 % of Gd(n0)·n0²·(1/n1 − 1/n2): SD within 0.5 %."""
    spec = Roughness(letter=letter, band=BANDS[i])
    published(
        f"SD of height, class {letter}, {BANDS[i][0]}–{BANDS[i][1]} c/m",
        source=f"{ISO} form, closed integral",
        status="derived, computed",
        value=HEIGHT_SD[letter][i] * 1e-3,
        ours=float(np.std(ground(spec, 300.0))),
        unit="m",
        rel=0.005,
    )


@every("letter", HEIGHT_SD)
def test_slope_deviation_of_the_classes(letter, published):
    """SD of slope = 2π·n0·√(Gd(n0)·(n2 − n1)); the ground's own slope by central differences, which lose 0.1 % here."""
    z = ground(Roughness(letter=letter, band=BANDS[1]), 300.0)
    slope = (np.roll(z, -1) - np.roll(z, 1)) / (2.0 * DX)
    published(
        f"SD of slope, class {letter}, 0.1–10 c/m",
        source=f"{ISO} form, closed integral",
        status="derived, computed",
        value=HEIGHT_SD[letter][2],
        ours=float(np.std(slope)),
        rel=0.02,
    )


# SD of height [mm] and of slope at the mean of a class, 0.05–40 c/m, w = 2 (derived, computed)
UP_TO_40 = {"C": (7.151, 0.06354), "D": (14.30, 0.1271), "E": (28.60, 0.2542)}


@every("letter", UP_TO_40)
def test_deviations_up_to_forty_cycles_a_metre(letter, published):
    """Height and slope of the ground with its shortest waves, on the grid that it is laid on."""
    spec = Roughness(letter=letter, band=(0.05, 40.0))
    dx = spacing(spec)
    z = rough_period(spec, round(300.0 / dx), dx, 3)
    slope = (np.roll(z, -1) - np.roll(z, 1)) / (2.0 * dx)
    common = {"source": f"{ISO} form, closed integral", "status": "derived, computed"}
    height_sd, slope_sd = UP_TO_40[letter]
    published(
        f"SD of height, class {letter}, 0.05–40 c/m", value=height_sd * 1e-3, ours=float(np.std(z)), unit="m",
        rel=0.001, **common,
    )  # fmt: skip
    published(
        f"SD of slope, class {letter}, 0.05–40 c/m", value=slope_sd, ours=float(np.std(slope)), rel=0.01, **common
    )


@every("seed", range(4))
@every("length", [40.0, 333.0])
def test_variance_is_exact_for_every_seed_and_length(seed, length):
    """The sum over harmonics equals the closed integral, whatever the period and the phases."""
    spec = Roughness(letter="D")
    closed = spec.density * 0.1**2 * (1 / 0.05 - 1 / 10.0)  # derived from the form of ISO 8608, w = 2
    assert variance_between(spec, 0.05, 10.0) == pytest.approx(closed, rel=1e-12)
    assert np.mean(ground(spec, length, seed) ** 2) == pytest.approx(closed, rel=1e-9)


@every("letter", CLASSES)
def test_density_at_the_reference_frequency_lies_in_the_class(letter, published):
    """Welch's density around n = 0.1 c/m within the limits of the class, and near its mean."""
    n, g = spectrum(ground(Roughness(letter=letter, band=(0.02, 10.0))), 1.0 / DX, 200.0)
    near = (n > 0.08) & (n < 0.125)
    level = float(np.exp(np.mean(np.log(g[near] * (n[near] / 0.1) ** 2))))
    low, mean, high = (c * 1e-6 for c in CLASSES[letter])
    published.band(
        f"Welch density at 0.1 c/m, class {letter}", source=ISO, status=CODE, low=low, high=high, ours=level,
        unit="m³", kind="check",
    )  # fmt: skip
    assert level == pytest.approx(mean, rel=0.25)


@every("seed", [1, 2])
def test_spectrum_falls_with_the_square(seed, published):
    n, g = spectrum(ground(Roughness(letter="D"), seed=seed), 1.0 / DX, 100.0)
    inside = (n > 0.12) & (n < 8.0)
    weight = 1.0 / np.sqrt(n[inside])  # as many points per octave count alike
    slope = float(np.polyfit(np.log(n[inside]), np.log(g[inside]), 1, w=weight)[0])
    published(f"slope of log Gd over log n, seed {seed}", source=ISO, status=CODE, value=-2.0, ours=slope, within=0.05)


def test_velocity_density_doubles_with_speed(published):
    """With w = 2 the vertical velocity under a moving point is white: S = (2π)²·Gd(n0)·n0²·v (derived)."""
    spec = Roughness(letter="D")
    z = ground(spec)
    levels = {}
    for speed in (2.0, 4.0):
        velocity = np.gradient(z, DX) * speed
        f, s = spectrum(velocity, speed / DX, 50.0 / speed)
        levels[speed] = float(np.mean(s[(f > 1.0) & (f < 8.0)]))
        white = (2.0 * np.pi) ** 2 * spec.density * 0.1**2 * speed
        published(
            f"density of vertical velocity at {speed} m/s", source=f"{ISO} form", status="derived", value=white,
            ours=levels[speed], unit="m²/s", rel=0.05,
        )  # fmt: skip
    assert levels[4.0] / levels[2.0] == pytest.approx(2.0, rel=0.05)


def test_a_measured_field_surface_with_another_waviness(published):
    """Paddy field, rod and level: Gd(0.1) 645.06e-6 m³, w 1.2399, 0.05–3.5 c/m, classed D."""
    source, status = "Hue Univ. J. Sci. art. 3072", "seen (abstract)"
    spec = Roughness(gd_n0=645.06e-6, waviness=1.2399, band=(0.05, 3.5))
    variance = integrate.quad(lambda n: float(density(spec, np.array(n))), 0.05, 3.5)[0]
    z = ground(spec)
    published(
        "SD of height, paddy field, 0.05–3.5 c/m", source=source, status=status, value=float(np.sqrt(variance)),
        ours=float(np.std(z)), unit="m", rel=1e-6,
    )  # fmt: skip
    n, g = spectrum(z, 1.0 / DX, 100.0)
    inside = (n > 0.12) & (n < 3.0)
    slope = np.polyfit(np.log(n[inside]), np.log(g[inside]), 1, w=1.0 / np.sqrt(n[inside]))[0]
    published(
        "slope of log Gd over log n, paddy field", source=source, status=status, value=-1.2399, ours=float(slope),
        within=0.05,
    )  # fmt: skip


def test_waviness_one_has_the_logarithm():
    """∫ Gd(n0)·(n/n0)^−1 dn = Gd(n0)·n0·ln(n2/n1) (derived)."""
    spec = Roughness(gd_n0=1e-3, waviness=1.0, band=(0.1, 5.0))
    assert variance_between(spec, 0.1, 5.0) == pytest.approx(1e-3 * 0.1 * np.log(50.0), rel=1e-12)
    assert np.mean(ground(spec, 100.0) ** 2) == pytest.approx(1e-3 * 0.1 * np.log(50.0), rel=1e-9)
