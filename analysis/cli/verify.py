"""`rowbench verify [FILE]`: checks of the numbers themselves, of one scenario or of the whole library."""

from __future__ import annotations

import argparse

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.crossing_failures import told_as_fault
from analysis.cli.parts.faults import refuse
from analysis.cli.parts.output_files import read_figure
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.warmup import ready
from analysis.present.texts import paragraph
from analysis.verify.checks import VerifyResult, verify_scenario
from analysis.verify.engines import compare_engines
from analysis.version import VERSION
from scenarios.format.errors import fault
from scenarios.format.library import library
from scenarios.load import load
from scenarios.scenario import Scenario


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json", "file")
    parser.add_argument("--full", action="store_true", help="all checks on the whole length")
    parser.add_argument("--figure", metavar="PNG", help="draw every check against its bound (.png, .svg or .pdf)")
    parser.add_argument("--engines", metavar="PNG", help="draw both engines over each other on a hump and a stone")


def answer(request: Request) -> Answer:
    """The checks of FILE, or of every scenario of the library. Raises ScenarioError with all faults."""
    faults = list(request.faults)
    figure, engines = read_figure(request.given, faults), read_figure(request.given, faults, "engines")
    if request.given["file"] == "":  # an empty name is a slip, not the whole library
        need_file(request, faults)
        refuse(faults)
    if not request.source:
        if figure is not None or engines is not None:
            faults.append(fault("rowbench verify", "a figure without a FILE", "one scenario for a figure",
                                "rowbench verify rough --figure checks.png"))  # fmt: skip
        refuse(faults)
        return _library(request)
    scenario = read_scenario(request, faults)
    result = _checked(request, scenario)

    def draw_checks():
        from analysis.verify.figure import verify_figure  # noqa: PLC0415 (matplotlib: half a second)

        return verify_figure(result)

    def draw_engines():
        from analysis.verify.figure_engines import engines_figure  # noqa: PLC0415 (matplotlib: half a second)

        with told_as_fault(scenario):
            return engines_figure(compare_engines(scenario))

    end = "All checks passed." if result.passed else "At least one check FAILED: do not trust this scenario's numbers."
    asked = ((figure, draw_checks), (engines, draw_engines))
    return Answer(
        "\n".join([*_folded(result), end]),
        {**result.document(), "version": VERSION},
        figures=tuple((path, draw) for path, draw in asked if path is not None),
        passed=result.passed,
    )


def _library(request: Request) -> Answer:
    """Every scenario of the library, each shown when it is checked."""
    results = []
    for entry in library("scenario"):
        request.say(f"{entry.name}:")
        results.append(_checked(request, load(entry.name)))
        request.show("\n".join(_folded(results[-1])))
    failed = [result.scenario for result in results if not result.passed]
    return Answer(
        f"At least one check FAILED in {', '.join(failed)}: do not trust their numbers."
        if failed
        else f"All checks of {len(results)} scenarios passed.",
        {"passed": not failed, "scenarios": [result.document() for result in results], "version": VERSION},
        passed=not failed,
    )


def _folded(result: VerifyResult) -> list[str]:
    """The lines of a result on a screen."""
    return [part for line in result.lines() for part in paragraph(line.strip(), first=_lead(line), indent=8)]


def _lead(line: str) -> str:
    return line[: len(line) - len(line.lstrip())]


def _checked(request: Request, scenario: Scenario) -> VerifyResult:
    ready(request, scenario.unit)
    with told_as_fault(scenario):
        return verify_scenario(scenario, full=request.given["full"], progress=lambda text: request.say(f"{text}…"))
