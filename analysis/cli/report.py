"""`rowbench report FILE --out PAGE.html`: one page to hand over, that opens without a server or a network.

`add_parser` adds the command, `read_extra` checks its own options, `answer` does it. Printing and writing is left to
`analysis.cli.main`.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.cli.explain import Answer
from analysis.storage.formats import RESULTS
from scenarios.format.errors import ScenarioError, fault

if TYPE_CHECKING:
    from analysis.cli.arguments import Request
    from analysis.paddock.summary import Summary
    from analysis.present.progress import Meter
    from scenarios.scenario import Scenario

NAME = "report"
SUMMARY = "one page to hand over: what to set and why, with every pressure and speed to try on it"
PAGES = (".html", ".htm")


def add_parser(commands: Any) -> None:
    """Add the command to the subparsers of the command line."""
    made: argparse.ArgumentParser = commands.add_parser(
        NAME, help=SUMMARY, description=SUMMARY[0].upper() + SUMMARY[1:] + ".", allow_abbrev=False
    )
    made.add_argument("file", nargs="?", metavar="FILE", help="a scenario, or a result of run --save or paddock --out")
    made.add_argument("--out", metavar="PAGE.html", help="where to write the page")
    made.add_argument("--json", action="store_true", help="one JSON document on standard output")
    made.add_argument("--pressures", metavar="A:B:N", help="oil pressures to try, bar: first:last:count")
    made.add_argument("--speeds", metavar="A:B:N", help="speeds to try, km/h: first:last:count")
    made.add_argument("--seeds", metavar="N", help="how many grounds to try")
    made.add_argument("--profile", metavar="CSV", help="measured ground: distance_m, height_m")
    made.add_argument("--workers", metavar="N", help="how many processor cores to use (default: all)")


def read_extra(given: Mapping[str, Any], faults: list[str]) -> dict[str, Any]:
    """Options of this command by name; faults are added."""
    from analysis.storage.safe_write import output_fault  # noqa: PLC0415

    if given.get("command") != NAME:
        return {}
    if given.get("out") is None:
        faults.append(fault(f"rowbench {NAME}", "no --out", "where to write the page", "--out page.html"))
        return {}
    out = Path(given["out"])
    wrong = output_fault(out, "--out", PAGES)
    faults += [wrong] if wrong else []
    return {"out": out}


def stored(request: Request) -> Scenario | None:
    """The scenario of a stored run, where this command was given one. Raises ScenarioError for one that is none."""
    if not _of_result(request):
        return None
    from analysis.storage.stored_scenario import stored_scenario  # noqa: PLC0415 (brings HDF5 along)

    if request.profile is not None:
        raise ScenarioError([fault("--profile", "given with a stored result", "the ground stored in it",
                                   "leave --profile out")])  # fmt: skip
    return stored_scenario(Path(request.source), request.changes)


def of_paddock(request: Request) -> Answer | None:
    """The page of a stored paddock, where this command was given one; None for everything else.

    Raises ScenarioError with all faults for a result that is no whole one, and for options that would need a search.
    """
    if not _of_result(request):
        return None
    from analysis.report.kind import PADDOCK, kind_of  # noqa: PLC0415 (brings HDF5 along)

    faults, path = list(request.faults), Path(request.source)
    try:
        if kind_of(path) != PADDOCK:
            return None
        summary = _summary(path)
    except ScenarioError as error:
        raise ScenarioError([*faults, *error.faults]) from None
    if request.changes or request.profile is not None or request.workers:
        options = "--pressures, --speeds, --seeds, --profile or --workers"
        faults.append(fault(f"rowbench {NAME}", f"{options} with a paddock's result", "the settings stored in it",
                            f"rowbench {NAME} {path} --out page.html"))  # fmt: skip
    if faults:
        raise ScenarioError(faults)
    return _page_of(summary, request.extra["out"])


def _of_result(request: Request) -> bool:
    """Whether this command was given a stored result as FILE."""
    return request.command == NAME and request.source.lower().endswith(RESULTS)


def _summary(path: Path) -> Summary:
    from analysis.paddock.summary import summarise  # noqa: PLC0415
    from analysis.paddock.table import load_table  # noqa: PLC0415

    return summarise(load_table(path))


def _page_of(summary: Summary, out: Path) -> Answer:
    """Page, document and text of a paddock."""
    from datetime import UTC, datetime  # noqa: PLC0415

    from analysis.paddock.summary import to_dict  # noqa: PLC0415
    from analysis.report.paddock import headline, paddock_page  # noqa: PLC0415

    page = paddock_page(summary, datetime.now(UTC).date())
    document = {**to_dict(summary), "result": str(summary.table.path)}
    return _handed_over(page, out, document, headline(summary))


def _handed_over(page: str, out: Path, document: Mapping[str, Any], said: str) -> Answer:
    size = len(page.encode("utf-8"))
    text = f"{out} written: {size / 1e6:.2f} MB, opens from disk, nothing else needed. {said}"
    return Answer({**document, "page": str(out), "size_bytes": size}, text,
                  ((out, lambda path: path.write_text(page, encoding="utf-8")),))  # fmt: skip


def answer(request: Request, scenario: Scenario, warm_up: Callable[[], float], meter: Callable[[str], Meter]) -> Answer:
    """Search the window, cross the stretch at every setting, make the page → document, text, file."""
    from datetime import UTC, datetime  # noqa: PLC0415

    from analysis.report.document import report_document  # noqa: PLC0415
    from analysis.report.page import page as write_page  # noqa: PLC0415
    from analysis.report.report import make_report  # noqa: PLC0415
    from analysis.window.sentences import headline  # noqa: PLC0415

    warm_up()
    made = make_report(scenario, request.workers or None, meter, request.changes)
    out: Path = request.extra["out"]
    page = write_page(made, datetime.now(UTC).date())
    return _handed_over(page, out, report_document(made), f"{headline(made.advice.outcome)}.")
