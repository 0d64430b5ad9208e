"""What must make no difference about the ground: its level, where it is counted from, roughness of none; and seeds.

A long run: PROPERTY_EXAMPLES=300 python -m pytest tests/physics/test_properties_ground.py
"""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import synthetic_ground
from any_scenario import few
from hypothesis import given
from hypothesis import strategies as st

from scenarios.load import load
from sim.run import simulate
from sim.unit import Settings, Soil, Unit

ROOT = Path(__file__).parents[2]
SETTINGS = st.builds(
    Settings,
    speed=st.floats(4.0, 15.0).map(lambda kmh: kmh / 3.6),
    oil_pressure=st.floats(30e5, 60e5),
    setting=st.sampled_from(("redone", "unchanged")),
    toolbar=st.sampled_from(("carried", "level")),
)
SEEDS = st.integers(0, 10**9)
# Heights of some 100 m and places of some 1000 m are held to 2⁻⁵³ of themselves, 1e-14 and 1e-13 m; a slope between
# samples 5 mm apart to some 1e-11, which a tyre's damper of 1.5 kN s/m at 4 m/s makes some 1e-7 N of. The unit forgets
# within a metre, so nothing adds up: 1e-9 m and 1e-4 N leave room of four digits.
SAME_DEPTH, SAME_LOAD = 1e-9, 1e-4


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("ground")


def crossed(scenario, **changes):
    scenario = scenario.with_settings(**changes) if changes else scenario
    return simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)


def worst(run, other, name: str) -> float:
    return float(np.abs(run.series[name] - other.series[name]).max())


def check_same(run, other) -> None:
    assert worst(run, other, "depth") <= SAME_DEPTH
    for name in ("gauge_load", "press_load", "disc_vertical"):
        assert worst(run, other, name) <= SAME_LOAD, name


def surveyed(folder, heights, up: float, along: float):
    """A scenario on measured points a quarter of a metre apart; heights [mm] lifted by `up` and counted from `along`
    [m, in sixteenths: both then stand in the file to the last digit].
    """
    lines = [f"{along + 0.25 * i:.4f},{up + height / 1024:.10f}" for i, height in enumerate(heights)]
    (folder / "ground.csv").write_text("distance_m,height_m\n" + "\n".join(lines) + "\n", encoding="utf-8")
    (folder / "any.toml").write_text('title = "any"\n[ground.profile]\nfile = "ground.csv"\n', encoding="utf-8")
    return load(folder / "any.toml")


@few(12)
@given(
    heights=st.lists(st.integers(-40, 40), min_size=24, max_size=32),
    up=st.integers(-(2**12), 2**12).map(lambda n: n / 16),
    along=st.integers(-(2**14), 2**14).map(lambda n: n / 16),
    kmh=st.floats(4.0, 15.0),
)
def test_measured_ground_may_be_counted_from_any_height_and_place(folder, heights, up, along, kmh):
    plain = crossed(surveyed(folder, heights, 0.0, 0.0), speed=kmh / 3.6)
    check_same(plain, crossed(surveyed(folder, heights, up, 0.0), speed=kmh / 3.6))
    moved = crossed(surveyed(folder, heights, 0.0, along), speed=kmh / 3.6)
    check_same(plain, moved)
    assert np.abs(moved.series["distance"] - plain.series["distance"] - along).max() <= SAME_DEPTH


@few(12)
@given(seed=SEEDS, settings=SETTINGS, samples=st.integers(-(10**6), 10**6))
def test_ground_moved_along_by_whole_samples_changes_nothing(seed, settings, samples):
    track = synthetic_ground.rough(6.0, 1024e-6, seed)
    by = samples * track.dx
    shifted = replace(track, x0=track.x0 + by, x_from=track.x_from + by, x_to=track.x_to + by)
    run, moved = (simulate(Unit(), Soil(), ground, settings) for ground in (track, shifted))
    check_same(run, moved)


# 0.415 m are 83 samples of 5 mm and 50 steps of 8.3 mm: shapes moved by it meet the same samples and the same steps
APART, STEPS = 0.415, 50


def shaped(folder, features: str, length: float):
    path = folder / "shapes.toml"
    text = f'title = "any"\n[ground]\nlength_m = {length}\nroughness = {{ class = "none" }}\n{features}'
    path.write_text(f"{text}[soil]\nvariation_cv = 0\n", encoding="utf-8")
    return load(path)


@few(12)
@given(
    kind=st.sampled_from(("height", "depth")),
    mm=st.floats(5.0, 80.0),
    length=st.floats(0.3, 2.0),
    moved=st.integers(1, 5),
    kmh=st.floats(8.0, 15.0),  # from 7.5 on a step holds 8.3 mm
)
def test_a_shape_further_along_is_met_so_much_later(folder, kind, mm, length, moved, kmh):
    """On flat ground the unit comes to it as it was; only the oil's cushion remembers more than the metres before."""
    word = {"height": "hump", "depth": "hollow"}[kind]

    def run(at: float):
        feature = f'[[ground.features]]\nkind = "{word}"\nat_m = {at}\n{kind}_mm = {mm}\nlength_m = {length}\n'
        return crossed(shaped(folder, feature, 8.0), speed=kmh / 3.6, reference_speed=kmh / 3.6, toolbar="level")

    near, far = run(2.5), run(2.5 + moved * APART)
    late = moved * STEPS
    for name, same in (("depth", SAME_DEPTH), ("gauge_load", SAME_LOAD)):
        assert np.abs(far.series[name][late:] - near.series[name][:-late]).max() <= same, name


@few(15)
@given(seed=SEEDS, settings=SETTINGS)
def test_no_roughness_is_flat_ground(folder, seed, settings):
    """Left out, said to be none, or scaled to nothing: bit for bit the same track, on which nothing moves."""
    text = f'title = "any"\n[ground]\nlength_m = 5\nseed = {seed}\n[soil]\nvariation_cv = 0\n'
    tracks = []
    for rough in ("", '[ground.roughness]\nclass = "none"\n', '[ground.roughness]\nclass = "E"\n'):
        (folder / "flat.toml").write_text(text + rough, encoding="utf-8")
        scenario = load(folder / "flat.toml")
        if "E" in rough:
            assert np.ptp(scenario.track().ground) > 0.01
            scenario = scenario.with_roughness_scaled(0.0)
        tracks.append(scenario.track())
    for track in tracks:
        assert track.ground.tobytes() == np.zeros(track.ground.size).tobytes()
        assert track.strength.tobytes() == np.full(track.ground.size, Soil().strength).tobytes()
    run = simulate(Unit(), Soil(), tracks[2], replace(settings, setting="redone"))
    # a wheel that the oil cannot press to its depth settles where it stands: there, too, nothing moves
    for name, still in (("depth", SAME_DEPTH), ("gauge_load", SAME_LOAD), ("disc_vertical", SAME_LOAD)):
        assert np.ptp(run.series[name]) <= still, name


STONY = """title = "any"
[ground]
length_m = 6
seed = {seed}
roughness = {{ class = "D" }}
[[ground.features]]
kind = "gilgai"
height_mm = 30
wavelength_m = 2
[[ground.features]]
kind = "patches"
share = 0.4
size_m = 1
strength_share = 0.5
[stones]
rate_per_100m = 200
"""
DIGEST = """
import hashlib, sys
from scenarios.load import load
from sim.run import simulate
s = load(sys.argv[1])
t = s.track()
run = simulate(s.unit, s.soil, t, s.settings)
parts = (t.ground, t.stone_top, t.stone_id, t.strength, *run.series.values(), run.pins)
print(hashlib.sha256(b"".join(a.tobytes() for a in parts)).hexdigest())
"""


def digest(path: Path) -> str:
    s = load(path)
    t = s.track()
    run = simulate(s.unit, s.soil, t, s.settings)
    parts = (t.ground, t.stone_top, t.stone_id, t.strength, *run.series.values(), run.pins)
    return hashlib.sha256(b"".join(a.tobytes() for a in parts)).hexdigest()


@few(15)
@given(seed=SEEDS, other=SEEDS)
def test_seeds_decide_everything(folder, seed, other):
    """The same seed gives the same bytes whatever was laid in between; another one other ground, stones and soil."""
    path = folder / "stony.toml"
    path.write_text(STONY.format(seed=seed), encoding="utf-8")
    first, scenario = digest(path), load(path)
    track, elsewhere = scenario.track(), scenario.track(other)
    assert digest(path) == first
    if other == seed:
        assert elsewhere.ground.tobytes() == track.ground.tobytes()
        return
    for name in ("ground", "strength"):
        assert not np.array_equal(getattr(track, name), getattr(elsewhere, name)), name
    assert scenario.stones_on_track() != scenario.stones_on_track(other)


def test_another_process_lays_the_same_bytes(folder):
    """Whatever Python hashes words to."""
    path = folder / "stony.toml"
    path.write_text(STONY.format(seed=7), encoding="utf-8")
    said = subprocess.run(
        [sys.executable, "-c", DIGEST, path], cwd=ROOT, check=True, capture_output=True, text=True, timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONHASHSEED": "12345"},
    )  # fmt: skip
    assert said.stdout.strip() == digest(path)
