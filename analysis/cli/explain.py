"""`rowbench explain FILE`: why the depth moves, in words, as a figure, as a moving picture, and all single figures.

`add_parser` adds the command, `read_extra` checks its own options, `answer` does it. Printing and writing is left to
`analysis.cli.main`.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scenarios.format.errors import fault, shown

if TYPE_CHECKING:
    from analysis.cli.arguments import Request
    from analysis.present.progress import Meter
    from scenarios.scenario import Scenario

NAME = "explain"
SUMMARY = "why the depth moves: worst places, wheel-off episodes, breakouts, and what helps"
MOVIES = (".gif",)


@dataclass(frozen=True)
class Answer:
    """What a command found: its JSON document, its text, and writers of the files asked for by path."""

    document: dict[str, Any]
    text: str
    files: tuple[tuple[Path, Callable[[Path], object]], ...] = ()


def add_parser(commands: Any) -> None:
    """Add the command to the subparsers of the command line."""
    made: argparse.ArgumentParser = commands.add_parser(
        NAME, help=SUMMARY, description=SUMMARY[0].upper() + SUMMARY[1:] + ".", allow_abbrev=False
    )
    made.add_argument("file", nargs="?", metavar="FILE")
    made.add_argument("--json", action="store_true", help="one JSON document on standard output")
    made.add_argument("--from", dest="first", metavar="M", help="start of the stretch to explain, m along the track")
    made.add_argument("--to", dest="last", metavar="M", help="its end")
    made.add_argument("--pressure", metavar="BAR", help="oil pressure in place of the file's")
    made.add_argument("--speed", metavar="KMH", help="speed in place of the file's")
    made.add_argument("--seed", metavar="N", help="number that random ground starts from, in place of the file's")
    made.add_argument("--profile", metavar="CSV", help="measured ground: distance_m, height_m")
    made.add_argument("--figure", metavar="PNG", help="the parts of the depth error along the ground")
    made.add_argument("--movie", metavar="GIF", help="the unit crossing the worst place, or the stretch asked for")
    made.add_argument("--figures", metavar="DIR", help="every figure of the crossing, one file each, into a folder")
    made.add_argument("--workers", metavar="N", help="how many processor cores to use (default: all)")


def read_extra(given: Mapping[str, Any], faults: list[str]) -> dict[str, Any]:
    """Options of this command by name, those left out not among them; faults are added."""
    from analysis.storage.safe_write import output_fault  # noqa: PLC0415

    found: dict[str, Any] = {}
    for name, flag, example in (("first", "--from", "120"), ("last", "--to", "140")):
        if given.get(name) is not None:
            value = _metres(str(given[name]))
            if value is None:
                faults.append(fault(flag, f"given {shown(given[name])}", "metres along the track", f"{flag} {example}"))
            else:
                found[name] = value
    if given.get("movie") is not None:
        found["movie"] = Path(given["movie"])
        wrong = output_fault(found["movie"], "--movie", MOVIES)
        faults += [wrong] if wrong else []
    if given.get("figures") is not None:
        found["figures"] = Path(given["figures"])
        wrong = _folder_fault(found["figures"])
        faults += [wrong] if wrong else []
    return found


def _metres(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if math.isfinite(value) else None


def _folder_fault(folder: Path) -> str | None:
    from analysis.storage.safe_write import output_fault  # noqa: PLC0415

    given = f"given {shown(str(folder))}"
    if folder.is_dir():
        return output_fault(folder / "causes.png", "--figures", (".png",))
    if folder.exists():
        return fault("--figures", f"{given}, which is a file", "a folder", "another name")
    if not folder.parent.is_dir():
        return fault("--figures", f"{given}, but there is no folder {shown(str(folder.parent))}",
                     "a folder, or a new one in a folder that is there", f"mkdir -p {folder.parent}")  # fmt: skip
    return None


def answer(request: Request, scenario: Scenario, warm_up: Callable[[], float], meter: Callable[[str], Meter]) -> Answer:
    """Explain a scenario → document, text and files. Raises ScenarioError for a stretch off the measured ground."""
    from analysis.explain.document import document  # noqa: PLC0415
    from analysis.explain.explain import check_stretch, explain  # noqa: PLC0415
    from analysis.explain.words import explain_text  # noqa: PLC0415
    from analysis.present.scenario_words import scenario_title  # noqa: PLC0415

    extra = request.extra
    first, last = extra.get("first"), extra.get("last")
    check_stretch(scenario, first, last)
    warm_up()
    told = explain(scenario, first, last, request.workers or None, meter("changes tried"))
    files: list[tuple[Path, Callable[[Path], object]]] = []
    if request.figure is not None:
        from analysis.explain.figure_causes import causes_figure  # noqa: PLC0415
        from analysis.present.figure_style import save  # noqa: PLC0415

        figure = causes_figure(told)
        files.append((request.figure, lambda path: save(figure, path)))
    if "movie" in extra:
        from analysis.explain.movie import save_movie  # noqa: PLC0415

        asked = first is not None or last is not None
        files.append((extra["movie"], lambda path: save_movie(told, path, asked)))
    if "figures" in extra:
        from analysis.explain.figures import all_figures  # noqa: PLC0415

        extra["figures"].mkdir(exist_ok=True)
        files += [(extra["figures"] / f"{name}.png", write) for name, write in all_figures(told)]
    return Answer(document(told), explain_text(told, scenario_title(scenario)), tuple(files))
