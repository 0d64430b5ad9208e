"""`rowbench run FILE`: one crossing."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.crossing_failures import told_as_fault
from analysis.cli.parts.file_keys import read_changes
from analysis.cli.parts.output_files import read_figure, read_output
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.stone import add_stone, read_stone, stone_faults, stone_part
from analysis.cli.parts.warmup import ready
from analysis.cli.parts.worn import add_worn, read_worn
from analysis.crossing.summary import run_summary
from analysis.crossing.words import run_text
from analysis.present.scenario_words import scenario_title
from analysis.storage.formats import RESULTS
from scenarios.format.errors import closest, fault, shown
from scenarios.scenario import Scenario
from sim.record import Run
from sim.run import simulate

ENGINES = ("compiled", "rigid")


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json", "file", "--pressure", "--speed", "--seed")
    parser.add_argument("--pins", action="store_true", help="also the table of pin loads")
    parser.add_argument("--details", action="store_true", help="the whole screen: all causes, pins, cautions")
    parser.add_argument("--save", metavar="H5", help="write every recorded series to an HDF5 file")
    parser.add_argument("--engine", metavar="NAME", default=ENGINES[0], help="compiled (default) or rigid")
    add_stone(parser)
    add_worn(parser)
    add_set(parser)
    add_shared(parser, "--profile", "--figure")


def answer(request: Request) -> Answer:
    """Cross once: depth and its causes, loads, pins, gas. Raises ScenarioError with all faults."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    read_worn(given, changes, faults)
    read_set(given, changes, faults)
    need_file(request, faults)
    stone_asked = read_stone(given, faults)
    engine = _engine(given, faults)
    figure, kept = read_figure(given, faults), read_output(given, "save", RESULTS, faults)
    scenario = read_scenario(request, faults, changes, lambda scenario: stone_faults(stone_asked, scenario))
    compiled = ready(request, scenario.unit, rows="stone" in stone_asked, timed=True)
    with told_as_fault(scenario):
        run = replace(_crossed(scenario, engine), compile_wall=compiled)
    document, settings = {**run_summary(run, scenario), "engine": run.engine}, scenario.settings
    stone = stone_part(stone_asked, scenario, settings.oil_pressure, settings.speed, None)
    title, tolerance = scenario_title(scenario), scenario.limits.depth_tolerance
    stones = bool((run.track.stone_id >= 0).any())
    text = run_text(
        document, title, tolerance * 1e3, stones,
        feature=scenario.limits.on_feature, pins=given["pins"], details=given["details"],
    )  # fmt: skip

    def write(path):
        from analysis.storage.run_file import save_run  # noqa: PLC0415 (HDF5: a tenth of a second)

        save_run(path, run, scenario, document, changes)

    def draw():
        from analysis.crossing.figure_crossing import crossing_figure  # noqa: PLC0415 (matplotlib: half a second)

        return crossing_figure(run, document, tolerance, title)

    return Answer(
        f"{text}\n\n{stone.text}" if stone else text,
        {**document, **({"stone": stone.document} if stone else {}), **changed_document(scenario)},
        figures=() if figure is None else ((figure, draw),),
        files=() if kept is None else ((kept, write),),
    )


def _engine(given: Mapping[str, Any], faults: list[str]) -> str:
    """Name of the engine; a fault is added where there is none of that name."""
    engine = given["engine"]
    if engine not in ENGINES:
        near = closest(engine, ENGINES) or ENGINES[0]
        faults.append(fault("--engine", f"given {shown(engine)}", " or ".join(ENGINES), near))
    return engine


def _crossed(scenario: Scenario, engine: str) -> Run:
    if engine == "rigid":
        from sim.rigid.simulate import simulate_rigid  # noqa: PLC0415 (another engine: a tenth of a second)

        return simulate_rigid(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    return simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
