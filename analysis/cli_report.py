"""`rowbench report FILE --out PAGE.html`: one page to hand over, that opens without a server or a network.

`add_parser` adds the command, `read_extra` checks its own options, `answer` does it. Printing and writing is left to
`analysis.cli`.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.cli_explain import Answer
from scenarios.errors import fault

if TYPE_CHECKING:
    from analysis.options import Request
    from analysis.progress import Meter
    from scenarios.scenario import Scenario

NAME = "report"
SUMMARY = "one page to hand over: what to set and why, with every pressure and speed to try on it"
PAGES = (".html", ".htm")


def add_parser(commands: Any) -> None:
    """Add the command to the subparsers of the command line."""
    made: argparse.ArgumentParser = commands.add_parser(
        NAME, help=SUMMARY, description=SUMMARY[0].upper() + SUMMARY[1:] + ".", allow_abbrev=False
    )
    made.add_argument("file", nargs="?", metavar="FILE", help="a scenario, or a result of run --save")
    made.add_argument("--out", metavar="PAGE.html", help="where to write the page")
    made.add_argument("--json", action="store_true", help="one JSON document on standard output")
    made.add_argument("--pressures", metavar="A:B:N", help="oil pressures to try, bar: first:last:count")
    made.add_argument("--speeds", metavar="A:B:N", help="speeds to try, km/h: first:last:count")
    made.add_argument("--seeds", metavar="N", help="how many grounds to try")
    made.add_argument("--profile", metavar="CSV", help="measured ground: distance_m, height_m")
    made.add_argument("--workers", metavar="N", help="how many processor cores to use (default: all)")


def read_extra(given: Mapping[str, Any], faults: list[str]) -> dict[str, Any]:
    """Options of this command by name; faults are added."""
    from analysis.safe_write import output_fault  # noqa: PLC0415

    if given.get("command") != NAME:
        return {}
    if given.get("out") is None:
        faults.append(fault(f"rowbench {NAME}", "no --out", "where to write the page", "--out page.html"))
        return {}
    out = Path(given["out"])
    wrong = output_fault(out, "--out", PAGES)
    faults += [wrong] if wrong else []
    return {"out": out}


def answer(request: Request, scenario: Scenario, warm_up: Callable[[], float], meter: Callable[[str], Meter]) -> Answer:
    """Search the window, cross the stretch at every setting, make the page → document, text, file."""
    from datetime import UTC, datetime  # noqa: PLC0415

    from analysis.report import make_report, write_page  # noqa: PLC0415

    warm_up()
    made = make_report(scenario, request.workers or None, meter, request.changes)
    out: Path = request.extra["out"]
    page = write_page(made, datetime.now(UTC).date())
    size = len(page.encode("utf-8"))
    document = {**made.document(), "page": str(out), "size_bytes": size}
    text = f"{out} written: {size / 1e6:.2f} MB, opens from disk, nothing else needed. {made.headline()}"
    return Answer(document, text, ((out, lambda path: path.write_text(page, encoding="utf-8")),))
