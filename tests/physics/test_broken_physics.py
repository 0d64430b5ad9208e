"""Physics broken on purpose must be noticed: each fault below is put into a copy of the sources, and a test fails.

The copies run as plain Python, without compilation, in a process of their own. The same tests pass on an unbroken copy.
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


class Fault(NamedTuple):
    """A piece of source text, what takes its place, and the test that must notice."""

    file: str
    text: str
    broken: str
    notices: str


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
        "gauge_q, gauge_q_s = read_table(table, COLUMN.wheel_strength, x0, inv, pt.gx)",
        "gauge_q, gauge_q_s = read_table(table, COLUMN.strength, x0, inv, pt.hx)",
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
        "sim/laws/wheel_soil.py", " - full * strength_rate * share", "", AGREE
    ),
    "no turning inertia of the bell crank": Fault(
        "sim/model.py", "bell_inertia=link.bell_inertia", "bell_inertia=0.0", AGREE
    ),
}


def run(folder: Path, *tests: str) -> subprocess.CompletedProcess[str]:
    """Run tests on a copy as plain Python."""
    paths = (folder, (folder / UNITS).parent)
    return subprocess.run(
        [sys.executable, "-B", "-m", "pytest", "-q", "-x", "--rootdir", str(folder), "-p", "no:cacheprovider", *tests],
        cwd=folder, capture_output=True, text=True, timeout=200, check=False,
        env={**os.environ, "NUMBA_DISABLE_JIT": "1", "PYTHONPATH": os.pathsep.join(map(str, paths))},
    )  # fmt: skip


def on_a_copy(folder: Path, fault: Fault | None) -> subprocess.CompletedProcess[str]:
    """Copy the sources and the tests, put the fault in, and run the test that must notice it."""
    shutil.copytree(ROOT / "sim", folder / "sim", ignore=shutil.ignore_patterns("__pycache__"))
    (folder / INSTANT).parent.mkdir(parents=True)
    (folder / UNITS).parent.mkdir(parents=True)
    for test in (INSTANT, UNITS):
        shutil.copy(ROOT / test, folder / test)
    if fault is None:
        return run(folder, AGREE, NITROGEN)
    source = folder / fault.file
    sound = source.read_text(encoding="utf-8")
    assert sound.count(fault.text) == 1, f"{fault.file} no longer holds what this test breaks: {fault.text}"
    source.write_text(sound.replace(fault.text, fault.broken), encoding="utf-8")
    return run(folder, fault.notices)


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
    assert "7 passed" in result.stdout


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_noticed(outcomes, name):
    result = outcomes[name].result()
    assert result.returncode == 1, result.stdout + result.stderr  # tests ran, and one failed
    assert "AssertionError" in result.stdout
    assert FAULTS[name].notices.split("::")[1] in result.stdout
