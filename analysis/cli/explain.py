"""`rowbench explain FILE`: why the depth moves, in words, as figures and as a moving picture."""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from analysis.cli.parts.answer import Answer, Write
from analysis.cli.parts.file_keys import read_changes
from analysis.cli.parts.number_options import number, read_workers
from analysis.cli.parts.output_files import read_figure, read_output
from analysis.cli.parts.request import Request
from analysis.cli.parts.scenario_file import need_file, read_scenario
from analysis.cli.parts.set_option import add_set, changed_document, read_set
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.size import tell_explained
from analysis.cli.parts.warmup import ready
from analysis.cli.parts.worn import add_worn, read_worn
from analysis.explain.document import document
from analysis.explain.explain import Explanation, check_stretch, explain
from analysis.explain.words import explain_text
from analysis.present.scenario_words import scenario_title
from analysis.storage.safe_write import folder_fault
from scenarios.format.errors import fault, shown

MOVIES = (".gif",)


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "file", "--json")
    parser.add_argument("--from", dest="first", metavar="M", help="start of the stretch to explain, m along the track")
    parser.add_argument("--to", dest="last", metavar="M", help="its end")
    add_shared(parser, "--pressure", "--speed", "--seed", "--profile")
    parser.add_argument("--figure", metavar="PNG", help="the parts of the depth error along the ground")
    parser.add_argument("--movie", metavar="GIF", help="the unit crossing the worst place, or the stretch asked for")
    parser.add_argument("--figures", metavar="DIR", help="every figure of the crossing, one file each, into a folder")
    parser.add_argument(
        "--all", action="store_true", help="tell every place, episode and breakout, not the gravest alone"
    )
    add_worn(parser)
    add_set(parser)
    add_shared(parser, "--workers")


def answer(request: Request) -> Answer:
    """Explain a crossing. Raises ScenarioError with all faults, and for a stretch off the measured ground."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    read_worn(given, changes, faults)
    read_set(given, changes, faults)
    need_file(request, faults)
    first, last = _metres(given, "first", "--from 120", faults), _metres(given, "last", "--to 140", faults)
    movie, folder = read_output(given, "movie", MOVIES, faults), _folder(given, faults)
    figure, workers = read_figure(given, faults), read_workers(given, faults)
    scenario = read_scenario(request, faults, changes)
    check_stretch(scenario, first, last)
    tell_explained(scenario)
    ready(request, scenario.unit)
    told = explain(scenario, first, last, workers, request.meter("changes tried"))
    files: list[tuple[Path, Write]] = []
    if movie is not None:
        files.append((movie, _movie(told, asked=first is not None or last is not None)))
    if folder is not None:
        from analysis.explain.figures import all_figures  # noqa: PLC0415 (matplotlib: half a second)

        files += [(folder / f"{name}.png", write) for name, write in all_figures(told)]

    def draw():
        from analysis.explain.figure_causes import causes_figure  # noqa: PLC0415 (matplotlib: half a second)

        return causes_figure(told)

    return Answer(
        explain_text(told, scenario_title(scenario), bool(given["all"])),
        {**document(told), **changed_document(scenario)},
        figures=() if figure is None else ((figure, draw),),
        files=tuple(files),
        folder=folder,
    )


def _movie(told: Explanation, asked: bool) -> Callable[[Path], object]:
    """Writes the moving picture. asked: of the stretch explained, in place of the worst place."""

    def write(path: Path) -> None:
        from analysis.movie.movie import save_movie  # noqa: PLC0415 (matplotlib: half a second)

        save_movie(told, path, asked)

    return write


def _metres(given: Mapping[str, Any], name: str, example: str, faults: list[str]) -> float | None:
    """A place along the track [m], None where it is not given or at fault. example: the option as it should be."""
    text = given[name]
    if text is None:
        return None
    value = number(text)
    if value is not None and math.isfinite(value):
        return value
    faults.append(fault(example.split(maxsplit=1)[0], f"given {shown(text)}", "metres along the track", example))
    return None


def _folder(given: Mapping[str, Any], faults: list[str]) -> Path | None:
    """The folder for all figures, there already or in a folder that is; a fault is added."""
    if given["figures"] is None:
        return None
    folder = Path(given["figures"])
    if not given["figures"]:  # an empty name is a slip, not the folder one stands in
        faults.append(fault("--figures", 'given ""', "a folder, or a new one in a folder that is there", "figures"))
        return None
    wrong = folder_fault(folder, "--figures", "causes.png")
    faults += [wrong] if wrong else []
    return folder
