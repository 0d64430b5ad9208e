"""Physics broken on purpose must be noticed: each fault below is put into a copy of the sources, and a test fails.

The copies run in a process of their own, as plain Python unless a test needs compiled code. The same tests pass on an
unbroken copy.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).parents[2]
INSTANT = "tests/physics/test_second_engine_instant.py"
UNITS = "tests/support/crooked.py"
AGREE = f"{INSTANT}::test_both_agree_at_any_instant"
NITROGEN = f"{INSTANT}::test_the_gas_spring_of_a_run_is_nitrogen"
STONE = "tests/unit/sim/laws/test_stone.py::test_a_blow_is_that_of_the_closed_form"
SINKS = "tests/unit/sim/hydraulics/test_oil.py::test_a_stone_gives_way_at_its_strength"
HARD = "tests/unit/sim/laws/test_hard_profile.py::test_hard_profile_without_stones_is_out_of_reach"
WARM = "tests/unit/sim/test_setting.py::test_the_gas_starts_at_its_working_temperature"
AXLES = "tests/unit/sim/toolbar/test_path.py::test_the_front_axle_stands_in_front"
UNION = "tests/physics/test_stones.py::test_wheels_disc_and_depth_feel_a_stone"


class Fault(NamedTuple):
    """A piece of source text, what takes its place, and the test that must notice."""

    file: str
    text: str
    broken: str
    notices: str
    compiled: bool = False  # the test needs compiled code: of its ground tables alone


FAULTS = {
    "sign in a pin equation": Fault(
        "sim/mechanism/pins.py", "rf_x, rf_z = mr_x + rr_x, mr_z + rr_z", "rf_x, rf_z = mr_x - rr_x, mr_z + rr_z", AGREE
    ),
    "no mass in the main links": Fault("sim/model.py", "link_mass=k.mass,", "link_mass=0.0,", AGREE),
    "no Jacobian of the depth linkage's drift": Fault(
        "sim/mechanism/bodies.py", "gx_t = k.u1x_t - k.beta_t * reach * k.gz", "gx_t = k.u1x_t", AGREE
    ),
    "ideal gas for nitrogen": Fault("sim/laws/gas.py", '"real": NITROGEN', '"real": IDEAL', NITROGEN),
    "no Coriolis acceleration": Fault("sim/mechanism/bodies.py", "- 2.0 * bar.vp * vz", "- 0.0 * bar.vp * vz", AGREE),
    "rolling resistance that pushes": Fault(
        "sim/laws/wheel_soil.py", "f_x = -load * (slope + resistance)", "f_x = -load * (slope - resistance)", AGREE
    ),
    "wheels that do not feel the soil's strength": Fault(
        "sim/laws/wheel_soil.py", "static = full * strength", "static = full", AGREE
    ),
    "soil under the disc for that under the gauge wheel": Fault(
        "sim/march/loop.py",
        "gauge_q, gauge_q_s = _strength_at(table, x0, inv, pt.gx)",
        "gauge_q, gauge_q_s = _strength_at(table, x0, inv, pt.hx)",
        AGREE,
    ),
    "soil that pulls and carries without end": Fault(
        "sim/laws/wheel_soil.py",
        "load = smallest(largest(static + more, 0.0), 2.0 * static)",
        "load = static + more",
        AGREE,
    ),
    "no sinking in the rate of load": Fault(
        "sim/mechanism/forces.py",
        "gauge_s, gr.gauge_s * pt.gvx - pt.gvz, y.dg",
        "gauge_s, gr.gauge_s * pt.gvx, y.dg",
        AGREE,
    ),
    "soil that changes along the way for nothing": Fault(
        "sim/laws/wheel_soil.py", " - soil_energy(full * strength_rate, s, soil.exponent)", "", AGREE
    ),
    "no turning inertia of the bell crank": Fault(
        "sim/model.py", "bell_inertia=link.bell_inertia", "bell_inertia=0.0", AGREE
    ),
    "stones that bear any force": Fault(
        "sim/laws/disc.py", "rock = smallest(pushed, strength)", "rock = pushed", STONE
    ),
    "stones that take no work by sinking": Fault(
        "sim/laws/disc.py", "w_sunk = select(sinking, rock * rate, 0.0)", "w_sunk = select(sinking, 0.0, 0.0)", STONE
    ),
    "stones that never sink": Fault(
        "sim/march/loop.py",
        "beyond its strength\n                sunk = max(sunk, f.penetration - m.rock_limit)",
        "beyond its strength",
        SINKS,
    ),
    "giving way never told": Fault(
        "sim/march/loop.py", "stone_gives_way=largest(f.gives_way, gave)", "stone_gives_way=0.0 * gave", SINKS
    ),
    "giving way always told": Fault(
        "sim/march/loop.py", "stone_gives_way=largest(f.gives_way, gave)", "stone_gives_way=1.0 + 0.0 * gave", SINKS
    ),
    "hard contact where no stone is": Fault(
        "sim/laws/contact.py", "return nothing, none", "return ground - 0.2, none", HARD
    ),
    "a gauge wheel that does not feel stones": Fault(
        "sim/run.py",
        "gauge=under_wheel(envelope(surface,",
        "gauge=under_wheel(envelope(track.ground,",
        f"{UNION}[gauge]",
        compiled=True,
    ),
    "gas that starts at 20 °C whatever its temperature": Fault(
        "sim/run.py", "rest.dg, rest.dp, m.wall, 0.0)", "rest.dg, rest.dp, 293.15, 0.0)", WARM
    ),
    "the toolbar's axles swapped": Fault(
        "sim/toolbar/path.py",
        "bar.axle_front, bar.axle_rear, bar.stiffness",
        "bar.axle_rear, bar.axle_front, bar.stiffness",
        AXLES,
        compiled=True,
    ),
    "a press wheel that does not feel stones": Fault(
        "sim/run.py",
        "press=under_wheel(envelope(surface,",
        "press=under_wheel(envelope(track.ground,",
        f"{UNION}[press]",
        compiled=True,
    ),
}


def run(folder: Path, *tests: str, compiled: bool = False) -> subprocess.CompletedProcess[str]:
    """Run tests on a copy, as plain Python or compiled into a cache of its own."""
    paths = (folder, (folder / UNITS).parent)
    how = {"XDG_CACHE_HOME": str(folder / "cache")} if compiled else {"NUMBA_DISABLE_JIT": "1"}
    return subprocess.run(
        [sys.executable, "-B", "-m", "pytest", "-q", "-x", "--rootdir", str(folder), "-p", "no:cacheprovider", *tests],
        cwd=folder, capture_output=True, text=True, timeout=200, check=False,
        env={**os.environ, **how, "PYTHONPATH": os.pathsep.join(map(str, paths))},
    )  # fmt: skip


def on_a_copy(folder: Path, fault: Fault | None) -> subprocess.CompletedProcess[str]:
    """Copy the sources and the tests, put the fault in, and run the test that must notice it."""
    rooms = ("sim", "analysis", "scenarios") if fault is not None and fault.compiled else ("sim",)
    for room in (*rooms, "tests/support"):
        shutil.copytree(ROOT / room, folder / room, ignore=shutil.ignore_patterns("__pycache__"))
    for test in {test.split("::")[0] for test in (AGREE, STONE, SINKS, HARD, UNION, WARM, AXLES)}:
        (folder / test).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(ROOT / test, folder / test)
    if fault is None:
        return run(folder, AGREE, NITROGEN, STONE, SINKS, HARD, WARM)
    source = folder / fault.file
    sound = source.read_text(encoding="utf-8")
    assert sound.count(fault.text) == 1, f"{fault.file} no longer holds what this test breaks: {fault.text}"
    source.write_text(sound.replace(fault.text, fault.broken), encoding="utf-8")
    return run(folder, fault.notices, compiled=fault.compiled)


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    """What the tests say of every fault, and of no fault; two at a time."""
    folder = tmp_path_factory.mktemp("broken")
    with ThreadPoolExecutor(2) as pool:
        jobs = {
            name: pool.submit(on_a_copy, folder / str(number), fault)
            for number, (name, fault) in enumerate({"": None, **FAULTS}.items())
        }
    return jobs


def test_nothing_is_noticed_in_an_unbroken_copy(outcomes):
    result = outcomes[""].result()
    assert result.returncode == 0, result.stdout
    assert "16 passed" in result.stdout


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_noticed(outcomes, name):
    result = outcomes[name].result()
    assert result.returncode == 1, result.stdout + result.stderr  # tests ran, and one failed
    assert "AssertionError" in result.stdout
    assert FAULTS[name].notices.split("::")[1] in result.stdout
