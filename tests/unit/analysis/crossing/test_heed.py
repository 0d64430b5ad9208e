"""Warnings of a crossing: those of the file, those of the run, and the pressure that the file warns above."""

from __future__ import annotations

from dataclasses import replace

import invented

from analysis.crossing.heed import warnings_of
from sim.run import simulate
from sim.track import flat_track
from sim.unit import Settings, Soil, Unit


def test_the_oil_pressure_is_told_above_what_the_file_warns_of():
    high = Settings(oil_pressure=210e5, precharge=100e5)
    run = simulate(Unit(), Soil(), flat_track(2.0, 1.2e6), high)
    scenario = invented.short_scenario("smooth", 2.0)
    assert scenario.limits.gas_pressure_warning == 200e5
    assert any("oil pressure reached 21" in text for text in warnings_of(run, scenario))
    calm = replace(scenario, limits=replace(scenario.limits, gas_pressure_warning=250e5))
    assert not any("oil pressure reached" in text for text in warnings_of(run, calm))


def test_warnings_of_file_and_run_are_told_once():
    run = replace(invented.made_run(), warnings=("of both", "of the run"))
    scenario = replace(invented.short_scenario("smooth", 2.0), warnings=("of the file", "of both"))
    assert warnings_of(run, scenario) == ["of the file", "of both", "of the run"]
