"""What the doubt about the pick's room goes with, and what readings take off it: against cases with a known answer."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.stats import spearmanr

from analysis.fit.following.candidates import candidates
from analysis.fit.following.largest import largest, shares
from analysis.fit.following.measure_next import told_apart
from scenarios.load import load

RNG = np.random.default_rng(4)


def test_shares_are_squared_rank_correlations():
    values = RNG.standard_normal((60, 3))
    room = np.exp(values[:, 0]) - 0.5 * values[:, 2] + 0.1 * RNG.standard_normal(60)
    wanted = [spearmanr(values[:, k], room).statistic ** 2 for k in range(3)]
    np.testing.assert_allclose(shares(values, room), wanted, rtol=1e-12)


def test_the_largest_is_named_and_fields_that_could_not_be_crossed_are_left_out():
    values = RNG.standard_normal((48, 2))
    room = -values[:, 1] + 0.2 * values[:, 0]
    room[:5] = -np.inf
    most = largest(("soil_strength", "roughness"), values, room)
    assert most.doubtful.name == "roughness"
    assert most.share > 0.8
    assert largest((), np.zeros((48, 0)), room) is None
    assert shares(values, np.ones(48)).tolist() == [0.0, 0.0]


def test_readings_of_the_room_itself_take_off_what_theory_says():
    """Room N(0, 1) read with an error of 0.5: what is left is 0.5/√1.25; 400 fields stand for the whole."""
    true = RNG.standard_normal(400)
    told = told_apart(true[:, None], true, np.array([[0.5]]))
    assert told == pytest.approx(1.0 - 0.5 / np.sqrt(1.25), abs=0.03)


def test_a_room_with_its_top_at_the_fit_is_learned_too():
    """Both ways from the middle the room falls: a slope there is 0, yet the reading tells nearly all."""
    x = RNG.standard_normal(400)
    assert told_apart(x[:, None], -np.abs(x), np.array([[0.05]])) > 0.8


def test_readings_that_have_nothing_to_do_with_it_take_nothing_off():
    told = told_apart(RNG.standard_normal((200, 1)), RNG.standard_normal(200), np.array([[1.0]]))
    assert told < 0.03


def test_no_job_asks_for_a_pressure_that_no_search_may_pick():
    """24 bar of nitrogen suits 32.7 to 50.9 bar of oil; 12 rows of 3000 kg hold 250 kgf each, 71.8 bar."""
    rough = load("rough", changes={"search.pressures_bar": [30, 35, 50, 55, 80]})
    asked = {p / 1e5 for one in candidates(rough, ()) for p, _ in driven(one)}
    assert asked == {35.0, 40.0, 50.0}  # 40: the file's own, dug beside another
    free = {"limits.precharge_share_max": 100, "limits.gas_squeeze_max": 100}
    heavy = load("rough", changes={"search.pressures_bar": [30, 70, 80], "machine.rows": 12, **free})
    assert {p / 1e5 for one in candidates(heavy, ()) for p, _ in driven(one)} == {30.0, 40.0, 70.0}


def driven(one):
    """Pressures and speeds of a job that is driven."""
    return [(r.oil_pressure, r.speed) for r in one.readings if r.kind.crosses]
