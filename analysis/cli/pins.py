"""`rowbench pins FILE|RESULT`: what pins and bushes bear, how they wear, how long they last."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.crossing_failures import told_as_fault
from analysis.cli.parts.faults import gathered, refuse
from analysis.cli.parts.file_keys import read_changes
from analysis.cli.parts.number_options import Option, add_numbers, read_numbers, read_workers
from analysis.cli.parts.output_files import overwrite_faults, read_figure
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.warmup import ready
from analysis.pins.duty.duty import WELDED
from analysis.pins.duty.roses import roses
from analysis.pins.duty.worst import spectra
from analysis.pins.wear.at_settings import LifeGrid, SpanLine, life_grid, span_line
from analysis.pins.wear.document import pins_document
from analysis.pins.wear.told import Told, told_pins
from analysis.pins.wear.words import pins_text
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import DRAWN, setting
from analysis.report.kind import PADDOCK, kind_of
from analysis.storage.formats import RESULTS
from analysis.storage.stored_scenario import stored_scenario
from scenarios.format.errors import ScenarioError, closest, fault, shown
from scenarios.scenario import Scenario
from sim.record import PINS, Run
from sim.run import simulate

if TYPE_CHECKING:
    from matplotlib.figure import Figure

FIGURE_OPTIONS = {
    "figure": "bush pressure against pin span, and life against pressure and speed",
    "spectrum": "how often on a hectare each load comes",
    "rose": "where the loads point, on the drawn unit",
}
OPTIONS = {
    "hectares_a_year": Option(1.0, 100_000.0, "ha", "hectares that the machine does in a year", "3000"),
    "width": Option(0.25, 60.0, "m", "working width of the machine, in place of its rows × row spacing", "12"),
}


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="a scenario, or a result of run --save")
    parser.add_argument("--pin", metavar="NAME", help="tell this pin in full, not the one that wears out first")
    add_numbers(parser, OPTIONS)
    add_shared(parser, "--json", "--pressure", "--speed", "--seed", "--profile", "--workers")
    add_set(parser)
    for name, text in FIGURE_OPTIONS.items():
        parser.add_argument(f"--{name}", metavar="PNG", help=text)


def answer(request: Request) -> Answer:
    """Pins and bushes of one crossing over a year's work. Raises ScenarioError with all faults."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    read_set(given, changes, faults)
    need_file(request, faults)
    pin, asked = _pin(given, faults), read_numbers(given, OPTIONS, faults)
    workers = read_workers(given, faults)
    asked_for = {name: read_figure(given, faults, name) for name in FIGURE_OPTIONS}
    if request.source.lower().endswith(RESULTS):
        scenario = _stored(request, changes, faults)
    else:
        scenario = read_scenario(request, faults, changes)
    hectares, width = asked.get("hectares_a_year"), asked.get("width")
    with told_as_fault(scenario):
        ready(request, scenario.unit)
        run = simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)
    told = told_pins(scenario, run, hectares, pin, width)

    shown_in = None if asked_for["figure"] is None else _for_figure(request, told, run, hectares, workers)
    drawings = {"figure": _life, "spectrum": _spectrum, "rose": _rose}
    return Answer(
        pins_text(told, scenario_title(scenario)),
        {**pins_document(told), **changed_document(scenario)},
        figures=tuple((path, partial(drawings[name], told, run, shown_in)) for name, path in asked_for.items() if path),
    )


def _life(told: Told, run: Run, shown_in: tuple[SpanLine, LifeGrid] | None) -> Figure:
    """Bush pressure against span, life against pressure and speed."""
    from analysis.pins.wear.figure_life import life_figure  # noqa: PLC0415 (matplotlib: half a second)

    assert shown_in is not None  # asked for with --figure alone
    return life_figure(told, *shown_in, scenario_title(told.scenario))


def _spectrum(told: Told, run: Run, _: object) -> Figure:
    """Spectra of the pin asked for, or of those with the largest equivalent ranges."""
    from analysis.pins.duty.figure_spectrum import LOOKS, spectrum_figure  # noqa: PLC0415 (matplotlib)

    pins = [told.of.name] if told.asked_for else list(PINS)
    shown = [one for one in spectra(told.over, pins, WELDED) if one.spectrum.ranges.size]
    return spectrum_figure(shown[: len(LOOKS)], told.pins.farm.per_hectare, WELDED, _under(told))


def _rose(told: Told, run: Run, _: object) -> Figure:
    """Roses of the pin asked for, or of those that do not hide each other on the drawn unit."""
    from analysis.pins.duty.figure_rose import SHOWN, pin_rose_figure, rose_figure  # noqa: PLC0415 (matplotlib)

    if told.asked_for:
        pair = roses(told.over, told.of.name)
        return pin_rose_figure(run.unit, run.setting, told.of.name, pair, _under(told))
    return rose_figure(run.unit, run.setting, {pin: roses(told.over, pin) for pin in SHOWN}, _under(told))


def _under(told: Told) -> str:
    """The settings that a figure of loads holds for."""
    settings = told.scenario.settings
    return f"“{scenario_title(told.scenario)}”, {setting(settings.oil_pressure, settings.speed, DRAWN, ', ')}."


def _for_figure(
    request: Request, told: Told, run: Run, hectares: float | None, workers: int | None
) -> tuple[SpanLine, LifeGrid]:
    """What the figure shows: pressures over spans, and lives over settings, which are crossed for it."""
    name = told.of.name
    grid = life_grid(told.scenario, name, told.pins.farm.width, hectares, workers, request.meter("crossings"))
    return span_line(run, name), grid


def _pin(given: Mapping[str, Any], faults: list[str]) -> str | None:
    """The pin asked for: its name as it stands in files or as it is spoken."""
    text = given["pin"]
    if text is None:
        return None
    name = str(text).strip().lower().replace(" ", "_").replace("-", "_")
    if name in PINS:
        return name
    faults.append(fault("--pin", f"given {shown(text)}", ", ".join(PINS), f"--pin {closest(name, PINS) or PINS[2]}"))
    return None


def _stored(request: Request, changes: Mapping[str, Any], faults: list[str]) -> Scenario:
    """The scenario of a stored run. Raises ScenarioError for a paddock's result, and one that is not whole."""
    path = Path(request.source)
    faults += overwrite_faults(request.given, [path])
    if request.given["profile"] is not None:
        faults.append(
            fault("--profile", "given with a stored result", "the ground stored in it", "leave --profile out")
        )
    found: Scenario | None = None
    with gathered(faults):
        if kind_of(path) == PADDOCK:
            raise ScenarioError([fault(str(path), "a stored paddock", "a scenario, or a result of rowbench run --save",
                                       "rowbench pins with the scenario of one row")])  # fmt: skip
        found = stored_scenario(path, changes)
    refuse(faults)
    assert found is not None
    return found
