"""Path of a rolling wheel over a profile, and what an offset between wheel and disc does to depth.

All closed forms are elementary geometry (`derived`), the tabulated numbers `computed` with them.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import synthetic_ground
from every import every

from sim.laws.envelope import envelope
from sim.run import simulate
from sim.unit import Settings, Soil, Unit

GEOMETRY = "rolling circle, elementary geometry"

# A mm, λ m, R m: crest, trough, mean lift in mm (computed)
SINES = [
    (20, 0.5, 0.2, 20.000, -20.000, 3.125),
    (30, 0.5, 0.2, 30.000, -30.000, 6.933),
    (50, 1.0, 0.2, 50.000, -50.000, 4.853),
    (20, 0.3, 0.2, 20.000, -14.579, 8.226),
    (20, 0.2, 0.2, 20.000, -0.414, 13.258),
]


@every(("amplitude", "wave", "radius", "crest", "trough", "lift"), SINES)
def test_wheel_over_a_sine(published, amplitude, wave, radius, crest, trough, lift):
    dx = wave / 1000
    x = dx * np.arange(4001)
    z = 1e3 * envelope(1e-3 * amplitude * np.sin(2 * np.pi * x / wave), dx, radius)[1000:3000]
    where = f"A {amplitude} mm, λ {wave} m, R {radius} m"
    common = {"source": GEOMETRY, "status": "computed", "unit": "mm"}
    published(f"crest of the wheel's path, {where}", value=crest, ours=z.max(), within=0.002, **common)
    published(f"trough of the wheel's path, {where}", value=trough, ours=z.min(), within=0.01, **common)
    published(f"mean lift, {where}", value=lift, ours=z.mean(), within=0.01, **common)


def test_default_grid_follows_the_closed_path():
    """On the 5 mm grid of the tracks the path of the gauge wheel is off by less than 0.05 mm."""
    fine, coarse = 0.0005, 0.005
    x = fine * np.arange(8001)
    z = 0.02 * np.sin(2 * np.pi * x / 0.5)
    gap = envelope(z, fine, 0.2)[::10] - envelope(z[::10], coarse, 0.2)
    assert np.abs(gap[50:-50]).max() < 5e-5


def test_circular_hump(published):
    radius, hump, dx = 0.2, 0.05, 1e-4
    x = dx * np.arange(-6000, 6001)
    z = np.sqrt(np.maximum(hump**2 - x**2, 0.0))
    ours = envelope(z, dx, radius)
    common = {"source": GEOMETRY, "status": "derived"}
    touched = np.abs(x[ours > 1e-9]).max()
    published(
        "half width of the path, hump r 0.05 m, wheel R 0.2 m", value=0.150, ours=touched, unit="m", rel=2e-3, **common
    )
    published("peak rise over that hump", value=0.050, ours=ours.max(), unit="m", rel=1e-6, **common)
    i = int(np.argmax(ours > 1e-9))
    slope = (-1.5 * ours[i] + 2 * ours[i + 1] - 0.5 * ours[i + 2]) / dx
    published("slope at its entry", value=0.750, ours=slope, rel=2e-3, **common)
    inside = np.abs(x) < 0.14
    exact = np.sqrt((radius + hump) ** 2 - x[inside] ** 2) - radius
    assert np.abs(ours[inside] - exact).max() < 1e-6


# h/R: F/W = √(2Rh − h²)/(R − h), angle in degrees, start of the climb in radii
STEPS = [(0.05, 0.3287, 18.19, 0.3122), (0.10, 0.4843, 25.84, 0.4359), (0.20, 0.7500, 36.87, 0.6000),
         (0.30, 1.0202, 45.57, 0.7141), (0.50, 1.7321, 60.00, 0.8660)]  # fmt: skip


@every(("share", "pull", "angle", "start"), STEPS)
def test_climb_of_a_step(published, share, pull, angle, start):
    """The path's slope at first touch is the pull per weight; it begins where the circle meets the edge."""
    radius, dx = 0.2, 1e-4
    x = dx * np.arange(-4000, 1001)
    ours = envelope(np.where(x > -0.5 * dx, share * radius, 0.0), dx, radius)
    first = int(np.argmax(ours > 1e-9))
    slope = (-1.5 * ours[first] + 2 * ours[first + 1] - 0.5 * ours[first + 2]) / dx
    common = {"source": "rigid wheel at an edge, elementary statics", "status": "derived"}
    published(
        f"climb of a step h/R {share}, start ahead of it over R",
        value=start,
        ours=-x[first] / radius,
        rel=3e-3,
        **common,
    )
    published(f"its pull over weight F/W, h/R {share}", value=pull, ours=slope, rel=6e-3, **common)
    published(f"its angle, h/R {share}", value=angle, ours=math.degrees(math.atan(slope)), unit="°", rel=4e-3, **common)


def wheel_behind_disc(unit: Unit, over: float) -> float:
    """Distance [m] of the wheel behind the disc from the height `over` of its bottom over the disc's."""
    arm, disc = unit.gauge_wheel, unit.disc
    below_pivot = arm.arm_pivot[1] - (disc.hub[1] - disc.radius + over + arm.radius)
    return disc.hub[0] - (arm.arm_pivot[0] - math.sqrt(arm.arm_length**2 - below_pivot**2))


@every("share", [0.1, 0.25, 0.5, 1.0])
def test_depth_error_of_an_offset_wheel(published, cross, share):
    """Ground shape part over a sine: amplitude 2A|sin(ka/2)|, a the distance between wheel and disc.

    The full unit is marched; the disc is moved along the carrier to get the distance, the toolbar is level.
    """
    amplitude, wave = 0.004, 2.0
    unit, level = Unit(), Settings(toolbar="level")
    behind = wheel_behind_disc(unit, cross("flat", level).setting.wheel_over_disc)
    assert behind == pytest.approx(0.054, abs=5e-4)
    hub = (unit.disc.hub[0] - behind + share * wave, unit.disc.hub[1])
    unit = replace(unit, disc=replace(unit.disc, hub=hub))
    track = synthetic_ground.shaped(12.0, lambda x: amplitude * np.sin(2 * np.pi * x / wave))
    run = simulate(unit, Soil(), track, level)
    x, part = run.series["distance"], run.series["ground_shape"]
    whole = x <= x[0] + 5 * wave
    ours = abs(2 * np.mean(part[whole] * np.exp(-2j * np.pi * x[whole] / wave)))
    published(
        f"depth error of a wheel {share:g} wavelengths from the disc, A 4 mm", source="2A|sin(ka/2)|",
        status="derived", value=2e3 * amplitude * abs(math.sin(math.pi * share)), ours=1e3 * ours, unit="mm", rel=0.005,
        within=0.02,
    )  # fmt: skip
