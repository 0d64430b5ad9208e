"""A page of a stored result: a paddock's own page, or the scenario of a run, whose page is then made."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from analysis.paddock.summary import Summary, summarise, to_dict
from analysis.paddock.table import load_table
from analysis.report.kind import PADDOCK, kind_of
from analysis.report.paddock import headline, paddock_page
from analysis.storage.stored_scenario import stored_scenario
from scenarios.format.errors import ScenarioError, fault
from scenarios.scenario import Scenario

WHERE = "rowbench report"


class Page(NamedTuple):
    """A page that is made, with what `--json` prints of it and its finding."""

    page: str
    document: Mapping[str, Any]
    said: str


def read_result(path: Path, changes: Mapping[str, Any], *, profile: bool, workers: bool) -> Summary | Scenario:
    """What a stored result holds: a paddock's summary, or the scenario of a run with changes.

    profile, workers: whether these options are given. Raises ScenarioError for a file that is no result or not whole,
    and for options that do not go with it.
    """
    if kind_of(path) == PADDOCK:
        summary = summarise(load_table(path))
        if changes or profile or workers:
            asked = "--set, --pressures, --speeds, --seeds, --profile or --workers"
            raise ScenarioError([fault(WHERE, f"{asked} with a paddock's result", "the settings stored in it",
                                       f"{WHERE} {path} --out page.html")])  # fmt: skip
        return summary
    if profile:
        raise ScenarioError([fault("--profile", "given with a stored result", "the ground stored in it",
                                   "leave --profile out")])  # fmt: skip
    return stored_scenario(path, changes)


def page_of_paddock(summary: Summary, day: date) -> Page:
    """The page of a paddock's result."""
    return Page(paddock_page(summary, day), {**to_dict(summary), "result": str(summary.table.path)}, headline(summary))
