"""The kernels are plain Python too: a march without compilation gives the compiled numbers.

Compiled code may fuse a product with a sum (one rounding less), so the two differ in the last bits; over some
hundred steps with a stone, a stop and an empty accumulator these must not grow.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import synthetic_ground

from sim.ground_tables import ground_tables
from sim.laws.gas import GasLaw
from sim.march import loop as kernel
from sim.mechanism.kinematics import State
from sim.model import Model
from sim.run import prepare, start_position
from sim.setting import TRAVEL_MARGIN
from sim.toolbar.path import path
from sim.unit import Settings, Soil, Unit

ROOT = Path(__file__).parents[2]
CASES = {
    "stones": ("stony", Settings(speed=10 / 3.6), None),
    "a stone, held oil, ideal gas": ("one stone", Settings(speed=10 / 3.6, oil="held", gas="ideal"), 3.5),
    "drop, out of oil": ("drop", Settings(speed=10 / 3.6, oil_pressure=30e5, precharge=28e5), 3.5),
}


def prepared(track_name: str, settings: Settings, at: float | None, steps: int):
    """Arguments of a march of `steps` steps that begins with the disc at `at` [m], and as arrays to store."""
    unit, soil, track = Unit(), Soil(), synthetic_ground.named(track_name)
    ready = prepare(unit, soil, track.rock, settings)
    tables = ground_tables(unit, track, settings.set_depth)
    if at is None:  # shortly before the proudest stone
        at = float(track.x[np.argmax(track.stone_top - track.ground)]) - 0.6
    step = 2.5e-3
    x_start = start_position(unit, at) + 26.0
    bar = path(unit, track.surface, track.x0, track.dx, x_start, settings.speed, 0.5 * step, 2 * steps + 1, True)
    links = unit.main_links
    numbers = (
        ready.setting.toolbar_height, x_start, step, tables.x0, 1.0 / tables.dx, links.stop_down - TRAVEL_MARGIN,
        links.stop_up + TRAVEL_MARGIN,
    )  # fmt: skip
    y = (0.002, 0.05, ready.setting.press_angle, 0.0, 0.004, 0.002, 293.15, 0.0)
    return {
        "model": np.array(ready.model), "law": np.array(ready.law), "state": np.array(y), "steps": steps,
        "table": tables.table, "stone": tables.stone, "path": bar, "numbers": np.array(numbers),
    }  # fmt: skip


@pytest.mark.parametrize("case", CASES)
def test_uncompiled_march_gives_the_same_numbers(tmp_path, case):
    track, settings, at = CASES[case]
    given = prepared(track, settings, at, 300)
    np.savez(tmp_path / "given.npz", **given)
    subprocess.run(
        [sys.executable, str(ROOT / "tests/support/plain_march.py"), tmp_path / "given.npz", tmp_path / "plain.npz"],
        check=True, timeout=120, cwd=ROOT, env={**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    plain = np.load(tmp_path / "plain.npz")
    compiled = _compiled(given)
    assert int(plain["status"]) == compiled["status"] == kernel.OK
    assert plain["info"][:2].tolist() == compiled["info"][:2].tolist()
    assert compiled["info"][1] > 0  # some steps were cut
    for name in ("series", "pins"):
        a, b = (of[name].reshape((-1, 300) if name == "series" else (300, -1)) for of in (plain, compiled))
        step = 1 if name == "series" else 0  # axis of the steps
        size = np.abs(b).max(axis=step)
        assert (np.abs(a - b).max(axis=step) <= 1e-12 * size + 1e-13).all(), name
    np.testing.assert_allclose(plain["sums"], compiled["sums"], rtol=1e-11, atol=1e-9)


def _compiled(given):
    n = given["steps"]
    out = {
        "series": np.zeros(n * kernel.N_CHANNELS), "pins": np.zeros(n * kernel.N_PINS),
        "checks": np.zeros(n * kernel.N_CHECKS),
        "sums": np.zeros(kernel.N_SUMS), "info": np.zeros(kernel.N_INFO),
    }  # fmt: skip
    z_bar, x_start, step, x0, inv, low, high = given["numbers"].tolist()
    out["status"] = kernel.march(
        Model(*given["model"].tolist()), GasLaw(*given["law"].tolist()), given["table"], given["stone"], x0, inv,
        given["path"], z_bar, x_start, step, low, high, State(*given["state"].tolist()), out["series"], out["pins"],
        out["checks"], out["sums"], out["info"],
    )  # fmt: skip
    return out
