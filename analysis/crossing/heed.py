"""What a reader of a crossing has to heed: `sim.heeds` decides, for a run and for a row that was reduced."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from scenarios.scenario import Scenario
from sim.heeds import Heed, Met, heeds, precharge_heeds, pressure_heeds, step_heeds
from sim.hydraulics.gas_rule import GasRule
from sim.hydraulics.working import keeps, suiting_oils
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


def gas_notes(unit: Unit, settings: Settings, rule: GasRule, oil_pressures: Sequence[float]) -> tuple[str, ...]:
    """A word where some of the oil pressures tried [Pa] do not suit the precharge of the settings."""
    count = len(oil_pressures)
    broken = sum(not keeps(rule, unit, replace(settings, oil_pressure=p)) for p in oil_pressures)
    if not broken:
        return ()
    many = f"{broken} of the {count} pressures tried" if broken < count else f"all {count} pressures tried"
    outside = "lies outside and is" if broken == 1 else "lie outside and are"
    return (
        f"a precharge of {settings.precharge / 1e5:g} bar suits {suiting_oils(rule, unit, settings).bars} bar of oil "
        f"(limits.precharge_share_max, gas_squeeze_max): {many if count > 1 else 'the one tried'} {outside} not picked",
    )
