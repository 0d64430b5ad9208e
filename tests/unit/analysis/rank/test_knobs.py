"""What is varied: every numeric key of unit, soil and settings, what moves together, what is believed."""

from __future__ import annotations

import numpy as np
import pytest

from analysis.rank.knobs import GROUPS, Refused, every_doubt, every_key, groups_of
from scenarios.changed.numeric_keys import numeric_keys
from scenarios.depth_linkage import drift_range
from scenarios.doubt.varied import HELD_AT
from scenarios.load import load
from scenarios.together import MOVES
from sim.unit import Soil


@pytest.fixture(scope="module")
def scenario():
    return load("rough")


def at(within, **moved):
    """The scenario with named knobs at a place of their ranges, the others in the middle."""
    point = np.full(len(within.knobs), 0.5)
    names = [knob.name for knob in within.knobs]
    for name, u in moved.items():
        point[names.index(name.replace("__", "."))] = u
    return within.at(point)


def test_every_numeric_key_is_varied_moves_with_another_or_is_left_out_with_a_reason(scenario):
    within, left = every_key(scenario, 0.1)
    named = [name for knob in within.knobs for name in (knob.name, *knob.members)]
    told = {*named, *(one.name for one in left)}
    numbers = numeric_keys(scenario)
    assert len(numbers) > 140
    alone = {key.name for key in numbers if not key.whole and not key.together}
    assert alone <= told
    members = {key.name for key in numbers if key.together}
    assert members <= {member for move in MOVES.values() for member in move.members}
    assert all(one.why for one in left)
    assert len({knob.name for knob in within.knobs}) == len(within.knobs)


def test_ranges_are_that_share_of_the_value_cut_where_the_key_ends(scenario):
    within, _ = every_key(scenario, 0.1)
    by_name = {knob.name: knob for knob in within.knobs}
    edge = by_name["unit.disc.edge_width_mm"]
    assert (edge.low, edge.value, edge.high) == pytest.approx((4.5, 5.0, 5.5))
    hub = by_name["unit.disc.hub_m.z"]
    assert (hub.low, hub.high) == pytest.approx((-0.605, -0.495))  # of a value below zero too
    wide, _ = every_key(scenario, 0.5)
    assert next(knob for knob in wide.knobs if knob.name == "soil.sinkage_exponent").high == pytest.approx(0.9)
    tilt = next(knob for knob in wide.knobs if knob.name == "unit.main_links.stop_up_deg")
    assert tilt.high == pytest.approx(min(42.0, np.degrees(1.2)))


def test_parts_of_the_parallelogram_move_together_and_the_depth_does_not_drift(scenario):
    within, _ = every_key(scenario, 0.1)
    arm = next(knob for knob in within.knobs if knob.name == "together.arm_m")
    assert arm.members == ("unit.main_links.length_m", "unit.depth_linkage.rod_m")
    longer = within.only([within.knobs.index(arm)]).at(np.array([1.0]))
    assert longer.unit.main_links.length == pytest.approx(0.605)
    assert longer.unit.depth_linkage.rod == longer.unit.main_links.length
    own, now = (max(map(abs, drift_range(one.unit, 0.04))) for one in (scenario, longer))
    assert now == pytest.approx(own, abs=1e-6)


def test_another_sinkage_exponent_leaves_the_pressure_at_ten_millimetres(scenario):
    within, _ = every_key(scenario, 0.1)
    number = next(i for i, knob in enumerate(within.knobs) if knob.name == "soil.sinkage_exponent")
    other = within.only([number]).at(np.array([1.0])).soil
    assert other.sinkage_exponent == pytest.approx(0.66)

    def pressure(soil: Soil) -> float:
        return (soil.cohesive_modulus / 0.1 + soil.frictional_modulus) * HELD_AT**soil.sinkage_exponent

    assert pressure(other) == pytest.approx(pressure(scenario.soil), rel=1e-12)


def test_what_the_files_checks_refuse_is_refused(scenario):
    within, _ = every_key(scenario, 0.5)
    with pytest.raises(Refused, match=r"stop_arm_m|angle_nominal|cylinder"):
        at(within, unit__cylinder__arm_m=1.0, together__arm_m=0.0)


def test_what_is_believed_is_the_file_at_its_middle(scenario):
    believed, left = every_doubt(scenario)
    assert [one.name for one in left] == ["stones.contact.stiffness_MN_per_m"]
    assert "no stones" in left[0].why
    assert believed.at(np.full(len(believed.knobs), 0.5)) == scenario
    strength = next(i for i, knob in enumerate(believed.knobs) if knob.name == "soil.strength_MPa")
    alone = believed.only([strength])
    assert alone.at(np.array([0.975])).soil.strength == pytest.approx(1.5 * scenario.soil.strength, rel=1e-4)
    assert alone.knobs[0].high == pytest.approx(1.8)


def test_every_knob_has_a_group_and_all_groups_are_met(scenario):
    for varied, _ in (every_key(scenario, 0.1), every_doubt(scenario)):
        groups = groups_of(varied.knobs)
        assert sorted(i for numbers in groups.values() for i in numbers) == list(range(len(varied.knobs)))
    within, _ = every_key(scenario, 0.1)
    assert tuple(groups_of(within.knobs)) == GROUPS
    of = {knob.name: knob.group for knob in within.knobs}
    assert of["settings.precharge_bar"] == of["unit.accumulator.volume_l"] == "gas"
    assert of["unit.gauge_wheel.tyre_stiffness_kN_per_m"] == "tyres"
    assert of["soil.variation_cv"] == "soil and ground"
