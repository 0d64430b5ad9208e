"""What a changed soil or ground does to the pick is told of the worst of the grounds, not of the first that fails."""

from __future__ import annotations

from dataclasses import replace

import invented
import numpy as np
import pytest

from analysis.rows.cells import Crossing
from analysis.window import robustness as searched
from analysis.window.pick import choose
from scenarios.load import load

GOOD = {
    "on_depth_share": 0.95, "wheel_off_share": 0.01, "gauge_load_mean": 700.0, "reached": 1.0, "distance": 300.0,
    "wheel_off_episodes": 1.0, "breakouts": 0.0, "setting_change": 0.0, "pin_peak": 9e3, "pressure_max": 70e5,
    "precharge_share": 0.6, "gas_squeeze": 2.0,
}  # fmt: skip


@pytest.fixture
def changed(monkeypatch):
    """Robustness of an invented window with the crossings of a changed soil put in: wheel off by seed at the pick."""

    def made(wheel_off, **others):
        window = invented.window((2, 1, 3))
        pick = choose(window)
        scenario = replace(load("rough"), limits=window.limits)
        asked = []

        def cross(scenario, laid, cells, unchanged, workers):
            (seed,) = (ground.seed for ground in laid)
            asked.append(([round(cell.settings.oil_pressure / 1e5) for cell in cells], seed))
            share = wheel_off[seed - 1]
            return [
                Crossing({**GOOD, "wheel_off_share": share if c.settings.oil_pressure == pick.oil_pressure else 0.5})
                for c in cells
            ]

        monkeypatch.setattr(searched, "cross_all", cross)
        monkeypatch.setattr(searched, "lay", lambda scenario, seeds: tuple(map(Ground, seeds)))
        monkeypatch.setattr(searched, "_changes", lambda scenario: [("strength_lower", "soft", lambda s: s, "")])
        (variant,) = searched.robustness(scenario, window, pick).variants
        return variant, asked, pick

    return made


class Ground:
    """A ground of which only the number is known."""

    def __init__(self, seed):
        self.seed = seed


def test_the_worst_of_the_grounds_is_told(changed):
    variant, asked, _ = changed((0.31, 0.01, 0.32))
    assert not variant.still_meets
    assert variant.fails == "wheel-off share 32 % (seed 3) against at most 2 %"
    assert [len(pressures) for pressures, _ in asked] == [2, 1, 1]  # another pressure is given up as before


def test_the_first_is_told_where_it_is_the_worst(changed):
    variant, _, _ = changed((0.40, 0.31, 0.32))
    assert variant.fails == "wheel-off share 40 % (seed 1) against at most 2 %"


def test_a_pick_that_meets_all_still_does(changed):
    variant, _, pick = changed((0.01, 0.015, 0.0))
    assert variant.still_meets
    assert variant.fails == ""
    assert np.isclose(variant.pick.oil_pressure, pick.oil_pressure)
