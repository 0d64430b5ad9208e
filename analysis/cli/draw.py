"""`rowbench draw FILE`: the unit drawn to scale."""

from __future__ import annotations

import argparse
from typing import Any

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.crossing_failures import told_as_fault
from analysis.cli.parts.output_files import read_figure
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.present.library_words import points_text
from analysis.present.unit_points import unit_points
from sim.run import prepare


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json", "file")
    add_set(parser)
    parser.add_argument("--figure", metavar="PNG", help="where to draw it (.png, .svg or .pdf)")


def answer(request: Request) -> Answer:
    """Where pins, hubs and axles lie at the depth setting. Raises ScenarioError with all faults."""
    faults = list(request.faults)
    changes: dict[str, Any] = {}
    read_set(request.given, changes, faults)
    need_file(request, faults)
    figure = read_figure(request.given, faults)
    scenario = read_scenario(request, faults, changes)
    unit, settings = scenario.unit, scenario.settings
    with told_as_fault(scenario):
        setting = prepare(unit, scenario.soil, scenario.stones.contact, settings).setting
    points = unit_points(unit, setting.crank_angle, unit.main_links.angle_nominal, setting.press_angle)

    def draw():
        from analysis.present.figure_unit import unit_figure  # noqa: PLC0415 (matplotlib: half a second)

        return unit_figure(unit, setting, settings, scenario.title)

    return Answer(
        points_text(scenario.title, points, scenario.warnings),
        {
            "scenario": scenario.name,
            "points_from_O_m": {name: list(place) for name, place in points.items()},
            "warnings": list(scenario.warnings),
            **changed_document(scenario),
        },
        figures=() if figure is None else ((figure, draw),),
    )
