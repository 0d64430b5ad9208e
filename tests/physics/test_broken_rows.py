"""What only shows in compiled code, broken on purpose: stones met by rows and alone, the toolbar's axles, hard tables.

As `test_broken_physics` does for the rest of the physics; each copy is compiled anew, which takes most of the time.
"""

from __future__ import annotations

import pytest
from broken import Fault, check_noticed, outcomes_of

MET = "tests/unit/sim/march/test_stones_met.py"
ALONE = f"{MET}::test_a_row_alone_meets_each_stone_with_its_disc"
TOGETHER = f"{MET}::test_rows_together_meet_each_stone_with_their_discs"
OWN_ARM = "tests/unit/sim/toolbar/test_path.py::test_a_push_on_an_axle_turns_the_bar_by_that_axles_own_arm"
MACHINE = "tests/unit/sim/toolbar/test_roll.py::test_the_front_axle_of_a_machine_stands_in_front"
BESIDE = "tests/unit/sim/laws/test_hard_profile.py::test_beside_stones_the_hard_profile_falls_away_and_stays_there"

FAULTS = {
    "the stone met is read at the gauge wheel": Fault(
        "sim/march/loop.py",
        "j = min(max(int((pt.hx - x0) * inv + 0.5), 0)",
        "j = min(max(int((pt.gx - x0) * inv + 0.5), 0)",
        ALONE,
    ),
    "the stone met is read at the press wheel": Fault(
        "sim/march/loop.py",
        "j = min(max(int((pt.hx - x0) * inv + 0.5), 0)",
        "j = min(max(int((pt.px - x0) * inv + 0.5), 0)",
        ALONE,
    ),
    "stones that stay as they are, of a row alone": Fault(
        "sim/march/loop.py",
        "beyond its strength\n            sunk = max(sunk, f.penetration - m.rock_limit)",
        "beyond its strength",
        ALONE,
    ),
    "the toolbar's axles swapped in the moment in pitch": Fault(
        "sim/toolbar/parts.py",
        "[bar.axle_front, -bar.axle_rear]",
        "[bar.axle_rear, -bar.axle_front]",
        OWN_ARM,
        compiled=True,
    ),
    "the toolbar's ground read at the other axle's distance": Fault(
        "sim/toolbar/path.py",
        "(bar.axle_front, -bar.axle_rear)",
        "(bar.axle_rear, -bar.axle_front)",
        MACHINE,
        compiled=True,
    ),
    "a machine's axles swapped": Fault(
        "sim/toolbar/roll.py",
        "[bar.axle_front] * len(front) + [-bar.axle_rear] * len(rear)",
        "[bar.axle_rear] * len(front) + [-bar.axle_front] * len(rear)",
        MACHINE,
        compiled=True,
    ),
    "no floor under the hard table": Fault(
        "sim/laws/hard_profile.py",
        "hard[i] = max(highest - rise * i, lowest)",
        "hard[i] = highest - rise * i",
        BESIDE,
        compiled=True,
    ),
}

BY_HAND = {
    "the stone met is read at the gauge wheel, in rows": Fault(
        "sim/march/march_rows.py", "which, pt.hx, x0, inv)", "which, pt.gx, x0, inv)", TOGETHER, compiled=True
    ),
    "stones that never sink when rows march together": Fault(
        "sim/march/march_rows.py",
        "ys, ground, x0, inv, sink, lift)",
        "ys, ground, x0, inv, sink * 0.0, lift)",
        TOGETHER,
        compiled=True,
    ),
}
"""These compile the rows' march anew, a minute each: `python -m tests.physics.broken_laws --only rows`."""


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    """What the tests say of every fault; two at a time."""
    return outcomes_of(FAULTS, tmp_path_factory.mktemp("broken"))


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_noticed(outcomes, name):
    check_noticed(outcomes[name], FAULTS[name])
