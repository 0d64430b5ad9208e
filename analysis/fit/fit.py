"""Readings → the values that explain them."""

from __future__ import annotations

from collections.abc import Callable

from analysis.fit.expected.crossed import Grounds
from analysis.fit.fit_check import fit_check, residuals_of
from analysis.fit.fitted import Fit, cone_of, positions_of, values_of
from analysis.fit.maximum import maximum
from analysis.fit.model import model_of
from analysis.fit.posterior import posterior
from analysis.fit.reading.readings import Measured
from scenarios.format.errors import ScenarioError
from scenarios.scenario import Scenario
from sim.errors import SimulationError


def fit(
    scenario: Scenario,
    measured: Measured,
    workers: int | None = None,
    tell: Callable[[int], None] | None = None,
    *,
    grounds: Grounds | None = None,
) -> Fit:
    """Fit the values in doubt of a scenario to readings.

    workers: threads (None: one a core; the numbers are the same); tell(trials): called as trials are made, with how
    many; grounds: those that trials are crossed on. Raises ScenarioError where the file's own values cannot be
    crossed.
    """
    try:
        model = model_of(scenario, measured.readings, workers, tell, grounds)
        found = posterior(maximum(model))
    except SimulationError as error:
        raise ScenarioError([f"{scenario.path}: {error}"]) from None
    values, correlation, spreads = values_of(found)
    return Fit(
        scenario=scenario,
        measured=measured,
        posterior=found,
        values=values,
        correlation=correlation,
        spreads=spreads,
        settings=positions_of(found),
        cone=cone_of(found),
        residuals=residuals_of(found),
        check=fit_check(found),
    )
