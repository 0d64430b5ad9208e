"""Masses and forces so many times as large leave the motion; so does gravity with them, in another time.

A long run: PROPERTY_EXAMPLES=500 python -m pytest tests/physics/test_properties_scaling.py
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from any_scenario import documents, few, read
from gravity_march import CASES, ground
from hypothesis import assume, given
from hypothesis import strategies as st
from scaled_unit import all_heavier, all_quicker

from scenarios.format.errors import ScenarioError
from sim.errors import SimulationError
from sim.ground_tables import ground_tables
from sim.run import simulate
from sim.step import choose_step
from sim.toolbar.path import path
from sim.unit import Soil, Unit

ROOT = Path(__file__).parents[2]
GROWS = {
    "gauge_load", "press_load", "disc_vertical", "disc_draught", "side_load", "rock_force", "stop_force", "spare_load",
    "cylinder_force", "gas_volume",
}  # fmt: skip


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("scaled")


@few(40)
@given(document=documents(), factor=st.sampled_from((4.0, 0.25)))
def test_masses_and_forces_four_times_as_large_leave_the_motion(document, factor, folder):
    """Bit for bit: a factor of 2² only changes exponents, of lengths (bore, fitting) as of all else."""
    try:
        s = read(document, folder)
        track = s.track()
        step = choose_step(s.unit, s.soil, track.rock, s.settings).seconds
        run = simulate(s.unit, s.soil, track, s.settings, step=step)
    except (ScenarioError, SimulationError):
        assume(False)
    unit, soil, rock = all_heavier(s.unit, s.soil, track.rock, factor)
    ground = replace(track, strength=track.strength * factor, rock=rock)
    other = simulate(unit, soil, ground, s.settings, step=step)
    for name, values in run.series.items():
        assert np.array_equal(values * (factor if name in GROWS else 1.0), other.series[name]), name
    assert np.array_equal(run.pins * factor, other.pins)
    assert other.energy.work == run.energy.work * factor


def test_gravity_with_masses_leaves_the_motion_in_another_time(tmp_path):
    """Gravity four times as strong, masses a quarter, forces the same: all goes twice as fast, and nothing else.

    Factors of two change exponents alone. What is left: `disc_force` adds 1e-12 m²/s² to the square of the speed,
    a share of 2.5e-13 at 2 m/s and of a fourth of that at 4 m/s; forty times that are allowed.
    """
    tables = ground_tables(Unit(), ground(), CASES[0].set_depth)
    np.savez(tmp_path / "ground.npz", table=tables.table, stone=tables.stone, x0=tables.x0, dx=tables.dx)
    folders = os.pathsep.join((str(ROOT), str(ROOT / "tests/support")))
    said = subprocess.run(
        [sys.executable, ROOT / "tests/support/gravity_march.py", tmp_path / "ground.npz"], check=True,
        capture_output=True, text=True, timeout=300, cwd=ROOT,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": folders},
    )  # fmt: skip
    for found in json.loads(said.stdout):
        assert found.pop("stone") > 1e3
        assert {name: off for name, off in found.items() if off > 1e-11} == {}


def test_the_toolbar_rides_as_well_in_another_time():
    """Its law knows no gravity: a quarter of the mass on the same springs, half the damping, at twice the speed."""
    track, unit, settings = ground(), Unit(), CASES[0]
    quick, _, _, fast = all_quicker(unit, Soil(), track.rock, settings, 2.0)
    nodes, step = 1000, 2.0**-10  # [s], short enough to be one step of its own

    def ride(unit, speed, step):
        return path(unit, track.surface, track.x0, track.dx, -3.0, speed, step, nodes, True)

    ours, theirs = ride(unit, settings.speed, step), ride(quick, fast.speed, 0.5 * step)
    assert np.ptp(ours[:, 0]) > 0.001
    assert np.array_equal(ours * (1.0, 2.0, 4.0, 1.0, 2.0, 4.0), theirs)
