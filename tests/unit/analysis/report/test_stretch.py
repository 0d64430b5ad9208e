"""The stretch that a page shows: crossed no further than is needed, and yet what a whole crossing has there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from invented import short_scenario

from analysis.crossing.breakouts import breakouts
from analysis.crossing.loads import pin_loads
from analysis.drawn.samples import sampled
from analysis.pins.wear.told import told_pins
from analysis.report.lead import LENGTH, lead_of
from analysis.report.stretch import cross_stretch
from analysis.window.cross_grid import search
from analysis.window.pick import choose
from analysis.window.pins_at import pins_at
from sim.run import simulate


@pytest.fixture(scope="module")
def scenario():
    return short_scenario("stony", 90.0)


@pytest.fixture(scope="module")
def window(scenario):
    return search(scenario, [50.0, 70.0], [6.5, 9.0], [8, 4], workers=1)  # worst in the middle


def crossing(scenario, window, i, j, seed):
    settings = replace(
        scenario.settings, oil_pressure=float(window.pressures[i]), speed=float(window.speeds[j]), setting="redone"
    )
    return simulate(scenario.unit, scenario.soil, scenario.track(seed), settings)


def test_what_is_shown_is_part_of_the_whole_crossing(scenario, window):
    found = choose(window)
    lead = lead_of(scenario, window, found)
    assert lead.last - lead.first == LENGTH
    assert lead.last < scenario.x_to - 5.0, "the stretch has to end before the ground does"
    told = []
    cells = cross_stretch(scenario, window, (found.i, found.j), lead, 1, lambda *done: told.append(done))
    assert told == [(k, 4) for k in (2, 3, 4)]
    for i in range(2):
        for j in range(2):
            whole = sampled(
                crossing(scenario, window, i, j, window.seeds[0]), lead.first, lead.last,
                scenario.limits.depth_tolerance,
            )  # fmt: skip
            cell = cells[i, j]
            assert set(cell.samples) == set(whole.samples)
            for name, values in whole.samples.items():
                np.testing.assert_array_equal(cell.samples[name], values, err_msg=name)
            assert (cell.on_depth_share, cell.wheel_off_share) == (whole.on_depth_share, whole.wheel_off_share)
            assert (cell.crank_angle, cell.set_load) == (whole.crank_angle, whole.set_load)


def test_one_crossing_serves_all_that_is_told_of_the_setting(scenario, window):
    found = choose(window)
    lead = lead_of(scenario, window, found)
    run = crossing(scenario, window, found.i, found.j, window.seeds[0])
    assert lead.breakouts == breakouts(run, scenario.limits.depth_tolerance)
    assert len(lead.breakouts) > 0
    assert lead.loads == pin_loads(run)
    at = replace(scenario, settings=run.settings)
    assert lead.wear.of.name == told_pins(at, run).of.name
    known = pins_at(scenario, window.seeds, found, 1, lead.loads)
    assert dict(known) == dict(pins_at(scenario, window.seeds, found, 1))
    assert any(known[name].peak > lead.loads[name].peak for name in known), "the second ground has to count too"


def test_a_setting_that_the_window_could_not_cross_is_crossed_to_where_it_ends(scenario, window, monkeypatch):
    """It is not drawn as if it could be, though the stretch lies ahead of where it fails."""
    found = choose(window)
    lead = lead_of(scenario, window, found)
    lost = next((i, j) for i in range(2) for j in range(2) if (i, j) != (found.i, found.j))
    ends = {}

    def noted(unit, soil, track, settings, **more):
        ends[settings.oil_pressure, settings.speed] = track.x_to
        return simulate(unit, soil, track, settings, **more)

    monkeypatch.setattr("analysis.report.stretch.simulate", noted)
    cross_stretch(scenario, replace(window, problems={(*lost, 0): "why"}), (found.i, found.j), lead, 1)
    far = {key for key, end in ends.items() if end == scenario.x_to}
    assert far == {(float(window.pressures[lost[0]]), float(window.speeds[lost[1]]))}
    assert len(ends) == 3
