"""The time step follows what is marched: it is the usual one for what is usual, and holds what is stiff."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import synthetic_ground

from analysis.crossing.peaks import peaks
from analysis.rows import fields
from analysis.rows.cells import Laid
from analysis.rows.crossings import cross_rows
from analysis.rows.together import Row
from scenarios.load import load
from sim.heeds import OPEN_SHARE
from sim.laws.stops import HELD
from sim.march.rows import Case
from sim.run import simulate
from sim.step import Step, choose_step, usual_step
from sim.unit import Cylinder, GaugeWheel, MainLinks, PressWheel, Rock, Settings, Soil, Toolbar, Unit

KMH = 1 / 3.6
SETTINGS = Settings(speed=8 * KMH)
STIFF = {
    "gauge tyre's damping": Unit(gauge_wheel=GaugeWheel(tyre_damping=50.0)),
    "press tyre's stiffness": Unit(press_wheel=PressWheel(stiffness=5e6)),
    "press arm's damping": Unit(press_wheel=PressWheel(damping=1e3)),
    "line's resistance": Unit(cylinder=Cylinder(line=1e12)),
}


def ground():
    """Rough ground, 20 m."""
    return synthetic_ground.rough(20.0, 1024e-6, 3)


@pytest.mark.parametrize("name", STIFF)
def test_what_is_stiff_is_marched_as_at_an_eighth_of_the_step(name):
    """Wheel-off and on-depth shares within a point, loads within 2 %: the bounds of what a window tells."""
    unit, step = STIFF[name], choose_step(STIFF[name], Soil(), Rock(), SETTINGS)
    assert step.shorter > 1.2
    found = []
    for parts in (1, 8):
        run = simulate(unit, Soil(), ground(), SETTINGS, step=step.seconds / parts)
        off, error = run.series["gauge_load"] <= 0.0, run.series["depth"] - SETTINGS.set_depth
        found.append((off.mean(), (np.abs(error) <= 0.01).mean(), run.series["gauge_load"].mean(),
                      run.series["press_load"].mean(), *np.sqrt((run.pins**2).sum(axis=2).mean(axis=0))))  # fmt: skip
        assert run.energy.sampled_share < 1e-4
    chosen, fine = map(np.array, found)
    assert np.abs(chosen[:2] - fine[:2]).max() <= 0.01
    assert chosen[2:] == pytest.approx(fine[2:], rel=0.02)


STOPS = {
    f"{name} {k / 1e3:g} kN m/rad, {d:g} s/rad": Unit(**{name: part(stop_stiffness=k, stop_damping=d)})
    for name, part, ends in (
        ("main_links", MainLinks, ((60e3, 5.0), (200e3, 5.0), (1e6, 0.0), (1e6, 0.5), (1e6, 5.0))),
        ("press_wheel", PressWheel, ((20e3, 0.5), (100e3, 5.0), (1e6, 0.0), (1e6, 0.5))),
    )
    for k, d in ends
}


@pytest.mark.parametrize("kmh", [5, 7, 10])
@pytest.mark.parametrize("name", STOPS)
def test_the_peak_of_a_blow_on_a_stop_is_held(name, kmh):
    """Stop and most loaded pin within 3 % of a run at an eighth of the step; every pin within that or `HELD`."""
    unit, scenario = STOPS[name], load("gully")
    track, settings = scenario.track(), replace(scenario.settings, speed=kmh * KMH)
    step = choose_step(unit, scenario.soil, track.rock, settings).seconds
    found = []
    for parts in (1, 8):
        run = simulate(unit, scenario.soil, track, settings, step=step / parts)
        squares = np.column_stack(((run.pins**2).sum(axis=2), run.series["stop_force"] ** 2))
        found.append(np.sqrt(peaks(squares)))
    chosen, fine = found
    assert fine[-1] > 10e3
    assert chosen[-1] == pytest.approx(fine[-1], rel=0.03)
    assert chosen[:-1].max() == pytest.approx(fine[:-1].max(), rel=0.03)
    assert np.all(np.abs(chosen - fine) <= np.maximum(0.03 * fine, HELD))


def laid(scenario):
    return (Laid(0, ground(), scenario.unit, SETTINGS.set_depth),)


def crossed(scenario, bars):
    """Rows of a scenario on the ground above."""
    rows = [Row(i, Case(0, replace(SETTINGS, oil_pressure=p * 1e5))) for i, p in enumerate(bars)]
    found = cross_rows(scenario, laid(scenario), rows, 1)
    return [found[i, "redone"] for i in range(len(rows))]


def test_rows_and_runs_have_one_step_and_one_balance():
    scenario = replace(load("smooth"), unit=STIFF["gauge tyre's damping"], soil=Soil())
    for bar, row in zip((30, 60), crossed(scenario, (30, 60)), strict=True):
        run = simulate(scenario.unit, scenario.soil, ground(), replace(SETTINGS, oil_pressure=bar * 1e5))
        assert row.reduced.travel == pytest.approx(run.step * SETTINGS.speed, rel=1e-12)
        assert row.reduced.energy_share[row.j] == pytest.approx(run.energy.sampled_share, abs=1e-12)
        assert run.warnings[-1].startswith("unit.gauge_wheel.tyre_damping_Ns_per_m: stiffer than the usual time step")


def test_a_balance_that_does_not_close_bars_the_cell(monkeypatch):
    """The line's resistance a thousandfold, marched by nearly the usual steps: told in the row as in the run."""
    scenario = replace(load("smooth"), unit=STIFF["line's resistance"], soil=Soil())
    usual = 0.85 * usual_step(SETTINGS.speed)
    monkeypatch.setattr(fields, "choose_step", lambda *_: Step(usual))
    (row,) = crossed(scenario, (60,))
    settings = replace(SETTINGS, oil_pressure=60e5)
    run = simulate(scenario.unit, scenario.soil, ground(), settings, step=usual)
    assert run.energy.sampled_share > OPEN_SHARE
    assert row.reduced.energy_share[row.j] == pytest.approx(run.energy.sampled_share, rel=1e-9)
    (heed,) = (heed for heed in row.heeds(scenario, settings) if heed.kind == "energy")
    assert heed.barred
    assert heed.text in run.warnings


def test_rows_too_stiff_have_the_reason():
    unit = Unit(press_wheel=PressWheel(stiffness=5e6, tyre_damping=20.0))
    found = crossed(replace(load("smooth"), unit=unit, soil=Soil()), (30, 60))
    assert all("unit.press_wheel.tyre_damping_Ns_per_m" in text for text in found)


@pytest.mark.parametrize("damping", [1e6, 1e5])
def test_a_stiff_toolbar_keeps_to_the_ground(damping):
    """By the usual steps its motion grows without end."""
    run = simulate(Unit(toolbar=Toolbar(damping=damping)), Soil(), ground(), SETTINGS)
    assert np.ptp(run.series["toolbar_height"]) < 2.0 * np.ptp(ground().surface)
