"""Noise of a survey: found in made records of known noise, not in honest ground, and taken out where that is asked."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from every import every

from scenarios.format.errors import ScenarioError
from scenarios.ground.measured.low_pass import low_passed
from scenarios.ground.measured.record_spectrum import spectrum, spectrum_of_points
from scenarios.ground.measured.survey_noise import find_noise, noise_given
from scenarios.ground.roughness import rough_heights
from scenarios.load import load
from scenarios.spec import Roughness
from sim.run import simulate

DX = 0.1
X = DX * np.arange(601)
HUMP = 0.075 * (1.0 + np.cos(2 * np.pi * np.clip((X - 20.0) / 3.0, -0.5, 0.5)))


def noise(sd_mm, size=X.size, seed=7):
    return np.random.default_rng(seed).normal(0.0, 1e-3 * sd_mm, size) if sd_mm else np.zeros(size)


def class_d(seed, length=300.0, dx=DX, waviness=2.0):
    heights = rough_heights(Roughness(gd_n0=1024e-6, waviness=waviness), round(length / 0.005), 0.005, seed)
    return heights[:: round(dx / 0.005)]


def write(folder, heights, keys="", x=X):
    rows = "\n".join(f"{a:.3f},{h:.6f}" for a, h in zip(x, heights, strict=True))
    (folder / "p.csv").write_text(f"distance_m,height_m\n{rows}\n", encoding="utf-8")
    path = folder / "p.toml"
    text = f'title = "t"\n[soil]\nvariation_cv = 0\n[ground.profile]\nfile = "p.csv"\n{keys}'
    path.write_text(text, encoding="utf-8")
    return path


def test_the_spectrum_of_white_noise_is_flat():
    """2σ²·dx up to half a cycle a spacing."""
    found = spectrum(noise(5.0, 40_000), DX)
    assert found is not None
    assert found.density.mean() == pytest.approx(2.0 * 0.005**2 * DX, rel=0.03)
    assert found.n[-1] < 5.0 < found.n[-1] + 2.0 * found.n[0]
    half = found.density.size // 2
    assert found.density[:half].mean() == pytest.approx(found.density[half:].mean(), rel=0.1)


def test_gaps_split_a_record_and_uneven_points_say_nothing():
    x = np.concatenate([X[:300] + 40.0 * i for i in range(20)])
    whole = spectrum_of_points(x, noise(5.0, x.size))
    assert whole is not None
    assert whole.density.mean() == pytest.approx(2.0 * 0.005**2 * DX, rel=0.1)
    wild = np.cumsum(np.random.default_rng(1).uniform(0.05, 0.15, 600))
    assert spectrum_of_points(wild, noise(5.0, 600)) is None


@every(("sd", "band"), [(2.0, 0.15), (5.0, 0.15), (10.0, 0.15)])
def test_noise_on_a_hump_is_found(sd, band):
    for seed in range(6):
        found = find_noise(spectrum_of_points(X, HUMP + noise(sd, seed=seed)))
        assert found is not None, seed
        assert 1e3 * found.sd == pytest.approx(sd, rel=band)
        assert 0.7 < found.wave < 2.0


def test_no_noise_is_found_on_a_clean_hump():
    assert find_noise(spectrum_of_points(X, HUMP)) is None


@every(("waviness", "dx"), [(2.0, 0.1), (2.0, 0.25), (1.5, 0.1), (2.5, 0.05), (3.0, 0.1)])
def test_honest_ground_is_not_accused(waviness, dx):
    """Roughness at class D's density for 12 seeds: what folds back from shorter waves is no noise."""
    for seed in range(12):
        heights = class_d(seed, 150.0, dx, waviness)
        assert find_noise(spectrum(heights, dx)) is None, seed


@every("name", ["gilgai", "ridges", "bank", "gully", "stony", "rough"])
def test_shapes_of_the_library_are_not_accused(name):
    track = load(name).track()
    for dx in (0.05, 0.1, 0.25):
        x = np.arange(0.0, track.x_to, dx)
        assert find_noise(spectrum(np.interp(x, track.x, track.ground), dx)) is None, dx


@every("sd", [5.0, 10.0])
def test_noise_on_class_d_is_found(sd):
    """300 m of it; 2 mm lies under the ground in all waves that points 0.1 m apart hold, and is not told."""
    for seed in range(6):
        found = find_noise(spectrum(class_d(seed) + noise(sd, 3000, seed), DX))
        assert found is not None, seed
        assert 1e3 * found.sd == pytest.approx(sd, rel=0.25)
    assert find_noise(spectrum(class_d(1) + noise(2.0, 3000), DX)) is None


def test_a_known_noise_gives_the_wave_where_it_takes_over():
    """Class D falls below 2σ²·dx where Gd·n0²/n² does: at n = √(1024e-6·0.01/(2σ²·dx))."""
    found = noise_given(spectrum(class_d(3) + noise(5.0, 3000), DX), 0.005)
    assert found.wave == pytest.approx(np.sqrt(2.0 * 0.005**2 * DX / (1024e-6 * 0.01)), rel=0.1)


@every("length", [0.25, 0.5, 1.0, 5.0])
def test_the_filter_halves_its_wave_and_moves_nothing(length):
    """Second order, there and back, in the frequencies of a bilinear transform."""
    kept = 1.0 / (1.0 + (np.tan(np.pi * DX / length) / np.tan(np.pi * DX / 0.5)) ** 4)
    wave = np.sin(2 * np.pi * X / length)
    found = low_passed(wave, DX, 0.5)[100:-100]
    part = wave[100:-100]
    assert found @ part / (part @ part) == pytest.approx(kept, abs=0.01)
    quarter = np.cos(2 * np.pi * X / length)[100:-100]
    assert abs(found @ quarter) / (part @ part) < 0.01


def test_the_filter_keeps_a_slope_to_its_ends_and_is_not_pulled_by_single_points():
    slope = 3.0 + 0.05 * X
    np.testing.assert_allclose(low_passed(slope, DX, 1.0), slope, atol=1e-9)
    pulled = slope.copy()
    pulled[0] += 0.02
    assert abs(low_passed(pulled, DX, 1.0)[0] - slope[0]) < 0.012  # of 20 mm


def on_depth(path):
    found = load(path)
    run = simulate(found.unit, found.soil, found.track(), found.settings)
    return 100.0 * np.mean(np.abs(run.series["depth"] - found.settings.set_depth) <= 0.01)


def test_the_filter_gives_the_share_on_depth_back(tmp_path):
    """A hump of 150 mm: noise of 5 and 10 mm takes points off its share on depth, the filter gives them back."""
    clean = on_depth(write(tmp_path, HUMP))
    for sd, lost in ((5.0, 2.0), (10.0, 15.0)):
        assert on_depth(write(tmp_path, HUMP + noise(sd))) < clean - lost
        again = on_depth(write(tmp_path, HUMP + noise(sd), 'noise_filter = "as_noise_says"\n'))
        assert again == pytest.approx(clean, abs=1.0)


def test_what_is_told(tmp_path):
    """Off by default, but told; what was done is told; a known noise stands beside what the waves show."""
    noisy = HUMP + noise(5.0)
    (smooth,) = load(write(tmp_path, HUMP)).warnings  # a drawn curve
    assert "the record is smooth below waves of" in smooth
    plain = load(write(tmp_path, noisy))
    (told,) = plain.warnings
    assert "look like noise of the survey, heights 4.7 mm (SD) out from point to point" in told
    assert 'noise_filter = "as_noise_says" or shortest_wave_m in [ground.profile]' in told
    found, done = load(write(tmp_path, noisy, 'noise_filter = "as_noise_says"\n')).warnings[:2]
    assert "look like noise" in found
    assert "To take them out" not in found
    assert "taken out of its heights: waves shorter than 1.1" in done
    known = load(write(tmp_path, noisy, "survey_noise_mm = 6\n")).warnings[0]
    assert "noise of the survey 6 mm (survey_noise_mm; its own short waves show 4.7 mm)" in known
    nothing, smooth = load(write(tmp_path, HUMP, 'noise_filter = "as_noise_says"\n')).warnings
    assert "the record is smooth below waves of" in smooth
    assert "nothing is taken out of its heights: no noise was found" in nothing
    held, smooth = load(write(tmp_path, HUMP, "shortest_wave_m = 0.15\n")).warnings
    assert "the record is smooth below waves of" in smooth
    assert "its points hold no shorter waves than 0.2 m" in held


def test_off_by_default_takes_nothing_out(tmp_path):
    noisy = HUMP + noise(5.0)
    found = load(write(tmp_path, noisy)).profile
    assert found is not None
    np.testing.assert_allclose(found.height, noisy, atol=1e-6)


def test_the_wave_that_the_user_says(tmp_path):
    found = load(write(tmp_path, HUMP + noise(5.0), "shortest_wave_m = 0.8\n")).profile
    assert found is not None
    assert found.shortest_wavelength == 0.8
    np.testing.assert_allclose(found.height, low_passed(HUMP + noise(5.0), DX, 0.8), atol=1e-6)


def test_made_up_roughness_goes_under_what_a_filter_left(tmp_path):
    keys = 'shortest_wave_m = 0.8\nroughness_class = "C"\n'
    found = load(write(tmp_path, HUMP + noise(5.0), keys)).profile
    assert found is not None
    assert found.fine == Roughness(letter="C", band=(1.25, 10.0))


def test_uneven_points_are_filtered_on_an_even_grid(tmp_path):
    x = np.round(np.cumsum(np.random.default_rng(1).uniform(0.05, 0.15, 600)), 3)
    path = write(tmp_path, 0.02 * np.sin(2 * np.pi * x / 6.0) + noise(5.0, 600), "shortest_wave_m = 1\n", x)
    found = load(path).profile
    assert found is not None
    assert np.ptp(np.diff(found.distance)) < 1e-9
    assert found.stretch == (x[0], x[-1])
    assert np.std(found.height - 0.02 * np.sin(2 * np.pi * found.distance / 6.0)) < 0.003
    (says, *_) = load(write(tmp_path, HUMP[:600], 'noise_filter = "as_noise_says"\n', x)).warnings
    assert "too few points stand evenly" in says


def test_two_filters_are_a_fault(tmp_path):
    keys = 'shortest_wave_m = 0.8\nnoise_filter = "as_noise_says"\n'
    with pytest.raises(ScenarioError, match=r"ground\.profile\.shortest_wave_m: given 0\.8"):
        load(write(tmp_path, HUMP, keys))


def test_strength_goes_with_filtered_points(tmp_path):
    path = write(tmp_path, HUMP, "shortest_wave_m = 0.8\n")
    found = load(path).profile
    assert found is not None
    strong = replace(found, strength=1e6 + 1e4 * found.distance).without_waves(2.0)
    assert strong.strength == pytest.approx(1e6 + 1e4 * strong.distance)


def test_a_record_of_level_ground_holds_no_noise(tmp_path):
    assert load(write(tmp_path, np.zeros(601))).warnings == ()
    (told,) = load(write(tmp_path, np.zeros(601), "survey_noise_mm = 5\n")).warnings
    assert "its own short waves show no noise to be told from ground" in told
