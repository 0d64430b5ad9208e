"""The grid follows the shortest waves of the roughness; what lies on it stays the same ground."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from every import every

from scenarios.ground.lay import spacing
from scenarios.ground.roughness import rough_heights
from scenarios.load import load
from scenarios.scenario import Scenario
from scenarios.spec import Roughness

STARTER = 'title = "t"\n[ground]\nlength_m = 60\nseed = 5\n'


def scenario(folder: Path, high: float, more: str = "") -> Scenario:
    """Class D up to `high` [c/m] with stones, read from a file."""
    path = folder / "g.toml"
    band = f'[ground.roughness]\nclass = "D"\nband_c_per_m = [0.05, {high:g}]\n'
    path.write_text(f"{STARTER}{band}[stones]\nrate_per_100m = 30\n{more}", encoding="utf-8")
    return load(path)


def short_waves(z: np.ndarray, dx: float, above: float) -> float:
    """SD of what lies above a spatial frequency [c/m]."""
    spectrum = np.fft.rfft((z - z.mean()) * np.hanning(z.size))
    n = np.fft.rfftfreq(z.size, dx)
    return float(np.sqrt(2.0 * np.sum(np.abs(spectrum[n > above]) ** 2) / np.sum(np.hanning(z.size) ** 2) / z.size))


@every(("high", "dx"), [(2.0, 5.0), (10.0, 5.0), (10.5, 2.5), (20.0, 2.5), (25.0, 1.25), (40.0, 1.25)])
def test_twenty_samples_in_the_shortest_wave(high, dx, tmp_path):
    assert spacing(Roughness(letter="D", band=(0.05, high))) == 1e-3 * dx
    track = scenario(tmp_path, high).track()
    assert (track.dx, track.x_from, track.x_to) == (1e-3 * dx, 0.0, 60.0)
    assert track.x[-1] == pytest.approx(66.0, abs=1e-9)


def test_ground_without_roughness_keeps_the_usual_grid():
    assert spacing(None) == 0.005


def test_a_band_that_goes_further_up_only_adds_waves(tmp_path):
    """Below 10 c/m the same ground; above it the closed SD √(Gd·n0²·(1/10 − 1/40)) = 0.876 mm (ISO 8608 form)."""
    plain, more = scenario(tmp_path, 10).track(), scenario(tmp_path, 40).track()
    full = more.x[::4] > more.x_from
    added = (more.ground[::4] - plain.ground)[full]
    assert short_waves(added, 0.005, 0.0) == pytest.approx(np.sqrt(1024e-8 * (1 / 10 - 1 / 40)), rel=0.05)
    assert short_waves(added, 0.005, 9.5) == pytest.approx(short_waves(added, 0.005, 0.0), rel=1e-3)
    np.testing.assert_allclose(more.strength[::4], plain.strength, rtol=1e-9)


def test_stones_lie_where_they_lay(tmp_path):
    plain, more = scenario(tmp_path, 10), scenario(tmp_path, 40)
    assert plain.stones_on_track() == more.stones_on_track()
    assert set(plain.track().stone_id) == set(more.track().stone_id)


def test_a_finer_grid_holds_the_samples_of_a_coarser_one():
    spec = Roughness(letter="E", band=(0.05, 40.0))
    coarse = rough_heights(spec, 12_001, 0.005, 3)
    for finer in (2, 4, 8):
        fine = rough_heights(spec, 12_000 * finer + 1, 0.005 / finer, 3)
        np.testing.assert_allclose(fine[::finer], coarse, atol=1e-12)


@every("band", [(0.05, 40.0), (10.0, 40.0)])
def test_a_profile_takes_short_waves_too(band, tmp_path):
    """Made-up waves on a measured profile, with its own class in between or in one go."""
    x = 3.0 * np.arange(40)
    rows = "\n".join(f"{a:g},{0.1 * np.sin(a / 9.0):.5f}" for a in x)
    (tmp_path / "p.csv").write_text(f"distance_m,height_m\n{rows}\n", encoding="utf-8")
    text = 'title = "t"\n[ground.profile]\nfile = "p.csv"\nroughness_class = "D"\n'
    path = tmp_path / "p.toml"
    path.write_text(text, encoding="utf-8")
    bare = load(path).track()
    path.write_text(f'{text}[ground.roughness]\nclass = "D"\nband_c_per_m = {list(band)}\n', encoding="utf-8")
    found = load(path)
    track = found.track()
    assert track.dx == 0.00125
    full = track.x[::4] > track.x_from
    added = (track.ground[::4] - bare.ground)[full]
    assert short_waves(added, 0.005, 10.5) == pytest.approx(np.sqrt(1024e-8 * (1 / 10.5 - 1 / 40)), rel=0.1)
    twice = [text for text in found.warnings if "both put waves" in text]
    assert len(twice) == (1 if band[0] < 1.0 else 0)
    assert all("from 0.167 to 10 c/m" in text for text in twice)
