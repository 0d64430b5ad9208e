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
from scenarios.scenario import Scenario


class Page(NamedTuple):
    """A page that is made, with what `--json` prints of it and its finding."""

    page: str
    document: Mapping[str, Any]
    said: str


def is_paddock(path: Path) -> bool:
    """Whether a stored result is a paddock's, not a run's. Raises ScenarioError where it is neither or not whole."""
    return kind_of(path) == PADDOCK


def read_result(path: Path, changes: Mapping[str, Any]) -> Summary | Scenario:
    """What a stored result holds: a paddock's summary, or the scenario of a run with changes.

    Raises ScenarioError for a file that is no result or not whole, and for changes that do not go together.
    """
    return summarise(load_table(path)) if is_paddock(path) else stored_scenario(path, changes)


def page_of_paddock(summary: Summary, day: date) -> Page:
    """The page of a paddock's result."""
    return Page(paddock_page(summary, day), {**to_dict(summary), "result": str(summary.table.path)}, headline(summary))
