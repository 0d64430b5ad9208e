"""`--precharges`, `--depths` and `--depth-range` of window: the search over these too, and what it adds to a window."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from analysis.cli.parts.number_options import Option, add_numbers, number, read_numbers
from analysis.cli.parts.request import Request
from analysis.window.advice import Advice
from analysis.window.advice_document import searched_document
from analysis.window.search import advise_searched, search_settings
from analysis.window.told.search_words import DEEPEST, SHALLOWEST, searched_text
from scenarios.format.errors import fault, shown
from scenarios.scenario import Scenario

SEARCH = {
    "precharges": Option(1.0, 200.0, "bar", "nitrogen precharges to try", "15:40:6", series=True),
    "depths": Option(SHALLOWEST, DEEPEST, "mm", "set depths to try", "30:50:3", series=True),
}
RANGE = "--depth-range"


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
    parser.add_argument(RANGE, metavar="LOW:HIGH", help="set depths that may be picked, mm (default: the file's own)")


def read_search(given: Mapping[str, Any], faults: list[str]) -> dict[str, Any]:
    """The options (edge units) by name, those left out not among them; faults are added."""
    found = read_numbers(given, SEARCH, faults)
    text = given.get("depth_range")
    if text is not None:
        ends = [number(part) for part in text.split(":")]
        low, high = ends[0], ends[-1]
        if len(ends) <= 2 and low is not None and high is not None and SHALLOWEST <= low <= high <= DEEPEST:
            found["depth_range"] = (low, high)
        else:
            allowed = f'"shallowest:deepest" or one depth, each {SHALLOWEST:g} to {DEEPEST:g} mm'
            faults.append(fault(RANGE, f"given {shown(text)}", allowed, f"{RANGE} 35:45"))
    return found


def windows_tried(asked: Mapping[str, Any]) -> int:
    """How many windows the options ask for: precharges × depths, the file's own depth among them."""
    if not asked:
        return 1
    depths = len(asked.get("depths") or ()) or 2 * ("depth_range" in asked)
    return max(1, len(asked.get("precharges") or ())) * (depths + 1 if depths else 1)


def searched_part(
    asked: Mapping[str, Any], scenario: Scenario, workers: int | None, request: Request
) -> SearchedPart | None:
    """Search precharges and depths too; None where neither is asked for."""
    if not asked:
        return None
    found = search_settings(
        scenario, asked.get("precharges"), asked.get("depths"), workers=workers, progress=request.meter("crossings"),
        depth_range_mm=asked.get("depth_range"),
    )  # fmt: skip
    advice = advise_searched(found, workers, request.meter("how sure: sets and changes"))
    return SearchedPart(found.best.scenario, advice, searched_document(found, advice), searched_text(found))
