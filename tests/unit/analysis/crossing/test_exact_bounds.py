"""Where a bound lies exactly: depth at the tolerance, the length of an episode, contact that is bridged."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from analysis.crossing import events
from analysis.crossing.depth import depth_measures, on_depth_share
from analysis.crossing.episodes import episodes_from
from sim.unit import Settings

SET = 0.040


def test_a_depth_exactly_at_the_tolerance_is_on_depth():
    settings = Settings(set_depth=SET)
    for at in (0.0478125, 0.0321875):
        tolerance = abs(at - SET)
        beyond = SET + np.sign(at - SET) * tolerance * (1.0 + 1e-9)
        run = SimpleNamespace(series={"depth": np.array([at, SET, beyond, at])}, settings=settings)
        assert on_depth_share(run, tolerance) == 0.75
        assert depth_measures(run, tolerance).on_depth_share == 0.75


def test_an_episode_is_a_tenth_of_a_metre_and_contact_under_half_of_that_is_bridged():
    """In steps, whatever a step stands for: the fewest that cover 0.10 m and 0.05 m."""
    for travel, least, gap in ((0.005, 20, 10), (0.010, 10, 5), (0.0033, 31, 16), (0.0083, 13, 7), (0.11, 1, 1)):
        r = events.rules(travel, 0.010, 1e-3, 0.1)
        assert (r.least, r.gap) == (least, gap)
        assert r.before == int(0.30 / travel + 1e-9)


def test_the_length_of_an_episode_is_from_its_first_step_to_the_end_of_its_last():
    (found,) = episodes_from(np.array([[0.0, 100.0, 133.0, 0.5025, 0.015, 0.018, 10.0, 3.0]]), 0.005)
    assert (found.first, found.last) == (100, 133)
    assert found.length == pytest.approx(0.165)
    assert found.shallow == pytest.approx(0.05)
    assert (found.start, found.rise, found.gap, found.cause) == (0.5025, 0.015, 0.018, "too_hard")
