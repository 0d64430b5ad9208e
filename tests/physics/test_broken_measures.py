"""Measures and warnings broken on purpose must be noticed: each fault is put into a copy, and a test fails on it.

As `test_broken_physics` does for the physics. What eight rows are summed up by is compiled, all else runs as plain
Python.
"""

from __future__ import annotations

import pytest
from broken import Fault, check_noticed, copied, outcomes_of, run

EXACT = "tests/unit/analysis/crossing/test_exact_bounds.py"
SUMS = "tests/unit/analysis/rows/test_sums.py"
WORST = "tests/unit/analysis/window/test_worst_ground.py"
HEEDS = "tests/unit/sim/test_heeds.py"
STEPS = "tests/unit/sim/test_step_choice.py"
CELLS = "tests/unit/analysis/window/test_warnings.py"
BARRED = f"{CELLS}::test_what_is_not_to_be_trusted_is_never_picked"
PLACES = f"{CELLS}::test_the_document_holds_them_by_cell"
ROWS = "tests/unit/analysis/paddock/test_row_warnings.py::test_rows_are_counted_and_the_worst_is_named"
UNBROKEN = (EXACT, SUMS, WORST, HEEDS, STEPS, BARRED, PLACES, ROWS)


FAULTS = {
    "a depth at the tolerance is off, in runs": Fault(
        "analysis/crossing/depth.py",
        "return float(np.mean(np.abs(depth_error(run)) <= tolerance))",
        "return float(np.mean(np.abs(depth_error(run)) < tolerance))",
        EXACT,
    ),
    "a depth at the tolerance is off, in the measures of a run": Fault(
        "analysis/crossing/depth.py",
        "share = float(np.mean(np.abs(error) <= tolerance))",
        "share = float(np.mean(np.abs(error) < tolerance))",
        EXACT,
    ),
    "a depth at the tolerance is off, in rows": Fault(
        "analysis/rows/sums.py", "magnitude(error) <= tolerance", "magnitude(error) < tolerance", SUMS, compiled=True
    ),
    "episodes of a metre": Fault("analysis/crossing/events.py", "LEAST = 0.10", "LEAST = 1.00", EXACT),
    "longer episodes": Fault("analysis/crossing/events.py", "LEAST = 0.10", "LEAST = 0.12", EXACT),
    "longer contact bridged": Fault("analysis/crossing/events.py", "GAP = 0.05", "GAP = 0.08", EXACT),
    "episodes a step too long": Fault(
        "analysis/crossing/episodes.py", "float(last - first) * travel", "float(last - first + 1) * travel", EXACT
    ),
    "the first ground that fails, not the worst": Fault(
        "analysis/window/sure/outward.py", "for k in range(1, len(laid))", "for k in range(1, 1)", WORST
    ),
    "no word on the range of the gas law": Fault("sim/heeds.py", "        _gas_range(s, met),\n", "", HEEDS),
    "no word on a lost press wheel": Fault(
        "sim/heeds.py", '        _wheel("press"', '        0 and _wheel("press"', HEEDS
    ),
    "a lost wheel is trusted": Fault(
        "sim/heeds.py",
        'Heed(f"{name}_lost", text, squash, barred=True)',
        'Heed(f"{name}_lost", text, squash)',
        HEEDS,
    ),
    "an open energy balance is trusted": Fault(
        "sim/heeds.py", "        met.energy_share,\n        barred=True,", "        met.energy_share,", HEEDS
    ),
    "an open energy balance is told from a tenth on": Fault(
        "sim/heeds.py", "OPEN_SHARE = 1e-3", "OPEN_SHARE = 1e-1", HEEDS
    ),
    "steps that ignore the tyre's damping": Fault(
        "sim/laws/wheel_soil.py", "    softness = 1.0 / tyre_c\n", "    softness = 1.0 / 1500.0\n", STEPS
    ),
    "what is not to be trusted is picked": Fault(
        "analysis/window/limits.py", "crossed.all(axis=2) & window.trusted()", "crossed.all(axis=2)", BARRED
    ),
    "warnings of cells are left out of the document": Fault(
        "analysis/window/document.py", "sorted(window.heeds.items())", "sorted({}.items())", PLACES
    ),
    "place of the largest squash of another section": Fault(
        "analysis/rows/reduced.py",
        "self.values[WITH_HIGHEST[name]].argmax(axis=0)",
        "value.argmin(axis=0)",
        f"{SUMS}::test_the_place_of_the_worst_section_goes_with_its_squash",
    ),
    "rows of a paddock that warn are not counted": Fault(
        "analysis/paddock/heeds.py", "rows=old.rows + new.rows", "rows=new.rows", ROWS
    ),
}


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    """What the tests say of every fault; two at a time."""
    return outcomes_of(FAULTS, tmp_path_factory.mktemp("broken"))


def test_nothing_is_noticed_in_an_unbroken_copy(tmp_path):
    copied(tmp_path, UNBROKEN)
    for compiled in (False, True):
        tests = [name for name in UNBROKEN if (name == SUMS) is compiled]
        result = run(tmp_path, *tests, compiled=compiled)
        assert result.returncode == 0, result.stdout + result.stderr


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_noticed(outcomes, name):
    check_noticed(outcomes[name], FAULTS[name])
