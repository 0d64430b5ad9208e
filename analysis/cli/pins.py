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
from analysis.cli.parts.pins_of import Crossed, Wanted, of_paddock, of_scenario
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.pins.duty.duty import WELDED
from analysis.pins.duty.roses import roses
from analysis.pins.duty.worst import spectra
from analysis.pins.wear.beside_words import setting_lines, stone_lines
from analysis.pins.wear.document import beside_document, pins_document
from analysis.pins.wear.words import pins_text
from analysis.present.sentences import DRAWN, setting
from analysis.report.kind import PADDOCK, kind_of
from analysis.storage.formats import RESULTS
from analysis.storage.stored_scenario import stored_scenario
from scenarios.format.errors import ScenarioError, closest, fault, shown
from scenarios.format.tables import ROOT
from scenarios.paddock.load import is_paddock, load_paddock
from scenarios.paddock.tables import PADDOCK as PADDOCK_TABLE
from scenarios.scenario import Scenario
from sim.record import PINS

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
    "pin_limit": Option(0.1, 1000.0, "kN", "how often on a hectare stones bring more than this on a pin", "20"),
}
SCENARIO_ALONE = ("pressures", "speeds", "seeds", "seed", "profile")  # options that a paddock has no use for


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("file", nargs="?", metavar="FILE", help="a scenario, a paddock, or a result of run --save")
    parser.add_argument("--pin", metavar="NAME", help="tell this pin in full, not the one that wears out first")
    add_numbers(parser, OPTIONS)
    add_shared(parser, "--json", "--pressure", "--speed", "--seed", "--seeds", "--pressures", "--speeds", "--profile",
               "--workers")  # fmt: skip
    add_set(parser)
    for name, text in FIGURE_OPTIONS.items():
        parser.add_argument(f"--{name}", metavar="PNG", help=text)


def answer(request: Request) -> Answer:
    """Pins and bushes over a year's work. Raises ScenarioError with all faults."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    whole = bool(request.source) and is_paddock(request.source)
    read_set(given, changes, faults, PADDOCK_TABLE if whole else ROOT)
    need_file(request, faults)
    pin, asked = _pin(given, faults), read_numbers(given, OPTIONS, faults)
    workers = read_workers(given, faults)
    asked_for = {name: read_figure(given, faults, name) for name in FIGURE_OPTIONS}
    wanted = Wanted(
        pin, asked.get("hectares_a_year"), asked.get("width"), _newton(asked.get("pin_limit")), workers,
        tried=given["pressures"] is not None or given["speeds"] is not None, several=given["seeds"] is not None,
        grid=asked_for["figure"] is not None,
    )  # fmt: skip
    if whole:
        made = _paddock(request, changes, wanted, faults)
    else:
        stored = request.source.lower().endswith(RESULTS)
        scenario = _stored(request, changes, faults) if stored else read_scenario(request, faults, changes)
        with told_as_fault(scenario):
            made = of_scenario(request, scenario, wanted)

    drawings = {"figure": _life, "spectrum": _spectrum, "rose": _rose}
    beside = [*stone_lines(made.told, made.passed), *setting_lines(made.tried, made.told.of.name)]
    return Answer(
        pins_text(made.told, made.title, beside),
        {**pins_document(made.told), **beside_document(made.told, made.passed, made.tried), **made.changed},
        figures=tuple((path, partial(drawings[name], made)) for name, path in asked_for.items() if path),
    )


def _newton(kilonewton: float | None) -> float | None:
    return None if kilonewton is None else 1e3 * kilonewton


def _paddock(request: Request, changes: Mapping[str, Any], wanted: Wanted, faults: list[str]) -> Crossed:
    """Rows that stand for a paddock. Raises ScenarioError with all faults."""
    for name in SCENARIO_ALONE:
        if request.given[name] is not None:
            faults.append(fault(f"--{name}", "given with a paddock", "--pressure and --speed: one setting of it",
                                f"leave --{name} out"))  # fmt: skip
    if wanted.grid:
        faults.append(fault("--figure", "given with a paddock", "with a scenario: it crosses many settings",
                            "--spectrum or --rose"))  # fmt: skip
    paddock = None
    with gathered(faults):
        paddock = load_paddock(request.source, changes)
        faults += overwrite_faults(request.given, paddock.read_from)
    refuse(faults)
    assert paddock is not None
    return of_paddock(request, paddock, wanted)


def _life(made: Crossed) -> Figure:
    """Bush pressure against span, life against pressure and speed."""
    from analysis.pins.wear.figure_life import life_figure  # noqa: PLC0415 (matplotlib: half a second)

    assert made.grid is not None  # asked for with --figure alone
    return life_figure(made.told, made.spans(), made.grid, made.title)


def _spectrum(made: Crossed) -> Figure:
    """Spectra of the pin asked for, or of those with the largest equivalent ranges."""
    from analysis.pins.duty.figure_spectrum import LOOKS, spectrum_figure  # noqa: PLC0415 (matplotlib)

    told = made.told
    pins = [told.of.name] if told.asked_for else list(PINS)
    shown = [one for one in spectra(told.over, pins, WELDED) if one.spectrum.ranges.size]
    return spectrum_figure(shown[: len(LOOKS)], told.pins.farm.per_hectare, WELDED, _under(made))


def _rose(made: Crossed) -> Figure:
    """Roses of the pin asked for, or of those that do not hide each other on the drawn unit."""
    from analysis.pins.duty.figure_rose import SHOWN, pin_rose_figure, rose_figure  # noqa: PLC0415 (matplotlib)

    told, run = made.told, made.run
    if told.asked_for:
        pair = roses(told.over, told.of.name)
        return pin_rose_figure(run.unit, run.setting, told.of.name, pair, _under(made))
    return rose_figure(run.unit, run.setting, {pin: roses(told.over, pin) for pin in SHOWN}, _under(made))


def _under(made: Crossed) -> str:
    """The settings that a figure of loads holds for."""
    settings = made.told.work.settings
    return f"“{made.title}”, {setting(settings.oil_pressure, settings.speed, DRAWN, ', ')}."


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
            raise ScenarioError([fault(str(path), "a stored paddock", "a paddock's file, a scenario, or a result of "
                                       "rowbench run --save", "rowbench pins FILE with the paddock's file, "
                                       "--pressure and --speed of its setting")])  # fmt: skip
        found = stored_scenario(path, changes)
    refuse(faults)
    assert found is not None
    return found
