"""`--precharges` and `--depths` of window: the search over these too, and what it adds to a window."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from analysis.cli.parts.number_options import Option, add_numbers, read_numbers
from analysis.cli.request import Request
from analysis.window.advice import Advice
from analysis.window.advice_document import searched_document
from analysis.window.search import advise_searched, search_settings
from analysis.window.search_words import searched_text
from scenarios.scenario import Scenario

SEARCH = {
    "precharges": Option(1.0, 200.0, "bar", "nitrogen precharges to try", "15:40:6", series=True),
    "depths": Option(5.0, 150.0, "mm", "set depths to try", "30:50:3", series=True),
}


@dataclass(frozen=True)
class SearchedPart:
    """A window over precharges and depths: the scenario of the best pair, its advice, and what is told beside it."""

    scenario: Scenario
    advice: Advice
    document: dict[str, Any]
    text: str


def add_search(parser: argparse.ArgumentParser) -> None:
    """Add the options."""
    add_numbers(parser, SEARCH)


def read_search(given: Mapping[str, Any], faults: list[str]) -> dict[str, Any]:
    """The options (edge units) by name, those left out not among them; faults are added."""
    return read_numbers(given, SEARCH, faults)


def searched_part(
    asked: Mapping[str, Any], scenario: Scenario, workers: int | None, request: Request
) -> SearchedPart | None:
    """Search precharges and depths too; None where neither is asked for."""
    if not asked:
        return None
    precharges, depths = (asked.get(name) for name in SEARCH)
    found = search_settings(scenario, precharges, depths, workers=workers, progress=request.meter("crossings"))
    advice = advise_searched(found, workers, request.meter("how sure: changes tried"))
    return SearchedPart(found.best.scenario, advice, searched_document(found, advice), searched_text(found))
