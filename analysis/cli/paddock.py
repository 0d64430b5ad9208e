"""`rowbench paddock FILE --out RESULT.h5` and what can be drawn and written from RESULT.h5."""

from __future__ import annotations

import argparse
import math
import shlex
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from analysis.cli.parts.answer import Answer, Stopped, Write, text_file
from analysis.cli.parts.faults import gathered, refuse
from analysis.cli.parts.number_options import flag, number, read_workers
from analysis.cli.parts.output_files import free_place, overwrite_faults, read_output
from analysis.cli.parts.paddock_row import asks_row, read_row, row_answer
from analysis.cli.parts.request import Request
from analysis.cli.parts.set_option import SET, add_set, read_set, set_words
from analysis.cli.parts.shared_options import SHARED, add_shared
from analysis.cli.parts.warmup import ready
from analysis.paddock.batch import run_batch
from analysis.paddock.export import places_fault, write_csv, write_geojson
from analysis.paddock.size import size_faults, size_of, size_text
from analysis.paddock.store_parts import parts_folder, read_about
from analysis.paddock.summary import Summary, summarise, to_dict
from analysis.paddock.table import PaddockTable, load_table
from analysis.paddock.words import paddock_text
from analysis.parallel import usable_cores
from analysis.storage.formats import FIGURES, RESULTS
from scenarios.format.errors import ScenarioError, closest, fault, shown
from scenarios.paddock.extent import OUTSIDE
from scenarios.paddock.load import load_paddock
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.row_file import with_setting
from scenarios.paddock.starter import paddock_starter
from scenarios.paddock.tables import PADDOCK

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Floats = NDArray[np.float64]
WHERE = "rowbench paddock"
SHADES = ("on-depth", "wheel-off", "worst-pin")
DRAWN = ("map", "rows", "settings")
ENDINGS = {**dict.fromkeys(DRAWN, FIGURES), "csv": (".csv",), "geojson": (".geojson", ".json")}


@dataclass(frozen=True)
class Asked:
    """What is to be drawn and written: files by name of the option, shade of the map, setting [bar, km/h]."""

    targets: Mapping[str, Path]
    shade: str
    pressure: float | None
    speed: float | None
    source: str  # words that name the paddock, for commands that go on from here; "": not known
    details: bool


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json")
    parser.add_argument("file", nargs="?", metavar="FILE", help="paddock file, name of the library, or a RESULT.h5")
    parser.add_argument("--new", action="store_true", help="write FILE, a commented paddock file to start from")
    parser.add_argument("--out", metavar="RESULT.h5", help="where to; the same command again goes on where it stopped")
    add_shared(parser, "--workers")
    parser.add_argument("--cluster", metavar="ADDRESS", help="a running Dask scheduler that does the work instead")
    parser.add_argument("--summary", action="store_true", help="print what a RESULT.h5 says (also without this option)")
    parser.add_argument("--details", action="store_true", help="print every setting, zone and note")
    parser.add_argument("--map", metavar="PNG", help="map of all sections (.png, .svg or .pdf)")
    parser.add_argument("--shade", metavar="WHAT", default=SHADES[0], help=f"what the map shows: {', '.join(SHADES)}")
    parser.add_argument("--rows", metavar="PNG", help="mean depth error of each row with its interval")
    parser.add_argument("--settings", metavar="PNG", help="area on depth by setting")
    parser.add_argument("--csv", metavar="CSV", help="all sections at all settings as a table")
    parser.add_argument("--geojson", metavar="FILE", help="all sections at one setting as places on a map")
    for name in ("--pressure", "--speed"):
        form, text = SHARED[name]["metavar"], "setting for map, rows and GeoJSON (default: the chosen one)"
        parser.add_argument(name, metavar=form, help=text)
    add_set(parser)
    for name in ("--pass", "--row"):
        parser.add_argument(name, metavar="N", help=f"{name[2:]} of one row alone, written to --out ROW.toml")


def answer(request: Request) -> Answer:
    """Compute what is missing, then tell, draw and write. Raises ScenarioError with all faults; Stopped on Ctrl-C."""
    refuse(request.faults)
    given, source = request.given, request.source
    if given["new"] and source:
        return _new(source)
    faults: list[str] = []
    if not source:
        faults.append(fault(WHERE, "no FILE", "a paddock file, a name of the library, or a result",
                            f"{WHERE} two_soils --out two_soils.h5"))  # fmt: skip
    shade, workers = _shade(given["shade"], faults), read_workers(given, faults)
    pressure, speed = (_number(given, name, faults) for name in ("pressure", "speed"))
    stored, paddock = source.lower().endswith(RESULTS), None
    changes: dict[str, Any] = {}
    read_set(given, changes, faults, PADDOCK)
    again = "" if stored else shlex.join([source, *set_words(given)])
    asked = Asked(_targets(given, faults), shade, pressure, speed, again, bool(given["details"]))
    if stored:
        if given["set"]:
            faults.append(fault(SET, "given with a result", "that with a paddock file: what it changes is crossed anew",
                                f"{WHERE} FILE {SET} … --out {source}"))  # fmt: skip
        faults += overwrite_faults(given, [Path(source)])
        if asks_row(given):
            faults.append(fault(WHERE, "--pass or --row with a result", "those with a paddock file",
                                f"{WHERE} FILE --pass 1 --row 1 --out row.toml"))  # fmt: skip
        elif given["out"] or given["cluster"] or given["workers"]:
            faults.append(fault(WHERE, "--out, --workers or --cluster with a result",
                                "those with a paddock file", f"{WHERE} {source} --summary"))  # fmt: skip
    elif source:
        paddock = _paddock(request, asked, changes, faults)
    if asks_row(given) and not stored:
        number, row = read_row(given, paddock, faults)
        refuse(faults)
        assert paddock is not None
        return row_answer(request, _at_setting(paddock, asked), number, row)
    refuse(faults)
    result = Path(source if stored else given["out"])
    if paddock is not None:
        _compute(request, paddock, result, workers)
    elif not result.exists():
        _tell_unfinished(result)
    return _told(result, paddock, asked)


def _new(name: str) -> Answer:
    """A starter file where there is none yet."""
    path = free_place(name, f"{WHERE} --new")
    return Answer(
        f"{path} written: every key with its meaning. Try: {WHERE} {path} --out {path.stem}.h5",
        {"written": str(path)},
        files=((path, text_file(paddock_starter(path.stem.replace("_", " ")))),),
        keep_existing=True,
    )


def _paddock(request: Request, asked: Asked, changes: Mapping[str, Any], faults: list[str]) -> Paddock | None:
    """The paddock, and all that can be known to be wrong before anything is computed."""
    given, source = request.given, request.source
    if given["summary"]:
        faults.append(fault("--summary", f"given with {shown(source)}", "with a result (RESULT.h5)", "leave it out"))
    if not given["out"]:
        faults.append(fault(WHERE, "no --out", "a file for the result", f"--out {Path(source).stem}.h5"))
    elif not asks_row(given):
        read_output(given, "out", RESULTS, faults)
    with gathered(faults):
        paddock = load_paddock(source, changes)
        pressures, speeds = (np.array(values) for values in (paddock.search.pressures, paddock.search.speeds))
        faults += overwrite_faults(given, paddock.read_from)
        faults += [] if asks_row(given) else size_faults(paddock)
        if "geojson" in asked.targets and not paddock.placed:
            faults.append(places_fault(paddock.name))
        _tried(pressures, speeds, asked)
        return paddock
    return None


def _at_setting(paddock: Paddock, asked: Asked) -> Paddock:
    """The paddock with only the settings asked for; they are among those tried."""
    pressures, speeds = (np.array(values) for values in (paddock.search.pressures, paddock.search.speeds))
    pressure, speed = _tried(pressures, speeds, asked)
    return with_setting(paddock, pressure, speed)


def _compute(request: Request, paddock: Paddock, out: Path, workers: int | None) -> None:
    """Compute the passes that are missing. Raises Stopped where the user stopped it."""
    if request.given["cluster"] is None:  # before the passes, that processes find it on disk
        ready(request, paddock.unit, one=False, rows=True)
    for note in paddock.warnings:
        if OUTSIDE in note:
            request.say(f"{paddock.path.name}: {note}")
    size = size_of(paddock)
    if size.large and not out.exists():
        cores = workers or usable_cores()
        request.say(f"{paddock.count} passes: {size_text(size, cores)}")
    try:
        meters = request.meter("passes"), request.meter("sets of values")
        run_batch(paddock, out, workers, request.given["cluster"], *meters)
    except KeyboardInterrupt:
        again = f"{WHERE} {shlex.join([request.source, *set_words(request.given), '--out', str(out)])}"
        kept = len(list(parts_folder(out).glob("pass-*.npz")))
        raise Stopped(f"{kept} of {paddock.count} passes are finished and kept. To go on: {again}") from None


def _tell_unfinished(result: Path) -> None:
    """A result that is not there yet, but whose passes are: say how far it is."""
    folder = parts_folder(result)
    if folder.is_dir():
        about = read_about(result)
        kept = len(list(folder.glob("pass-*.npz")))
        raise ScenarioError(
            [fault(str(result), f"not finished: {kept} of {about['passes']} passes of {about['name']}",
                   "a finished result", f"{WHERE} FILE --out {result} again: it goes on")]
        )  # fmt: skip


def _told(result: Path, paddock: Paddock | None, asked: Asked) -> Answer:
    """What a result says; limits of the paddock file, where it is given, in place of those stored."""
    table = load_table(result)
    summary = summarise(table, None if paddock is None else paddock.limits)
    setting = _setting(table, summary.setting, asked)
    if "geojson" in asked.targets and table.latitude is None:
        raise ScenarioError([places_fault(table.name)])
    writers: dict[str, Write] = {
        "csv": lambda path: write_csv(path, table, range(len(table.settings))),
        "geojson": lambda path: write_geojson(path, table, setting),
    }
    return Answer(
        f"{paddock_text(summary, asked.source, details=asked.details)}\n\nResult: {result}",
        {**to_dict(summary), "result": str(result)},
        figures=tuple(
            (path, partial(_figure, kind, summary, setting, asked.shade))
            for kind, path in asked.targets.items()
            if kind in DRAWN
        ),
        files=tuple((path, writers[kind]) for kind, path in asked.targets.items() if kind in writers),
    )


def _figure(kind: str, summary: Summary, setting: int, shade: str) -> Figure:
    if kind == "map":
        from analysis.paddock.figures.figure_map import map_figure  # noqa: PLC0415 (matplotlib: half a second)

        return map_figure(summary.table, setting, shade)
    if kind == "rows":
        from analysis.paddock.figures.figure_rows import rows_figure  # noqa: PLC0415

        return rows_figure(summary, setting)
    from analysis.paddock.figures.figure_settings import settings_figure  # noqa: PLC0415

    return settings_figure(summary)


def _targets(given: Mapping[str, Any], faults: list[str]) -> dict[str, Path]:
    """Files to write by option, checked to be writable before anything is computed."""
    found = {kind: read_output(given, kind, endings, faults) for kind, endings in ENDINGS.items()}
    return {kind: path for kind, path in found.items() if path is not None}


def _setting(table: PaddockTable, chosen: int, asked: Asked) -> int:
    """Number of the setting that is asked for. Raises ScenarioError where it was not tried."""
    pressure, speed = _tried(table.pressures, table.speeds, asked, "was")
    here = table.settings[chosen]
    return table.settings.index((pressure or here[0], speed or here[1]))


def _tried(pressures: Floats, speeds: Floats, asked: Asked, when: str = "is") -> tuple[float | None, float | None]:
    """The pressure [Pa] and the speed [m/s] asked for, None: not asked. Raises ScenarioError where not among those."""
    found: list[float | None] = []
    faults = []
    for name, value, tried, factor in (
        ("--pressure", asked.pressure, pressures, 1e-5), ("--speed", asked.speed, speeds, 3.6),
    ):  # fmt: skip
        if value is None:
            found.append(None)
            continue
        near = float(tried[abs(tried * factor - value).argmin()])
        if abs(near * factor - value) > 1e-6:
            listed = ", ".join(f"{v * factor:.6g}" for v in tried)
            faults.append(fault(name, f"given {value:g}", f"what {when} tried: {listed}", f"{near * factor:.6g}"))
        found.append(near)
    refuse(faults)
    return found[0], found[1]


def _shade(given: str, faults: list[str]) -> str:
    if given not in SHADES:
        near = closest(given, SHADES) or SHADES[0]
        faults.append(fault("--shade", f"given {shown(given)}", " or ".join(SHADES), near))
    return given


def _number(given: Mapping[str, Any], name: str, faults: list[str]) -> float | None:
    text = given[name]
    if text is None:
        return None
    value = number(text)
    if value is not None and math.isfinite(value):
        return value
    faults.append(fault(flag(name), f"given {shown(text)}", "a number", "one of the settings that were tried"))
    return None
