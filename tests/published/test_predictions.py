"""What the default unit and soil predict, against published field statements. Nothing here was fitted.

A statement is met or missed; a miss stays in the table with its size, and the test holds it there (hit=False), so
that a change which ends the miss, or starts one, is noticed. Values that the default parameters were chosen for are
marked calibration. Ground: ISO 8608 classes C and D at their geometric mean, 0.05–10 c/m, strength with a
coefficient of variation of 0.25 over 1 m, three seeds of 200 m; the depth setting redone at each speed.

Why the bands are as they are:
- "within ±10 mm at 10 km/h" is read as at least nine tenths of the travel, the share that growers' trials call held;
- the scatter of the wheel's load under a linear unit on ground of waviness 2 grows as the root of speed; rolling
  over short waves and lift-off bend that law, so the exponent is asked within ±0.15. Where the damping ratio ζ falls
  as 1/v, as that of soil pressed ahead of disc and wheel does, it grows as v: ours has to lie between.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import synthetic_ground
from every import every

from sim.hydraulics.cylinder import downforce
from sim.run import simulate
from sim.unit import Settings, Soil, Unit

SPEEDS = (6.0, 8.0, 10.0, 12.0, 15.0)  # km/h
SEEDS = (1, 2, 3)
DUG = "depths dug in a field are the seeds' and are read to about 3 mm, ours is the slot's alone"
DAMPED = "that law has one damping at every speed; soil under disc and wheel damps ours in proportion to 1/v"
STEP = 2e-3  # held here so that the table does not move with the default step [s]


@pytest.fixture(scope="module")
def fields():
    """Measures of crossings by (class, speed): mean over the seeds of each measure, uniform soil under `even`."""
    found = {}
    for letter in "CD":
        gd = synthetic_ground.GEOMETRIC_MEAN[letter]
        tracks = [synthetic_ground.rough(200.0, gd, seed) for seed in SEEDS]
        even = synthetic_ground.rough(200.0, gd, SEEDS[0], strength_cv=0.0)
        for speed in SPEEDS:
            settings = Settings(speed=speed / 3.6)
            rows = [_measures(simulate(Unit(), Soil(), track, settings, step=STEP)) for track in tracks]
            found[letter, speed] = {k: float(np.mean([row[k] for row in rows])) for k in rows[0]}
            found[letter, speed]["even_load_sd"] = _measures(simulate(Unit(), Soil(), even, settings, step=STEP))[
                "load_sd"
            ]
    return found


def _measures(run) -> dict[str, float]:
    error = run.series["depth"] - run.settings.set_depth
    shake = run.series["carrier_acceleration"]
    return {
        "share": np.mean(np.abs(error) <= 0.010),
        "depth_sd": 1e3 * error.std(),
        "load_sd": run.series["gauge_load"].std(),
        "shake": shake.std(),
    }


@every(("letter", "why"), [("C", ""), ("D", "that drill corrects its depth while it works, ours is set once")])
def test_share_within_ten_millimetres(published, fields, letter, why):
    published.band(
        f"share within ±10 mm at 10 km/h, class {letter} ground",
        source="ISO 11783 depth control of a single-disc drill (±10 mm at 10 km/h)", status="seen (abstract)", low=0.90,
        high=1.0, ours=fields[letter, 10.0]["share"], hit=not why, why=why,
    )  # fmt: skip


@every(
    ("letter", "speed", "low", "high", "why"),
    [("C", 8.0, 4, 7, ""), ("D", 8.0, 4, 7, ""), ("C", 15.0, 7, 12, DUG), ("D", 15.0, 7, 12, "")],
)
def test_scatter_of_depth(published, fields, letter, speed, low, high, why):
    published.band(
        f"SD of depth at {speed:g} km/h, class {letter} ground", source="common field figures for 40–50 mm",
        status="memory (medium-low)", low=low, high=high, ours=fields[letter, speed]["depth_sd"], unit="mm",
        hit=not why, why=why,
    )  # fmt: skip


@every("letter", ["C", "D"])
def test_vibration_rises_linearly_with_speed(published, fields, letter):
    shake = [fields[letter, speed]["shake"] for speed in SPEEDS]
    assert np.all(np.diff(shake) > 0.0)
    published.band(
        f"R² of RMS acceleration against speed, 6–15 km/h, class {letter} ground",
        source="field evaluation of planter vibration (R² > 0.90 in most plots)", status="seen (abstract)", low=0.90,
        high=1.0, ours=np.corrcoef(SPEEDS, shake)[0, 1] ** 2,
    )  # fmt: skip
    published.band(
        f"RMS vertical acceleration at 10 km/h, class {letter} ground", source="common field figures, 7–16 km/h",
        status="memory (low)", low=1.0, high=4.0, ours=fields[letter, 10.0]["shake"], unit="m/s²",
    )  # fmt: skip


@every("letter", ["C", "D"])
def test_scatter_of_gauge_load_grows_with_speed(published, fields, letter):
    def exponent(name: str) -> float:
        return np.polyfit(np.log(SPEEDS), np.log([fields[letter, speed][name] for speed in SPEEDS]), 1)[0]

    load = [fields[letter, speed]["load_sd"] for speed in SPEEDS]
    assert np.all(np.diff(load) > 0.0)
    source = "linear unit on waviness 2: σ ∝ √v"
    published.band(
        f"exponent of SD of gauge load over speed, even soil, class {letter} ground", source=source, status="derived",
        low=0.35, high=0.65, ours=exponent("even_load_sd"), hit=False,
        why=DAMPED,
    )  # fmt: skip
    published.band(
        f"the same with random strength, whose share does not grow, class {letter} ground", source=source,
        status="derived", low=0.0, high=0.5, ours=exponent("load_sd"), hit=False, why=DAMPED,
    )  # fmt: skip
    published.band(
        f"exponent on even soil, damping from one at every speed to all in proportion to 1/v, class {letter} ground",
        source="linear unit on waviness 2: σ ∝ √(v/ζ)", status="derived", low=0.5, high=1.0,
        ours=exponent("even_load_sd"),
    )  # fmt: skip


def test_mean_gauge_load(published, cross):
    setting = cross("flat").setting
    published.band(
        "gauge load at the reference setting", source="Hanna et al. 2010, Badua et al. 2021: loads used in the field",
        status="seen (abstracts)", low=200.0, high=1200.0, ours=setting.gauge_load, unit="N",
    )  # fmt: skip


def test_strike_of_a_stone(published, cross):
    run = cross("one stone", Settings(speed=10 / 3.6, toolbar="level"), step=5e-4)
    published.band(
        "peak force of a stone 0.30 m long, 30 mm proud, at 10 km/h", source="order of magnitude, rigid mounted discs",
        status="memory (low)", low=5.0, high=20.0, ours=run.series["rock_force"].max() / 1e3, unit="kN",
    )  # fmt: skip


@every(("bar", "kgf"), [(30, 100.0), (60, 200.0), (90, 300.0)])
def test_downforce_by_the_gauge(published, bar, kgf):
    published(
        f"downforce of a row at {bar} bar", source="no-till practice, 100–300 kgf a row", status="common practice",
        value=kgf, ours=downforce(Unit(), bar * 1e5) / 9.80665, unit="kgf", rel=0.06, kind="calibration",
    )  # fmt: skip


def test_deeper_only_with_pressure_and_slowness(published, cross):
    """With the setting left alone, speed costs depth and pressure brings it back."""
    alone = {"setting": "unchanged", "set_depth": 0.051, "reference_speed": 7.2 / 3.6}

    def depth(bar: float, speed: float) -> float:
        run = cross("class D", Settings(oil_pressure=bar * 1e5, speed=speed / 3.6, **alone), step=STEP)
        return 1e3 * run.series["depth"].mean()

    source = "Badua et al. 2021, no-till maize, 51 mm, 7.2–16.1 km/h"
    slow, fast, pressed = depth(60, 7.2), depth(60, 16.1), depth(90, 16.1)
    published.band(
        "depth lost from 7.2 to 16.1 km/h, setting left alone", source=source, status="seen (abstract)", low=0.0,
        high=math.inf, ours=slow - fast, unit="mm",
    )  # fmt: skip
    published.band(
        "depth won back by 60 → 90 bar at 16.1 km/h", source=source, status="seen (abstract)", low=0.0, high=math.inf,
        ours=pressed - fast, unit="mm",
    )  # fmt: skip


def test_depth_falls_and_scatters_more_with_speed(published):
    """Sign and form only: whether the depth was set again at each speed is not told, nor the ground."""
    speeds, source = (4.0, 6.0, 8.0, 10.0), {"source": "Nadin et al. 2019, 4–10 km/h", "status": "seen (abstract)"}
    lost, straight = {}, {}
    for said, setting in (("set again", "redone"), ("left alone", "unchanged")):
        track = synthetic_ground.rough(200.0, synthetic_ground.GEOMETRIC_MEAN["D"], 1)
        runs = [
            simulate(Unit(), Soil(), track, Settings(speed=v / 3.6, setting=setting), step=STEP).series["depth"]
            for v in speeds
        ]
        lost[said] = round(1e3 * float(runs[0].mean() - runs[-1].mean()), 1)
        variation = [depth.std() / depth.mean() for depth in runs]
        assert np.all(np.diff(variation) > 0.0)
        straight[said] = np.corrcoef(speeds, variation)[0, 1] ** 2
    published.readings(
        "mean depth lost from 4 to 10 km/h, class D ground",
        low=0.1,
        high=math.inf,
        ours=lost,
        unit="mm",
        verdict="in part",
        why="where the depth is set again at each speed its mean is held",
        **source,
    )
    published.readings(
        "R² of the depth's CV against speed, class D ground, read as above 0.9", low=0.9, high=1.0, ours=straight,
        **source,
    )  # fmt: skip
