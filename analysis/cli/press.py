"""`rowbench press FILE`: what the notch of the press wheel's spring does."""

from __future__ import annotations

import argparse

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.crossing_failures import told_as_fault
from analysis.cli.parts.file_keys import KEYS, read_changes
from analysis.cli.parts.number_options import Option, add_numbers, read_numbers, read_workers
from analysis.cli.parts.output_files import read_figure
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.size import tell_search
from analysis.cli.parts.warmup import ready
from analysis.setting_up.press_wheel import notches_to_try, press_wheel, speeds_to_try
from analysis.setting_up.press_words import press_text

OPTIONS = {
    "notches": Option(-10, 10, "", "notches of the press wheel's spring to try", "=-3:3:7", series=True, whole=True)
}


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "file", "--json", "--pressure", "--speed", "--speeds", "--seeds", "--workers")
    add_numbers(parser, OPTIONS)
    add_set(parser)
    add_shared(parser, "--figure")


def answer(request: Request) -> Answer:
    """Loads of closing zone and gauge wheel by notch. Raises ScenarioError with all faults."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    read_set(given, changes, faults)
    need_file(request, faults)
    notches = read_numbers(given, OPTIONS, faults).get("notches")
    figure, workers = read_figure(given, faults), read_workers(given, faults)
    scenario = read_scenario(request, faults, changes)
    speeds = scenario.search.speeds if KEYS["speeds"] in changes else speeds_to_try(scenario)
    count = len(notches or notches_to_try(scenario.unit, scenario.settings.press_notch))
    tell_search(request, scenario, workers, settings=count, speeds=speeds, kept=True)
    with told_as_fault(scenario):
        ready(request, scenario.unit)
        found = press_wheel(
            scenario,
            None if notches is None else [round(n) for n in notches],
            scenario.search.speeds if KEYS["speeds"] in changes else None,
            workers,
            request.meter("crossings"),
        )

    def draw():
        from analysis.setting_up.figure_press_wheel import press_figure  # noqa: PLC0415 (matplotlib: half a second)

        return press_figure(found, scenario.title)

    text = press_text(found, f"{scenario.title} ({scenario.name})", scenario.warnings)
    document = {**found.to_dict(), "warnings": list(scenario.warnings), **changed_document(scenario)}
    return Answer(
        text,
        document,
        figures=() if figure is None else ((figure, draw),),
    )
