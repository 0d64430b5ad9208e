"""Ridges crossed at an angle: the row meets spacing/sin(angle), and the spectrum of its ground peaks there.

Source: plane geometry (derived here): parallel lines a spacing s apart, crossed at an angle a, cut a straight row at
intervals s/sin(a); a wave of height h from furrow to ridge has a variance of h²/8. Roughness under the ridges:
ISO 8608 form, seen in public code; its density is that of the class at the same place of the spectrum.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from every import every
from scipy import signal

from scenarios.ground.roughness import density
from scenarios.load import load
from scenarios.spec import Roughness

DX = 0.005
CROSSINGS = [(0.75, 90.0), (0.75, 45.0), (0.9, 30.0), (0.25, 60.0), (1.5, 15.0)]


def track(folder, spacing, angle, more=""):
    path = folder / "ridges.toml"
    path.write_text(
        f'title = "t"\n[ground]\nlength_m = 400\nseed = 3\n{more}[[ground.features]]\nkind = "ridges"\n'
        f"spacing_m = {spacing}\nheight_mm = 60\nangle_deg = {angle}\n",
        encoding="utf-8",
    )
    found = load(path).track()
    measured = (found.x >= found.x_from) & (found.x <= found.x_to)
    return found.x[measured], found.ground[measured]


@every(("spacing", "angle"), CROSSINGS)
def test_spectrum_peaks_at_sine_over_spacing(spacing, angle, tmp_path, published):
    """On class C ground: the peak of Welch's spectrum, refined by a parabola, lies at sin(a)/s within 1 %."""
    _, z = track(tmp_path, spacing, angle, '[ground.roughness]\nclass = "C"\n')
    n, s = signal.welch(z, fs=1.0 / DX, nperseg=round(100.0 / DX), detrend="linear")
    k = 2 + int(np.argmax(s[2:]))
    left, top, right = np.log(s[k - 1 : k + 2])
    peak = n[k] + 0.5 * (left - right) / (left - 2.0 * top + right) * n[1]
    published(
        f"peak of the spectrum, ridges {spacing} m at {angle:g}°", source="plane geometry", status="derived",
        value=math.sin(math.radians(angle)) / spacing, ours=float(peak), unit="c/m", rel=0.01,
    )  # fmt: skip


@every(("spacing", "angle"), CROSSINGS)
def test_variance_in_the_peak(spacing, angle, tmp_path, published):
    """h²/8 above the roughness, whose own share is taken off by its density."""
    _, z = track(tmp_path, spacing, angle, '[ground.roughness]\nclass = "A"\n')
    n, s = signal.welch(z, fs=1.0 / DX, nperseg=round(100.0 / DX), detrend="linear")
    at = math.sin(math.radians(angle)) / spacing
    near = (n > at - 0.05) & (n < at + 0.05)
    own = np.sum(s[near] - density(Roughness(letter="A"), n[near])) * n[1]
    published(
        f"variance of ridges 60 mm high, {spacing} m at {angle:g}°", source="plane geometry", status="derived",
        value=0.06**2 / 8.0, ours=float(own), unit="m²", rel=0.03,
    )  # fmt: skip


@every(("spacing", "angle"), CROSSINGS)
def test_row_of_a_surface_in_plan(spacing, angle, tmp_path):
    """A surface z(east, north) with ridges that run north, and a row that runs at the angle to them."""
    x, z = track(tmp_path, spacing, angle)
    east = x * math.sin(math.radians(angle))  # the part of the row square to the ridges
    surface = 0.03 * np.cos(2.0 * np.pi * east / spacing)
    np.testing.assert_allclose(z, surface, atol=1e-9)
    crests = np.flatnonzero((z[1:-1] > z[:-2]) & (z[1:-1] >= z[2:])) + 1
    assert np.mean(np.diff(x[crests])) == pytest.approx(spacing / math.sin(math.radians(angle)), rel=2e-3)
