"""What `rowbench report` is given where that is a stored result: the page of a paddock, or the scenario of a run."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

from analysis.cli.parts.faults import gathered, refuse
from analysis.cli.parts.output_files import overwrite_faults
from analysis.cli.parts.request import Request
from analysis.paddock.summary import Summary, summarise, to_dict
from analysis.paddock.table import load_table
from analysis.report.kind import PADDOCK, kind_of
from analysis.report.paddock import headline, paddock_page
from analysis.storage.stored_scenario import stored_scenario
from scenarios.format.errors import ScenarioError, fault
from scenarios.scenario import Scenario


class Page(NamedTuple):
    """A page that is made, with what `--json` prints of it and its finding."""

    page: str
    document: Mapping[str, Any]
    said: str


def of_result(
    request: Request, where: str, changes: Mapping[str, Any], workers: bool, faults: list[str]
) -> Page | Scenario:  # fmt: skip
    """What a stored result gives; where: the command, workers: whether they are given.

    Raises ScenarioError for one that is none or not whole, and for options that do not go with it.
    """
    path, profile = Path(request.source), request.given["profile"]
    faults += overwrite_faults(request.given, [path])
    summary: Summary | None = None
    scenario: Scenario | None = None
    with gathered(faults):
        if kind_of(path) == PADDOCK:
            summary = summarise(load_table(path))
            if changes or profile is not None or workers:
                asked = "--set, --pressures, --speeds, --seeds, --profile or --workers"
                raise ScenarioError([fault(where, f"{asked} with a paddock's result", "the settings stored in it",
                                           f"{where} {path} --out page.html")])  # fmt: skip
        elif profile is not None:
            raise ScenarioError([fault("--profile", "given with a stored result", "the ground stored in it",
                                       "leave --profile out")])  # fmt: skip
        else:
            scenario = stored_scenario(path, changes)
    refuse(faults)
    if summary is not None:
        document = {**to_dict(summary), "result": str(summary.table.path)}
        return Page(paddock_page(summary, datetime.now(UTC).date()), document, headline(summary))
    assert scenario is not None
    return scenario
