"""Runs and windows with known answers, for the tests of `analysis`."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np

from analysis.crossing.measures import in_window
from analysis.window.grid import Window
from scenarios.load import load
from scenarios.scenario import Scenario
from scenarios.spec import Limits
from sim.record import Run
from sim.run import simulate
from sim.track import flat_track
from sim.unit import Settings, Soil, Unit

SPEED = 2.5  # [m/s]: with steps of 2 ms every step stands for 5 mm
TRAVEL = 0.005  # [m]
ANY_PRECHARGE = {"precharge_share_max": 100.0, "gas_squeeze_max": 100.0}  # limits that every precharge keeps


@cache
def flat_run() -> Run:
    """A real run over 3 m of flat ground at the reference setting: 600 steps of 5 mm."""
    settings = Settings(speed=SPEED, reference_speed=SPEED, toolbar="level")
    return simulate(Unit(), Soil(), flat_track(3.0, 1.2e6), settings, step=2e-3)


def made_run(steps: int = 600, **series: object) -> Run:
    """The flat run cut to `steps`, with whole channels (arrays or one number) put in by name."""
    run = flat_run()
    kept = {name: values[:steps].copy() for name, values in run.series.items()}
    kept["distance"] = 0.0025 + TRAVEL * np.arange(steps)
    for name, values in series.items():
        assert name in kept, name
        kept[name] = np.broadcast_to(np.asarray(values, dtype=np.float64), (steps,)).copy()
    return replace(run, series=kept, pins=run.pins[:steps].copy())


def stretch(steps: int, *parts: tuple[int, int], inside: float, outside: float) -> np.ndarray:
    """A channel that is `inside` over the steps first…last−1 of every part and `outside` elsewhere."""
    values = np.full(steps, outside)
    for first, last in parts:
        values[first:last] = inside
    return values


def short_scenario(name: str = "rough", length: float = 20.0) -> Scenario:
    """A scenario of the library, measured over a short length [m]."""
    scenario = load(name)
    return replace(scenario, x_to=scenario.x_from + length)


def window(
    shape: tuple[int, int, int],
    limits: Limits | None = None,
    pressures_bar: tuple[float, ...] = (),
    **grids: object,
) -> Window:
    """A window whose every cell meets the default limits with room, but for the grids given (broadcast to shape).

    Pressures 30, 40, 50 … bar, speeds 5, 6, 7 … km/h, seeds 1, 2, 3 …
    """
    good = {
        "on_depth_share": 0.95,
        "on_depth_share_unchanged_setting": 0.9,
        "error_sd": 0.005,
        "depth_mean": 0.04,
        "wheel_off_share": 0.01,
        "gauge_load_mean": 700.0,
        "wheel_off_episodes": 2.0,
        "breakouts": 0.0,
        "distance": 300.0,
        "pin_peak": 9000.0,
        "pressure_max": 70e5,
        "rock_peak": 0.0,
        "setting_change": 0.001,
        "reached": 1.0,
        "precharge_share": 0.05,
        "gas_squeeze": 0.2,
    }
    filled = {m.name: np.full(shape, good.get(m.name, np.nan)) for m in in_window()}
    for name, values in grids.items():
        filled[name] = np.broadcast_to(np.asarray(values, dtype=np.float64), shape).copy()
    bars = np.array(pressures_bar) if pressures_bar else 30.0 + 10.0 * np.arange(shape[0])
    return Window(
        scenario="invented",
        pressures=bars * 1e5,
        speeds=(5.0 + np.arange(shape[1])) / 3.6,
        seeds=tuple(range(1, shape[2] + 1)),
        grids=filled,
        downforce=bars * 34.0,
        limits=limits or Limits(),
        set_depth=0.040,
        problems={},
    )


def by_pressure(*values: float) -> np.ndarray:
    """Values by pressure, the same at all speeds and seeds."""
    return np.array(values)[:, None, None]


def by_speed(*values: float) -> np.ndarray:
    """Values by speed, the same at all pressures and seeds."""
    return np.array(values)[None, :, None]
