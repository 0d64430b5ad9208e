"""What a reader of a crossing has to heed: warnings of the file, of the run, and of what the file warns above."""

from __future__ import annotations

from analysis.present.edge import bar
from scenarios.scenario import Scenario
from sim.record import Run
from sim.unit import ATMOSPHERE


def warnings_of(run: Run, scenario: Scenario) -> list[str]:
    """Warnings of a scenario and of its run, each once, in sentences without a full stop."""
    return list(dict.fromkeys((*scenario.warnings, *run.warnings, *_pressure(run, scenario))))


def _pressure(run: Run, scenario: Scenario) -> list[str]:
    """That the oil pressure passed what the file warns above (gauge, at the accumulator)."""
    peak, above = float(run.series["oil_pressure"].max()) - ATMOSPHERE, scenario.limits.gas_pressure_warning
    if peak <= above:
        return []
    return [f"oil pressure reached {bar(peak):.0f} bar, above {bar(above):g} bar (limits.gas_pressure_warning_bar)"]
