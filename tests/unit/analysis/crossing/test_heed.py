"""What a reader is told of a run: what the run itself tells, and the pressure above which the file warns."""

from __future__ import annotations

from dataclasses import replace

import invented

from analysis.crossing.heed import warnings_of
from sim.unit import Settings


def test_a_run_over_the_files_pressure_is_told(cross):
    run = cross("flat", Settings(oil_pressure=210e5, precharge=100e5))
    scenario = invented.short_scenario("rough", 20.0)
    (told,) = (text for text in warnings_of(run, scenario) if "limits.gas_pressure_warning_bar" in text)
    assert told.startswith("oil pressure reached 21")
    assert "above 200 bar" in told
    higher = replace(scenario, limits=replace(scenario.limits, gas_pressure_warning=220e5))
    assert warnings_of(run, higher) == list(run.warnings)
