"""FILE: the scenario asked for, its faults told with those of the options."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from analysis.cli.parts.faults import gathered, refuse
from analysis.cli.parts.output_files import overwrite_faults
from analysis.cli.parts.request import Request
from scenarios.format.errors import fault
from scenarios.load import load
from scenarios.scenario import Scenario


def need_file(request: Request, faults: list[str]) -> None:
    """Add a fault where no FILE is given."""
    if not request.source:
        where = f"rowbench {request.command}"
        faults.append(fault(where, "no FILE", "a path to a scenario file or a name of the library", f"{where} rough"))


def read_scenario(
    request: Request,
    faults: list[str],
    changes: Mapping[str, Any] | None = None,
    further: Callable[[Scenario], list[str]] | None = None,
) -> Scenario:
    """The scenario of FILE. changes: values by dotted key in place of the file's; further: more faults to look for.

    Raises ScenarioError with `faults`, those of the file and the further ones, in one message.
    """
    scenario = None
    if request.source:
        with gathered(faults):
            scenario = load(request.source, profile=request.given.get("profile"), changes=changes)
    if scenario is not None:
        faults += overwrite_faults(request.given, scenario.files)
        faults += [] if further is None else further(scenario)
    refuse(faults)
    assert scenario is not None  # without FILE, need_file has added a fault
    return scenario
