"""How a scenario is called in headings of texts and figures."""

from __future__ import annotations

from scenarios.scenario import Scenario


def scenario_title(scenario: Scenario) -> str:
    """Its title, and the file of its measured ground if there is one."""
    if scenario.profile is None:
        return scenario.title
    return f"{scenario.title}, on measured ground ({scenario.profile.path.name})"
