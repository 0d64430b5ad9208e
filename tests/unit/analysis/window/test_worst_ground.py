"""What a changed soil or ground does to the pick is told of the worst of the grounds, not of the first that fails."""

from __future__ import annotations

from dataclasses import replace

import invented
import numpy as np
import pytest

from analysis.rows.cells import Crossing
from analysis.window import robustness as searched
from analysis.window.pick import choose
from analysis.window.sure import column
from scenarios.load import load

GOOD = {
    "on_depth_share": 0.95, "wheel_off_share": 0.01, "gauge_load_mean": 700.0, "reached": 1.0, "distance": 300.0,
    "wheel_off_episodes": 1.0, "breakouts": 0.0, "setting_change": 0.0, "pin_peak": 9e3, "pressure_max": 70e5,
    "precharge_share": 0.6, "gas_squeeze": 2.0,
}  # fmt: skip


@pytest.fixture
def changed(monkeypatch):
    """Robustness of an invented window with the crossings of a changed soil put in: wheel off by seed at the pick."""

    def made(wheel_off):
        window = invented.window((2, 1, 3))
        pick = choose(window)
        scenario = replace(load("rough"), limits=window.limits)
        asked = []

        def cross(scenario, laid, cells, unchanged, workers):
            asked.extend((laid[cell.ground].seed, round(cell.settings.oil_pressure / 1e5)) for cell in cells)
            return [
                Crossing({**GOOD, "wheel_off_share": wheel_off[laid[c.ground].seed - 1] if at_pick(c) else 0.5})
                for c in cells
            ]

        def at_pick(cell):
            return cell.settings.oil_pressure == pick.oil_pressure

        monkeypatch.setattr(column, "cross_or_find", cross)
        monkeypatch.setattr(searched, "lay_from", lambda scenario, seeds, _: tuple(map(Ground, seeds)))
        monkeypatch.setattr(searched, "DOUBTFUL", [one for one in searched.DOUBTFUL if one.name == "edge_width"])
        (one,) = searched.robustness(scenario, window, pick, 1).trials
        return one.low.found, asked, pick

    return made


class Ground:
    """A ground of which only the number is known."""

    def __init__(self, seed):
        self.seed = seed


def wheel_off(found):
    assert found.kept.check.limit.key == "wheel_off_share_max"
    return found.kept.check.value, found.kept.check.seed


def test_the_worst_of_the_grounds_is_told(changed):
    found, asked, pick = changed((0.31, 0.01, 0.32))
    assert not found.still_meets
    assert wheel_off(found) == (0.32, 3)
    first = choose(invented.window((2, 1, 3))).checks[0].seed
    others = [seed for seed, bars in asked if bars != round(pick.oil_pressure / 1e5)]
    assert set(others) == {first}, "a pressure that fails on the first ground is given up there"


def test_the_first_is_told_where_it_is_the_worst(changed):
    found, _, _ = changed((0.40, 0.31, 0.32))
    assert wheel_off(found) == (0.40, 1)


def test_a_pick_that_meets_all_still_does(changed):
    found, _, pick = changed((0.01, 0.015, 0.0))
    assert found.still_meets
    assert np.isclose(found.pick.oil_pressure, pick.oil_pressure)
