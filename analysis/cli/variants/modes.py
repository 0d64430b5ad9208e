"""`rowbench modes FILE`: what swings by itself, and which ridges at which speed shake it."""

from __future__ import annotations

import argparse
from functools import partial
from typing import TYPE_CHECKING

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.crossing_failures import told_as_fault
from analysis.cli.parts.file_keys import read_changes
from analysis.cli.parts.number_options import Option, add_numbers, read_numbers
from analysis.cli.parts.output_files import read_figure
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.warmup import ready
from analysis.modes.document import modes_document
from analysis.modes.found import Found, find
from analysis.modes.words import modes_text

if TYPE_CHECKING:
    from matplotlib.figure import Figure

OPTIONS = {
    "spacing": Option(
        0.1, 20.0, "m", "distance between the ridges along the row (default: the file's, or the worst)", "0.5"
    ),
    "height": Option(2.0, 500.0, "mm", "height of the ridges, furrow to crest (default: the file's, or 20)", "30"),
}


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "file", "--json", "--pressure", "--precharge", "--speed", "--seed", "--profile")
    add_numbers(parser, OPTIONS)
    add_set(parser)
    parser.add_argument("--details", action="store_true", help="all distances, transfer to loads, random ground, seals")
    add_shared(parser, "--figure")
    parser.add_argument("--shapes", metavar="PNG", help="what moves in each swing, drawn on the unit")


def answer(request: Request) -> Answer:
    """Swings, ridges by speed, random ground. Raises ScenarioError with all faults."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    read_set(given, changes, faults)
    need_file(request, faults)
    asked = read_numbers(given, OPTIONS, faults)
    drawn = ((read_figure(given, faults), _chart), (read_figure(given, faults, "shapes"), _shapes))
    scenario = read_scenario(request, faults, changes)
    with told_as_fault(scenario):
        ready(request, scenario.unit, small=True)
        height = asked["height"] / 1e3 if "height" in asked else None
        found = find(scenario, asked.get("spacing"), height, parted=given["details"] or request.json)
    return Answer(
        modes_text(found, details=given["details"]),
        {**modes_document(found), **changed_document(scenario)},
        figures=tuple((path, partial(draw, found)) for path, draw in drawn if path is not None),
    )


def _chart(found: Found) -> Figure:
    from analysis.modes.figure_chart import chart_figure  # noqa: PLC0415 (matplotlib: half a second)

    return chart_figure(found)


def _shapes(found: Found) -> Figure:
    from analysis.modes.figure_shapes import shapes_figure  # noqa: PLC0415 (matplotlib)

    return shapes_figure(found)
