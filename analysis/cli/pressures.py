"""`rowbench pressures FILE`: what the oil pressure does, the precharge and the accumulator."""

from __future__ import annotations

import argparse

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.crossing_failures import told_as_fault
from analysis.cli.parts.file_keys import read_changes
from analysis.cli.parts.number_options import Option, add_numbers, read_numbers
from analysis.cli.parts.output_files import read_figure
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.setting_up.precharge import precharge, sizes
from analysis.setting_up.pressure_chart import COLD, HOT, chart
from analysis.setting_up.pressure_words import pressures_text
from scenarios.format.errors import ScenarioError, fault

EVENNESS = 50.0  # change of the downforce over the travel that an accumulator is sized for [%] (assumed)
OPTIONS = {
    "cold": Option(-40.0, 60.0, "°C", "gas temperature on a cold morning", "0"),
    "hot": Option(-40.0, 60.0, "°C", "gas temperature on a hot afternoon", "35"),
    "evenness": Option(1.0, 1000.0, "%", "change of the downforce over the travel to size the accumulator for", "50"),
    "travel": Option(10.0, 1000.0, "mm", "how far the disc moves up and down, for the accumulator's size", "100"),
}


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "file", "--json", "--pressure", "--precharge")
    shown = "oil pressures to show, bar: first:last:count or a list 40,50,60"
    parser.add_argument("--pressures", metavar="A:B:N", help=shown)
    add_numbers(parser, OPTIONS)
    add_set(parser)
    add_shared(parser, "--figure")


def answer(request: Request) -> Answer:
    """The chart of oil pressures, precharge and accumulator. Raises ScenarioError with all faults."""
    faults = list(request.faults)
    changes = read_changes(request.given, faults)
    read_set(request.given, changes, faults)
    need_file(request, faults)
    asked, figure = read_numbers(request.given, OPTIONS, faults), read_figure(request.given, faults)
    scenario = read_scenario(request, faults, changes)
    cold, hot, travel = asked.get("cold", COLD), asked.get("hot", HOT), asked.get("travel")
    if not cold < hot:
        raise ScenarioError([fault("--cold", f"given {cold:g} °C", f"below --hot, {hot:g} °C", "--cold 0 --hot 35")])
    with told_as_fault(scenario):
        found = chart(scenario, None, cold, hot)
        advice = precharge(found)
        volumes = sizes(found, asked.get("evenness", EVENNESS) / 100.0, None if travel is None else travel / 1e3)

    def draw():
        from analysis.setting_up.figure_pressures import pressures_figure  # noqa: PLC0415 (matplotlib: half a second)

        return pressures_figure(found, scenario.title)

    document = {
        "scenario": scenario.name,
        **found.to_dict(),
        "precharge_advice": advice.to_dict(),
        "accumulator": [size.to_dict() for size in volumes],
        "warnings": list(scenario.warnings),
        **changed_document(scenario),
    }
    text = pressures_text(found, advice, volumes, f"{scenario.title} ({scenario.name})", scenario.warnings)
    return Answer(text, document, figures=() if figure is None else ((figure, draw),))
