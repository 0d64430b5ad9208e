"""Real elevation: one line of the sample elevation model that matplotlib carries, as a measured profile.

Source: matplotlib's own sample data, `jacksboro_fault_dem.npz`, through its public function
`matplotlib.cbook.get_sample_data` (seen: 344 × 403 heights in m, cells of 0.00083333 degrees, near 36.7° N, 84.4° W).
The length of a degree of longitude is that of a sphere of 6371 km (value from memory): 111.19 km·cos(latitude).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from matplotlib.cbook import get_sample_data

from scenarios.load import load
from sim.run import simulate

EARTH = 6371e3  # mean radius [m]


@pytest.fixture(scope="module")
def line():
    """Distances and heights [m] along the flattest line of the model, west to east."""
    with get_sample_data("jacksboro_fault_dem.npz") as model:
        heights = np.asarray(model["elevation"], dtype=float)
        cell, north, south = (float(model[name]) for name in ("dx", "ymin", "ymax"))
    latitudes = np.linspace(north, south, heights.shape[0])
    row = int(np.argmin(np.std(np.diff(heights, axis=1), axis=1)))
    step = math.radians(cell) * EARTH * math.cos(math.radians(latitudes[row]))
    return step * np.arange(heights.shape[1]), heights[row]


@pytest.fixture
def files(line, tmp_path):
    """The line as CSV (its first 40 points) and two scenarios of it: bare, and with roughness put under it."""
    x, z = line
    rows = "\n".join(f"{a:.2f},{b:.1f}" for a, b in zip(x[:40], z[:40], strict=True))
    (tmp_path / "line.csv").write_text(f"distance_m,height_m\n{rows}\n", encoding="utf-8")
    for name, more in (("bare", ""), ("rough", 'roughness_class = "D"\n')):
        (tmp_path / f"{name}.toml").write_text(
            f'title = "t"\n[ground]\nlength_m = 120\nseed = 5\n[ground.profile]\nfile = "line.csv"\n{more}',
            encoding="utf-8",
        )
    return tmp_path


def test_spacing_of_the_line(line):
    """0.00083333° of longitude at 36.4–36.7° N: 74 to 75 m."""
    x, z = line
    assert x.size == z.size == 403
    assert 74.0 < x[1] < 75.0


def test_too_coarse_is_told_and_the_remedy_named(files, line):
    x, _ = line
    told, left_out = load(files / "bare.toml").warnings
    assert "length_m = 120 measures 0 to 120 m of the file" in left_out
    assert f"points are up to {x[1]:.3g} m apart, so no wave shorter than {2 * x[1]:.3g} m is in it" in told
    assert 'roughness_class = "C" (or another) in [ground.profile] puts waves of 20 m down to 0.1 m on it' in told
    done, _ = load(files / "rough.toml").warnings
    assert "made-up roughness (class D, 0.05 to 10 c/m)" in done


def test_the_land_stays_and_waves_come_under_it(files, line):
    """The added roughness has the variance of class D from 0.05 to 10 c/m over some 3 km; the land stays below it."""
    x, z = line
    bare, rough = (
        load(files / f"{name}.toml", changes={"ground.length_m": 2800}).track() for name in ("bare", "rough")
    )
    full = (bare.x > bare.x_from) & (bare.x < bare.x_to)
    added = (rough.ground - bare.ground)[full]
    assert np.var(added) == pytest.approx(1024e-6 * 0.01 * (1 / 0.05 - 1 / 10), rel=0.05)
    inner = (x[:40] > bare.x_from) & (x[:40] < bare.x_to)
    level = np.interp(x[0], bare.x, bare.ground)
    np.testing.assert_allclose(np.interp(x[:40][inner], bare.x, bare.ground) - level, (z[:40] - z[0])[inner], atol=2e-3)


def test_a_crossing(files):
    """The bare line leaves nothing to shake the unit; with roughness the depth error is that of a rough field."""
    spread = {}
    for name in ("bare", "rough"):
        found = load(files / f"{name}.toml", changes={"soil.variation_cv": 0})
        run = simulate(found.unit, found.soil, found.track(), found.settings)
        spread[name] = float(np.std(run.series["depth"]))
        assert run.energy.residual_share < 1e-4
    assert spread["bare"] < 0.5e-3
    assert 2e-3 < spread["rough"] < 10e-3
