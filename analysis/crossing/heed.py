"""What a reader of a crossing has to heed: `sim.heeds` decides, for a run and for a row that was reduced."""

from __future__ import annotations

from scenarios.scenario import Scenario
from sim.heeds import Heed, Met, heeds, precharge_heeds, pressure_heeds, step_heeds
from sim.record import Run
from sim.run import Prepared
from sim.unit import ATMOSPHERE, Rock, Settings, Soil, Unit


def warnings_of(run: Run, scenario: Scenario) -> list[str]:
    """Warnings of a scenario and of its run, each once, in sentences without a full stop."""
    peak = float(run.series["oil_pressure"].max()) - ATMOSPHERE
    passed = _limit_heeds(scenario, run.settings, peak)
    return list(dict.fromkeys((*scenario.warnings, *run.warnings, *(heed.text for heed in passed))))


def heeds_of(scenario: Scenario, settings: Settings, ready: Prepared, met: Met) -> tuple[Heed, ...]:
    """What a run of the same crossing warns of, in the same words and order, from what a row came to."""
    told = row_heeds(scenario.unit, scenario.soil, scenario.stones.contact, settings, ready, met)
    return (*told, *_limit_heeds(scenario, settings, met.pressure))


def _limit_heeds(scenario: Scenario, settings: Settings, peak: float) -> tuple[Heed, ...]:
    """What hangs on the file's limits; peak: highest oil pressure, gauge [Pa]."""
    gas = precharge_heeds(scenario.unit, settings, scenario.limits.gas_rule)
    return (*gas, *pressure_heeds(peak, scenario.limits.gas_pressure_warning))


def row_heeds(unit: Unit, soil: Soil, rock: Rock, settings: Settings, ready: Prepared, met: Met) -> tuple[Heed, ...]:
    """The same without what hangs on the file's limits."""
    return (*heeds(unit, settings, ready, rock, met), *step_heeds(unit, soil, rock, settings))
