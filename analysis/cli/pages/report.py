"""`rowbench report FILE --out PAGE.html`: one page to hand over, that opens without a server or a network."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from analysis.cli.parts.answer import Answer, encoded, text_file
from analysis.cli.parts.crossing_failures import told_as_fault
from analysis.cli.parts.faults import gathered, refuse
from analysis.cli.parts.file_keys import read_changes
from analysis.cli.parts.number_options import read_workers
from analysis.cli.parts.output_files import overwrite_faults, read_output
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.size import tell_search
from analysis.cli.parts.warmup import ready
from analysis.report.document import report_document
from analysis.report.page import page as page_of_report
from analysis.report.report import make_report
from analysis.storage.formats import RESULTS
from analysis.window.sentences import headline
from scenarios.format.errors import fault
from scenarios.scenario import Scenario

WHERE = "rowbench report"
PAGES = (".html", ".htm")


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument(
        "file", nargs="?", metavar="FILE", help="a scenario, or a result of run --save or paddock --out"
    )
    parser.add_argument("--out", metavar="PAGE.html", help="where to write the page")
    add_shared(parser, "--json", "--pressures", "--speeds", "--seeds", "--draws", "--profile", "--workers")
    add_set(parser)


def answer(request: Request) -> Answer:
    """The page of a scenario, of a stored run or of a stored paddock. Raises ScenarioError with all faults."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    read_set(given, changes, faults)
    need_file(request, faults)
    if read_output(given, "out", PAGES, faults) is None:
        faults.append(fault(WHERE, "no --out", "where to write the page", "--out page.html"))
    workers = read_workers(given, faults)
    out = Path(given["out"] or "")
    if not request.source.lower().endswith(RESULTS):
        scenario = read_scenario(request, faults, changes)
    else:
        found = _stored(request, changes, workers is not None, faults)
        if not isinstance(found, Scenario):
            return _handed_over(out, *found)
        scenario = found
    tell_search(request, scenario, workers)
    ready(request, scenario.unit, rows=True, pins=True)
    made = make_report(scenario, workers, request.meter, changes)
    with told_as_fault(scenario):  # the page draws the unit: there is none where no setting can be made
        page = page_of_report(made, datetime.now(UTC).date())
    return _handed_over(
        out,
        page,
        {**report_document(made), **changed_document(scenario)},
        f"{headline(made.advice.outcome)}.",
    )


def _stored(
    request: Request, changes: Mapping[str, Any], workers: bool, faults: list[str]
) -> tuple[str, Mapping[str, Any], str] | Scenario:  # fmt: skip
    """Of a stored paddock its page, what `--json` prints of it and its finding; of a stored run the scenario.

    workers: whether they are given. Raises ScenarioError with all faults.
    """
    from analysis.report.of_result import is_paddock, page_of_paddock, read_result  # noqa: PLC0415 (figures, HDF5)

    path, found = Path(request.source), None
    profile = request.given["profile"] is not None
    faults += overwrite_faults(request.given, [path])
    with gathered(faults):
        if is_paddock(path):
            if changes or profile or workers:
                asked = "--set, --pressures, --speeds, --seeds, --profile or --workers"
                faults.append(fault(WHERE, f"{asked} with a paddock's result", "the settings stored in it",
                                    f"{WHERE} {path} --out page.html"))  # fmt: skip
        elif profile:
            faults.append(fault("--profile", "given with a stored result", "the ground stored in it",
                                "leave --profile out"))  # fmt: skip
        found = read_result(path, changes)
    refuse(faults)
    assert found is not None
    return found if isinstance(found, Scenario) else page_of_paddock(found, datetime.now(UTC).date())


def _handed_over(out: Path, page: str, document: Mapping[str, Any], said: str) -> Answer:
    size = len(encoded(page))
    return Answer(
        f"{out} written: {size / 1e6:.2f} MB, opens from disk, nothing else needed. {said}",
        {**document, "page": str(out), "size_bytes": size},
        files=((out, text_file(page)),),
    )
