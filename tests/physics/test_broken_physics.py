"""Physics broken on purpose must be noticed: each fault below is put into a copy of the sources, and a test fails.

The copies run in a process of their own, as plain Python unless a test needs compiled code. The same tests pass on an
unbroken copy.
"""

from __future__ import annotations

import pytest
from broken import Fault, check_noticed, copied, outcomes_of, run

INSTANT = "tests/physics/test_second_engine_instant.py"
AGREE = f"{INSTANT}::test_both_agree_at_any_instant"
NITROGEN = f"{INSTANT}::test_the_gas_spring_of_a_run_is_nitrogen"
STONE = "tests/unit/sim/laws/test_stone.py::test_a_blow_is_that_of_the_closed_form"
SINKS = "tests/unit/sim/hydraulics/test_oil.py::test_a_stone_gives_way_at_its_strength"
HARD = "tests/unit/sim/laws/test_hard_profile.py::test_hard_profile_without_stones_is_out_of_reach"
WARM = "tests/unit/sim/test_setting.py::test_the_gas_starts_at_its_working_temperature"
AXLES = "tests/unit/sim/toolbar/test_path.py::test_the_front_axle_stands_in_front"
UNION = "tests/physics/test_stones.py::test_wheels_disc_and_depth_feel_a_stone"


FAULTS = {
    "sign in a pin equation": Fault(
        "sim/mechanism/pins.py", "rf_x, rf_z = mr_x + rr_x, mr_z + rr_z", "rf_x, rf_z = mr_x - rr_x, mr_z + rr_z", AGREE
    ),
    "no mass in the main links": Fault("sim/model.py", "link_mass=k.mass,", "link_mass=0.0,", AGREE),
    "no Jacobian of the depth linkage's drift": Fault(
        "sim/mechanism/bodies.py", "gx_t = k.u1x_t - k.beta_t * reach * k.gz", "gx_t = k.u1x_t", AGREE
    ),
    "ideal gas for nitrogen": Fault("sim/laws/gas.py", '"real": NITROGEN', '"real": IDEAL', NITROGEN),
    "no Coriolis acceleration of the main links": Fault(  # 2p′θ′ of (p′ − θ′)²; p′² is far smaller
        "sim/mechanism/bodies.py", "turn = rate - om", "turn = -om", AGREE
    ),
    "rolling resistance that pushes": Fault(
        "sim/laws/wheel_soil.py", "f_x = -load * (slope + resistance)", "f_x = -load * (slope - resistance)", AGREE
    ),
    "wheels that do not feel the soil's strength": Fault(
        "sim/laws/wheel_soil.py", "static = full * strength", "static = full", AGREE
    ),
    "soil under the disc for that under the gauge wheel": Fault(
        "sim/march/instant.py",
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
        "beyond its strength\n            sunk = max(sunk, f.penetration - m.rock_limit)",
        "beyond its strength",
        SINKS,
    ),
    "giving way never told": Fault(
        "sim/march/instant.py", "stone_gives_way=largest(f.gives_way, gave)", "stone_gives_way=0.0 * gave", SINKS
    ),
    "giving way always told": Fault(
        "sim/march/instant.py", "stone_gives_way=largest(f.gives_way, gave)", "stone_gives_way=1.0 + 0.0 * gave", SINKS
    ),
    "hard contact where no stone is": Fault(
        "sim/laws/hard_profile.py", "hard, which = np.full(ground.size, lowest)", "hard, which = ground - 0.2", HARD
    ),
    "hard contact where no stone is, in tables": Fault(
        "sim/ground_tables.py",
        "keepdims=True) - (disc + OUT_OF_REACH)",
        "keepdims=True)",
        "tests/unit/sim/march/test_stacked.py::test_a_table_holds_its_columns_in_their_order",
        compiled=True,
    ),
    "a gauge wheel that does not feel stones": Fault(
        "sim/ground_tables.py",
        "envelope(surface, dx, unit.gauge_wheel.radius)",
        "envelope(ground, dx, unit.gauge_wheel.radius)",
        f"{UNION}[gauge]",
        compiled=True,
    ),
    "gas that starts at 20 °C whatever its temperature": Fault(
        "sim/run.py", "rest.dg, rest.dp, m.wall, 0.0)", "rest.dg, rest.dp, 293.15, 0.0)", WARM
    ),
    "the toolbar's axles swapped": Fault(
        "sim/toolbar/path.py",
        "(bar.axle_front, -bar.axle_rear)",
        "(-bar.axle_rear, bar.axle_front)",
        AXLES,
        compiled=True,
    ),
    "a press wheel that does not feel stones": Fault(
        "sim/ground_tables.py",
        "envelope(surface, dx, unit.press_wheel.radius)",
        "envelope(ground, dx, unit.press_wheel.radius)",
        f"{UNION}[press]",
        compiled=True,
    ),
}


UNBROKEN = (AGREE, NITROGEN, STONE, SINKS, HARD, WARM)


@pytest.fixture(scope="module")
def outcomes(tmp_path_factory):
    """What the tests say of every fault; two at a time."""
    return outcomes_of(FAULTS, tmp_path_factory.mktemp("broken"))


def test_nothing_is_noticed_in_an_unbroken_copy(tmp_path):
    copied(tmp_path, UNBROKEN)
    result = run(tmp_path, *UNBROKEN, compiled=False)
    assert result.returncode == 0, result.stdout
    assert "16 passed" in result.stdout


@pytest.mark.parametrize("name", FAULTS)
def test_a_fault_is_noticed(outcomes, name):
    check_noticed(outcomes[name], FAULTS[name])
