"""`rowbench compare FILE_A FILE_B …` and `rowbench compare FILE --vary KEY=V1,V2`: designs on the same ground."""

from __future__ import annotations

import argparse
import time
from collections.abc import Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.cli.parts.answer import Answer, Write
from analysis.cli.parts.crossing_failures import told_as_fault
from analysis.cli.parts.faults import gathered, refuse
from analysis.cli.parts.file_keys import read_changes
from analysis.cli.parts.number_options import read_workers, whole
from analysis.cli.parts.output_files import overwrite_faults, read_figure, read_output
from analysis.cli.parts.request import Request
from analysis.cli.parts.set_option import OWN, Vary, add_set, add_vary, read_set, read_vary
from analysis.cli.parts.shared_options import add_shared
from analysis.cli.parts.size import tell_search
from analysis.cli.parts.warmup import ready
from analysis.compare.compare import GROUNDS, compare
from analysis.compare.designs import MOST, apart, designs_of
from analysis.compare.document import compare_document
from analysis.compare.pair import Pair, pair
from analysis.compare.words import compare_text
from analysis.storage.formats import RESULTS
from analysis.version import VERSION
from scenarios.changed.put_in import change_value, said
from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.load import load
from scenarios.scenario import Scenario

if TYPE_CHECKING:
    from matplotlib.figure import Figure

WHERE = "rowbench compare"
MOVIES = (".gif",)
LEAST_GROUNDS, MOST_GROUNDS = 1, 64


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    parser.add_argument("files", nargs="*", default=(), metavar="FILE", help="two to six scenarios, or one with --vary")
    add_vary(parser)
    add_set(parser)
    parser.add_argument("--grounds", metavar="N", help=f"on how many grounds to compare (default {GROUNDS})")
    parser.add_argument("--details", action="store_true", help="also every measure of each at its own pick")
    add_shared(parser, "--json", "--pressures", "--speeds", "--seeds", "--profile", "--workers")
    parser.add_argument("--figure", metavar="PNG", help="all differences with their intervals")
    parser.add_argument("--crossings", metavar="PNG", help="both over the place where they differ most, side by side")
    parser.add_argument("--movie", metavar="GIF", help="the same as a moving picture")


def answer(request: Request) -> Answer:
    """Compare designs. Raises ScenarioError with all faults."""
    faults, given = list(request.faults), request.given
    changes = read_changes(given, faults)
    read_set(given, changes, faults)
    vary = read_vary(given, changes, faults)
    grounds, workers = _grounds(given, faults), read_workers(given, faults)
    pictures = {name: read_figure(given, faults, name) for name in ("figure", "crossings")}
    movie = read_output(given, "movie", MOVIES, faults)
    scenarios, names = _read(given, changes, vary, faults)
    designs = designs_of(scenarios, names)
    as_set = vary is not None and vary.of_setting
    if not as_set:
        searched = designs[0].scenario
        most = replace(searched.search, seeds=max(grounds, searched.search.seeds))
        tell_search(request, replace(searched, search=most), workers, windows=len(designs))
    for design in designs:
        ready(request, design.scenario.unit, rows=not as_set)
    begin = time.perf_counter()
    found = compare(designs, grounds, workers, request.meter("crossings"), as_set=as_set)
    taken = {"wall_s": time.perf_counter() - begin, "version": VERSION}
    warned = [*_fewer(given, grounds, scenarios[0]), *_warnings(scenarios, names)]

    def draw():
        from analysis.compare.figure_differences import differences_figure  # noqa: PLC0415 (matplotlib)

        return differences_figure(found)

    figures = [] if pictures["figure"] is None else [(pictures["figure"], draw)]
    files: list[tuple[Path, Write]] = []
    if pictures["crossings"] is not None or movie is not None:
        with told_as_fault(scenarios[0]):
            both = pair(found, workers)
        if pictures["crossings"] is not None:
            figures.append((pictures["crossings"], partial(_side_by_side, both)))
        if movie is not None:
            files.append((movie, partial(_moving, both)))
    text = compare_text(found, warned, details=bool(given["details"]))
    document = {**compare_document(found), "warnings": warned, "run": taken}
    return Answer(text, document, figures=tuple(figures), files=tuple(files))


def _side_by_side(both: Pair) -> Figure:
    from analysis.compare.figure_crossings import crossings_figure  # noqa: PLC0415 (matplotlib: half a second)

    return crossings_figure(both)


def _moving(both: Pair, path: Path) -> None:
    from analysis.compare.figure_movie import save_pair_movie  # noqa: PLC0415 (matplotlib: half a second)

    save_pair_movie(both, path)


def _grounds(given: Mapping[str, Any], faults: list[str]) -> int:
    text = given["grounds"]
    if text is None:
        return GROUNDS
    value = whole(text)
    if value is None or not LEAST_GROUNDS <= value <= MOST_GROUNDS:
        allowed = f"a whole number, {LEAST_GROUNDS} to {MOST_GROUNDS}"
        faults.append(fault("--grounds", f"given {shown(text)}", allowed, f"--grounds {2 * GROUNDS}"))
        return GROUNDS
    return value


def _read(
    given: Mapping[str, Any], changes: dict[str, Any], vary: Vary | None, faults: list[str]
) -> tuple[list[Scenario], list[str]]:
    """The scenarios and their names. Raises ScenarioError with all faults."""
    files = [str(file) for file in given["files"]]
    asked = given["vary"] is not None
    if not files:
        faults.append(fault(WHERE, "no FILE", f"two to {MOST} files, or one with --vary", f"{WHERE} rough hump"))
    elif asked and len(files) > 1:
        faults.append(fault("--vary", f"given with {len(files)} files", "with one FILE", "--set changes all of them"))
    elif not asked and not 2 <= len(files) <= MOST:
        faults.append(fault(WHERE, f"{len(files)} FILE" + "s" * (len(files) > 1), f"two to {MOST} files, or one with "
                            "--vary KEY=V1,V2", f"{WHERE} {files[0]} --vary unit.carrier.mass_kg=95,115"))  # fmt: skip
    variants = [changes] if vary is None else [{**changes, **one} for one in vary.changes]
    made: dict[tuple[str, int], Scenario] = {}
    for file in dict.fromkeys(files[:1] if asked else files):
        for number, variant in enumerate(variants):
            with gathered(faults):
                made[file, number] = _loaded(file, given, variant, "" if vary is None else vary.key)
    faults[:] = list(dict.fromkeys(faults))
    faults += overwrite_faults(given, [path for one in made.values() for path in one.files])
    refuse(faults)
    if vary is not None:
        return list(made.values()), _with_own(list(made.values()), vary)
    scenarios = [made[file, 0] for file in files]
    return scenarios, apart([one.path for one in scenarios])


def _with_own(scenarios: list[Scenario], vary: Vary) -> list[str]:
    """Names of the designs, with the file's own value where that is one of them."""
    own = next((one.before for one in scenarios[-1].replaced if one.name == vary.key), None)
    return [name.replace(OWN, f"{change_value(own)} (file)") for name in vary.names]


def _loaded(file: str, given: Mapping[str, Any], changes: Mapping[str, Any], varied: str) -> Scenario:
    """One scenario, its title without what is varied. Raises ScenarioError, for a stored result too."""
    if file.lower().endswith(RESULTS):
        raise ScenarioError([fault(file, "a stored result", "scenarios", "the file that it was run from")])
    made = load(file, profile=given["profile"], changes=changes, told=False)
    return replace(made, title=f"{made.title}{said(tuple(one for one in made.replaced if one.name != varied))}")


def _fewer(given: Mapping[str, Any], grounds: int, first: Scenario) -> list[str]:
    """Says so where more grounds are crossed than were asked for."""
    least = first.search.seeds
    if given["grounds"] is None or grounds >= least:
        return []
    return [f"--grounds {grounds} is fewer than the {least} that the picks rest on: {least} were crossed (--seeds)"]


def _warnings(scenarios: list[Scenario], names: list[str]) -> list[str]:
    """What the files are warned of, each once, with the designs that it holds for where it is not all."""
    told: dict[str, list[str]] = {}
    for scenario, name in zip(scenarios, names, strict=True):
        for text in scenario.warnings:
            told.setdefault(text, []).append(name)
    return [text if len(of) == len(names) else f"{', '.join(of)}: {text}" for text, of in told.items()]
