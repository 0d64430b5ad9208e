"""`rowbench design FILE --free KEY=LOW:HIGH … --out FOLDER`: the front between hectares, depth and pin load."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from analysis.cli.parts.answer import Answer, Write, stopped_by, text_file
from analysis.cli.parts.faults import refuse
from analysis.cli.parts.file_keys import read_changes
from analysis.cli.parts.number_options import Option, add_numbers, read_numbers, read_workers
from analysis.cli.parts.output_files import read_figure
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.warmup import ready
from analysis.design.document import design_document
from analysis.design.files import design_text, file_names
from analysis.design.free import Space, read_free
from analysis.design.judged import Judge
from analysis.design.search import Search, need_optimiser, search
from analysis.design.search import Stopped as SearchStopped
from analysis.design.words import design_text as screen
from analysis.present.scenario_words import scenario_title
from analysis.storage.safe_write import folder_fault
from scenarios.format.errors import fault, shown

WHERE = "rowbench design"
TRIES = 800
OPTIONS = {"tries": Option(40, 20_000, "", "designs to try", "800")}


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "file", "--json")
    parser.add_argument("--free", action="append", metavar="KEY=LOW:HIGH",
                        help="a value to search: settings.precharge_bar=20:28 (as often as needed)")  # fmt: skip
    parser.add_argument("--out", metavar="DIR", help="a new folder for the designs of the front, each a file to run")
    add_numbers(parser, OPTIONS)
    add_shared(parser, "--pressure", "--speeds", "--seed", "--seeds", "--workers", "--figure")
    add_set(parser)


def answer(request: Request) -> Answer:
    """Search designs, write the front. Raises ScenarioError with all faults; Stopped on Ctrl-C, the front written."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    read_set(given, changes, faults)
    need_file(request, faults)
    tries = round(read_numbers(given, OPTIONS, faults).get("tries", TRIES))
    workers, figure = read_workers(given, faults), read_figure(given, faults)
    folder = _folder(given, faults)
    if not given["free"]:
        faults.append(fault(WHERE, "nothing free", "--free KEY=LOW:HIGH, once or more",
                            "--free settings.precharge_bar=20:28"))  # fmt: skip
    scenario = read_scenario(request, faults, changes)
    free = read_free(given["free"] or (), scenario, faults)
    refuse(faults)
    need_optimiser()
    ready(request, scenario.unit, one=False, of_any=True)
    assert folder is not None  # without --out there is a fault
    speeds = scenario.search.speeds
    still = replace(scenario, settings=replace(scenario.settings, setting="redone"))
    own = Judge.on(Space(still, (), (still.settings.speed,) * 2), scenario.search_seeds).one(np.zeros(0))
    space, title = Space(scenario, free, (min(speeds), max(speeds))), scenario_title(scenario)
    stopped: SearchStopped | None = None
    try:
        found = search(space, own, tries, workers=workers, progress=request.meter("designs"))
    except SearchStopped as ended:
        stopped, found = ended, ended.found
    refuse(_taken(folder))  # by now, by someone else

    def draw():
        from analysis.design.figure import design_figure  # noqa: PLC0415 (matplotlib: half a second)

        return design_figure(found, title)

    told = Answer(
        screen(found, title, str(folder)),
        {**design_document(found), **changed_document(scenario)},
        files=_files(found, folder),
        folder=folder if found.front else None,
    )
    if stopped is not None:
        tried = f"{found.tried} of {found.asked} designs were tried"
        said = (
            f"{tried}: their front stands in {folder}" if found.front else f"{tried}, none of which meets every limit"
        )
        raise stopped_by(stopped, said, told)
    return replace(told, figures=() if figure is None else ((figure, draw),))


def _files(found: Search, folder: Path) -> tuple[tuple[Path, Write], ...]:
    return tuple(
        (folder / name, text_file(design_text(found, one, folder)))
        for name, one in zip(file_names(found), found.front, strict=True)
    )


def _folder(given: Mapping[str, Any], faults: list[str]) -> Path | None:
    """The folder asked for: a new one, or one with nothing in it."""
    if given["out"] is None:
        faults.append(fault(WHERE, "no --out", "a new folder for the designs of the front", "--out designs"))
        return None
    folder = Path(given["out"])
    wrong = folder_fault(folder, "--out", "design_01.toml")
    faults += _taken(folder) if wrong is None else [wrong]
    return folder


def _taken(folder: Path) -> list[str]:
    """A fault of a folder that has something in it already."""
    if not (folder.is_dir() and any(folder.iterdir())):
        return []
    given = f"given {shown(str(folder))}, which has files in it"
    other = folder.with_name(f"{folder.name}_2") if folder.name else "designs"
    return [fault("--out", given, "a new or an empty folder", f"--out {other}")]
