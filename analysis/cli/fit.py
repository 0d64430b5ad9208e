"""`rowbench fit FILE --measured CSV --out FITTED.toml`: readings → the values that explain them."""

from __future__ import annotations

import argparse
import time
from pathlib import Path

from analysis.cli.parts.answer import Answer, Write, text_file
from analysis.cli.parts.faults import gathered
from analysis.cli.parts.number_options import read_workers
from analysis.cli.parts.output_files import overwrite_faults, read_figure, read_output
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.warmup import ready
from analysis.fit.document import fit_document, largest_document, next_document
from analysis.fit.fit import fit
from analysis.fit.fitted import Fit
from analysis.fit.fitted_file import file_text
from analysis.fit.following.measure_next import Next, measure_next, trials_of
from analysis.fit.reading.read_measured import read_measured
from analysis.fit.reading.readings import Measured
from analysis.fit.words import fit_text, sheet_text
from analysis.present.scenario_words import scenario_title
from analysis.report.field_sheet import field_sheet
from analysis.version import VERSION
from scenarios.doubt.belief import belief
from scenarios.format.errors import fault
from scenarios.scenario import Scenario

WHERE = "rowbench fit"
PAGES = (".html", ".htm")
MOST_JOBS = 5  # on a sheet made before anything was read
EXAMPLE = f"{WHERE} my_field.toml --measured measured.csv --out fitted.toml"


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json", "file")
    parser.add_argument("--measured", metavar="CSV", help="readings: what, value and where they were made")
    parser.add_argument("--out", metavar="FITTED.toml", help="file to write: the scenario with the fitted values")
    parser.add_argument("--sheet", metavar="SHEET.html", help="page to print: what to measure where, boxes to write in")
    add_shared(parser, "--profile", "--figure", "--workers")


def answer(request: Request) -> Answer:
    """Fit a scenario to readings. Raises ScenarioError with all faults."""
    faults, given = list(request.faults), request.given
    need_file(request, faults)
    if given["sheet"] and not given["measured"]:
        return _sheet_alone(request, faults)
    measured = _measured(given["measured"], faults)
    out, sheet = _out(request, faults), read_output(given, "sheet", PAGES, faults)
    figure, workers = read_figure(given, faults), read_workers(given, faults)
    read = [Path(given["measured"])] if given["measured"] else []
    scenario = read_scenario(request, faults, None, lambda _: overwrite_faults(given, read))
    assert measured is not None and out is not None  # noqa: PT018 (each had its fault)
    compiled = ready(request, scenario.unit, rows=True, of_any=True, timed=True)
    begin = time.perf_counter()
    found = fit(scenario, measured, workers, _told(request, "trials of the fit", _trials(scenario)))
    following = measure_next(found, workers, _told(request, "what to measure next: trials", trials_of(found)))
    taken = {"wall_s": time.perf_counter() - begin, "compile_s": compiled, "version": VERSION}
    profile = Path(given["profile"]) if given["profile"] else None
    return Answer(
        fit_text(found, following, out, scenario.warnings),
        {**fit_document(found, following), "written": str(out), "scenario_warnings": list(scenario.warnings),
         "run": taken},
        files=((out, text_file(file_text(found, out, profile))), *_sheet(sheet, found, following)),
        figures=() if figure is None else ((figure, lambda: _figure(found)),),
    )  # fmt: skip


def _sheet_alone(request: Request, faults: list[str]) -> Answer:
    """What to measure with nothing read yet, on a page to print."""
    given = request.given
    for name in ("out", "figure"):
        if given[name]:
            faults.append(fault(f"--{name}", "given without --measured", "readings to fit", f"leave --{name} out"))
    sheet, workers = read_output(given, "sheet", PAGES, faults), read_workers(given, faults)
    scenario = read_scenario(request, faults)
    assert sheet is not None
    ready(request, scenario.unit, rows=True, of_any=True)
    found = fit(scenario, Measured(Path(), ()), workers)
    about = trials_of(found)
    following = measure_next(found, workers, _told(request, "what to measure first: trials", about), best_of=MOST_JOBS)
    return Answer(
        sheet_text(found, following, sheet, scenario.warnings),
        {
            "next": next_document(following),
            "doubt_rests_on": largest_document(following),
            "written": str(sheet),
            "scenario_warnings": list(scenario.warnings),
        },
        files=_sheet(sheet, found, following),
    )


def _sheet(sheet: Path | None, found: Fit, following: Next | None) -> tuple[tuple[Path, Write], ...]:
    """The page to print, where it is asked for."""
    if sheet is None:
        return ()
    scenario = found.scenario
    return ((sheet, text_file(field_sheet(scenario_title(scenario), str(scenario.path), following, VERSION))),)


def _figure(found: Fit):
    from analysis.fit.figure import fit_figure  # noqa: PLC0415 (matplotlib: half a second)

    return fit_figure(found)


def _measured(source: str | None, faults: list[str]) -> Measured | None:
    if not source:
        faults.append(fault(WHERE, "no --measured", "a CSV file of readings, what,value,… a line each", EXAMPLE))
        return None
    with gathered(faults):
        return read_measured(Path(source))
    return None


def _out(request: Request, faults: list[str]) -> Path | None:
    if not request.given["out"]:
        faults.append(fault(WHERE, "no --out", "a file to write the fitted scenario to", EXAMPLE))
        return None
    return read_output(request.given, "out", (".toml",), faults)


def _trials(scenario: Scenario) -> int:
    """About how many trials a fit takes."""
    return 4 * len(belief(scenario).names) + 30


def _told(request: Request, what: str, about: int):
    meter, done = request.meter(what), 0

    def tell(count: int) -> None:
        nonlocal done
        done += count
        meter(min(done, about - 1), about)

    return tell
