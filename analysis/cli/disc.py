"""`rowbench disc FILE`: what turns the disc."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

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
from analysis.setting_up.disc_drive import STICKINESS, DiscDrive, disc_drive
from analysis.setting_up.disc_words import disc_text
from scenarios.format.errors import fault
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.run import simulate

OPTIONS = {
    "depths": Option(5.0, 150.0, "mm", "set depths to try", "30:50:3", series=True),
    "strengths": Option(0.05, 10.0, "MPa", "soil strengths to try", "0.3:1.8:6", series=True),
    "diameters": Option(200.0, 1200.0, "mm", "diameters of the disc to try", "450:700:6", series=True),
    "stickiness": Option(0.01, 1000.0, "", "factors on the drag of bearing and scraper to try", "1:10:4", series=True),
}


LEAST_FRICTION = 1e-3


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "file", "--json", "--pressure", "--speed")
    add_numbers(parser, OPTIONS)
    add_set(parser)
    add_shared(parser, "--figure")


def answer(request: Request) -> Answer:
    """What turns the disc by depth, strength and diameter. Raises ScenarioError with all faults."""
    faults = list(request.faults)
    changes = read_changes(request.given, faults)
    read_set(request.given, changes, faults)
    need_file(request, faults)
    asked, figure = read_numbers(request.given, OPTIONS, faults), read_figure(request.given, faults)
    scenario = read_scenario(request, faults, changes, _nothing_turns_it)
    with told_as_fault(scenario):
        ready(request, scenario.unit)
        found = _driven(scenario, asked)

    def draw():
        from analysis.setting_up.figure_disc_drive import disc_figure  # noqa: PLC0415 (matplotlib: half a second)

        return disc_figure(found, scenario.title)

    text = disc_text(found, f"{scenario.title} ({scenario.name})", scenario.warnings)
    document = {**found.to_dict(), "warnings": list(scenario.warnings), **changed_document(scenario)}
    return Answer(
        text,
        document,
        figures=() if figure is None else ((figure, draw),),
    )


def _nothing_turns_it(scenario: Scenario) -> list[str]:
    """A fault where soil that slides freely along the face can turn no disc: there is no margin to tell."""
    friction = scenario.unit.disc.face_friction
    if friction >= LEAST_FRICTION:
        return []
    return [fault(f"{scenario.path}: unit.disc.face_friction", f"given {friction:g}: soil that slides so turns no disc",
                  f"{LEAST_FRICTION:g} to 1 for this command", "unit.disc.face_friction = 0.3")]  # fmt: skip


def _driven(scenario: Scenario, asked: Mapping[str, Any]) -> DiscDrive:
    """The drive of the disc, with what a crossing adds where the scenario can be crossed."""
    run, reason = None, ""
    try:
        run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    except SimulationError as error:
        reason = str(error)
    return disc_drive(
        scenario,
        run,
        depths=_scaled(asked, "depths", 1e-3),
        strengths=_scaled(asked, "strengths", 1e6),
        diameters=_scaled(asked, "diameters", 1e-3),
        stickiness=asked.get("stickiness", STICKINESS),
        reason=reason,
    )


def _scaled(asked: Mapping[str, Any], name: str, factor: float) -> list[float] | None:
    return None if name not in asked else [value * factor for value in asked[name]]
