"""What is believed about values in doubt, and the sets drawn from it."""

from __future__ import annotations

from dataclasses import fields, replace

import numpy as np
import pytest
from doubted import known_but, uncertain

from scenarios.doubt.belief import RANGE, belief, draws
from scenarios.doubt.doubtful import BY_NAME, DOUBTFUL, PLUS
from scenarios.doubt.keys import BY_KEY, allowed, default_of, key_of, value_at
from scenarios.doubt.prior import Prior
from scenarios.doubt.varied import with_values, without_effect
from scenarios.load import load

STONY = load("stony")  # stones, roughness, strength that varies: every value may matter
ROUGH = load("rough")


def test_every_value_in_doubt_has_a_range_of_its_own_and_a_key_of_its_own():
    told = {item.name for item in fields(Prior)} - {"dig_error", "cone_factor", "cone_factor_times"}
    assert told == {one.field for one in DOUBTFUL}
    assert len(BY_KEY) == len(DOUBTFUL)
    assert BY_NAME["strength_scatter"].table == "soil"
    assert key_of(BY_NAME["strength_scatter"]) == "soil.variation_cv"
    assert key_of(BY_NAME["roughness"]) == "ground.roughness.gd_n0_m3"


@pytest.mark.parametrize("one", DOUBTFUL, ids=lambda one: one.name)
def test_the_default_of_a_value_and_its_usual_range_lie_within_what_the_key_may_hold(one):
    now = default_of(one.paths[0]) or value_at(STONY, one.paths[0])
    by, (low, high) = Prior().of(one), allowed(one.paths[0])
    ends = (now - by, now + by) if one.way == PLUS else (now / by, now * by)
    assert low <= ends[0] < now < ends[1] <= high


def test_a_belief_holds_what_the_prior_says_of_all_that_may_matter():
    found = belief(STONY)
    assert found.names == tuple(one.name for one in DOUBTFUL)
    assert not any(found.measured)
    assert found.centre[0] == STONY.soil.strength
    assert found.sd[0] == np.log(1.5) / 1.96
    k = found.names.index("sinkage_exponent")
    assert found.sd[k] == 0.15 / 1.96
    # downforce goes with the square of the bore, which is the value that is in doubt
    k = found.names.index("downforce")
    assert np.exp(RANGE * found.sd[k]) ** 2 == pytest.approx(1.05)
    assert np.array_equal(found.correlation, np.eye(len(DOUBTFUL)))


def test_what_is_known_or_cannot_matter_is_left_out():
    assert belief(replace(STONY, prior=known_but("edge_width", "soil_strength"))).names == (
        "soil_strength",
        "edge_width",
    )
    assert belief(replace(STONY, prior=known_but())).names == ()
    assert "stone_contact" not in belief(ROUGH).names
    assert without_effect(ROUGH, BY_NAME["stone_contact"])


def test_uncertain_stands_in_place_of_the_prior_and_what_it_does_not_name_is_known_but():
    told = uncertain(
        ("unit.disc.edge_width_mm", 5.0, 1.1), ("soil.strength_MPa", 1.2, 1.2), ("soil.sinkage_exponent", 0.6, 0.1),
        correlation=[[1, -0.6, 0.2], [-0.6, 1, 0], [0.2, 0, 1]],
    )  # fmt: skip
    found = belief(replace(STONY, uncertain=told))
    assert found.names == ("soil_strength", "sinkage_exponent", "edge_width")
    assert found.sd == pytest.approx([np.log(1.2) / 1.96, 0.1 / 1.96, np.log(1.1) / 1.96])
    assert found.correlation.tolist() == [[1, 0, -0.6], [0, 1, 0.2], [-0.6, 0.2, 1]]
    assert all(found.measured)


def test_amounts_are_in_the_files_units_and_a_difference_of_temperature_has_no_zero():
    told = uncertain(("settings.gas_temperature_degC", 20.0, 5.0), ("unit.gauge_wheel.arm_pivot_m", 0.0, 0.004))
    found = belief(replace(STONY, uncertain=told))
    assert dict(zip(found.names, found.sd * RANGE, strict=True)) == pytest.approx(
        {"wheel_place": 0.004, "gas_temperature": 5.0}
    )


def test_values_go_to_standard_deviations_and_back():
    found = belief(STONY)
    z = np.linspace(-3.0, 3.0, 4 * len(found.names)).reshape(4, -1)
    assert found.to_z(found.from_z(z)) == pytest.approx(z, abs=1e-9)
    assert np.array_equal(found.from_z(np.zeros(len(found.names))), found.centre)
    ends = found.from_z(np.full(len(found.names), RANGE))
    assert ends[0] == pytest.approx(1.5 * STONY.soil.strength)


# --- sets ---------------------------------------------------------------------------------------------------------


def test_sets_are_the_same_for_the_same_seed_and_others_for_another():
    found = belief(STONY)
    assert np.array_equal(draws(found, 32, 1), draws(found, 32, 1))
    assert not np.array_equal(draws(found, 32, 1), draws(found, 32, 2))


def test_a_value_more_or_less_in_doubt_changes_no_other():
    whole, part = draws(belief(STONY), 32, 1), draws(belief(replace(STONY, prior=known_but("edge_width"))), 32, 1)
    assert np.array_equal(whole[:, belief(STONY).names.index("edge_width")], part[:, 0])


@pytest.mark.parametrize("seed", range(4))
def test_few_sets_represent_each_value_and_hardly_go_together(seed):
    found = belief(STONY)
    z = found.to_z(draws(found, 32, seed))
    assert np.sort(np.argsort(np.argsort(z, axis=0), axis=0), axis=0).tolist() == [[k] * z.shape[1] for k in range(32)]
    between = np.sort(z, axis=0)[16] > 0.0
    assert between.all()
    assert (np.sort(z, axis=0)[15] < 0.0).all()
    assert np.abs(np.corrcoef(z.T) - np.eye(z.shape[1])).max() < 0.35  # plain draws: 0.5 to 0.6


def test_sets_hold_the_correlation():
    cases = [[1, 0.9, 0], [0.9, 1, 0.3], [0, 0.3, 1]], [[1, 1, 0], [1, 1, 0], [0, 0, 1]]
    for case in cases:
        told = uncertain(
            ("soil.strength_MPa", 1.2, 1.5), ("unit.disc.edge_width_mm", 5.0, 1.2), ("soil.variation_cv", 0.25, 1.3),
            correlation=case,
        )  # fmt: skip
        found = belief(replace(STONY, uncertain=told))
        z = found.to_z(draws(found, 4096, 3))
        order = [found.names.index(name) for name in ("soil_strength", "edge_width", "strength_scatter")]
        assert np.corrcoef(z.T)[np.ix_(order, order)] == pytest.approx(np.array(case, dtype=float), abs=0.03)
        assert z.std(axis=0) == pytest.approx(np.ones(3), abs=0.02)


def test_with_fewer_sets_than_values_each_still_covers_its_range():
    z = belief(STONY).to_z(draws(belief(STONY), 4, 1))
    assert ((z < 0.0).sum(axis=0) == 2).all()


# --- a scenario with them -------------------------------------------------------------------------------------------


def test_several_values_at_once_and_none_is_the_scenario_itself():
    made = with_values(STONY, {"soil_strength": 2e6, "edge_width": 0.004, "boot_force": 500.0})
    assert (made.soil.strength, made.unit.disc.edge_width, made.unit.disc.boot_vertical) == (2e6, 0.004, 500.0)
    share = 500.0 / STONY.unit.disc.boot_vertical
    assert made.unit.disc.boot_draught == pytest.approx(share * STONY.unit.disc.boot_draught)
    found = belief(STONY)
    assert with_values(STONY, dict(zip(found.names, found.centre.tolist(), strict=True))) is STONY
    with pytest.raises(KeyError, match="strenght"):
        with_values(STONY, {"strenght": 1.0})


def test_a_value_is_cut_at_what_its_key_may_hold():
    assert with_values(STONY, {"strength_scatter": 0.9}).variation.variation_cv == 0.6
    assert with_values(STONY, {"speed_term": -0.01}).soil.speed_factor == 0.0


def test_moduli_beside_another_exponent_are_those_at_the_files_own():
    both = with_values(STONY, {"sinkage_exponent": 0.7, "sinkage_moduli": 2.0 * STONY.soil.frictional_modulus})
    one = with_values(STONY, {"sinkage_exponent": 0.7})
    assert both.soil.frictional_modulus == pytest.approx(2.0 * one.soil.frictional_modulus)
    assert both.soil.cohesive_modulus == pytest.approx(2.0 * one.soil.cohesive_modulus)
