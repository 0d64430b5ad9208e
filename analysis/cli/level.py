"""`rowbench level DIGS.csv --unit FILE`: its options, checked with the files in one go, and its output.

Registered by the command line: `add_parser` adds the command, `run` does it. Bad input raises ScenarioError.
"""

from __future__ import annotations

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

from scenarios.format.errors import ScenarioError, fault, shown

if TYPE_CHECKING:
    from analysis.levelling.digs import Digs
    from scenarios.scenario import Scenario

NAME = "level"
WHERE = f"rowbench {NAME}"
SUMMARY = "depths dug across the machine → which rows to turn, which way and how far"
WANTED = (5.0, 150.0)  # [mm], as set_depth_mm
DIFFERENCES = (0.5, 50.0)  # [mm]
DEFAULT_DIFFERENCE = 3.0  # [mm]


def add_parser(commands: Any) -> argparse.ArgumentParser:
    """Add the command to the subparsers of the command line → its parser."""
    made: argparse.ArgumentParser = commands.add_parser(
        NAME, help=SUMMARY, description=SUMMARY[0].upper() + SUMMARY[1:] + ".", allow_abbrev=False
    )
    made.add_argument("--json", action="store_true", help="one JSON document on standard output")
    made.add_argument("file", nargs="?", metavar="DIGS.csv", help="columns row and depth_mm, a line for each dig")
    made.add_argument(
        "--unit", metavar="FILE", help="scenario or unit whose linkage and thread turn millimetres into turns"
    )
    made.add_argument("--wanted", metavar="MM", help="depth to level to (default: the mean of the rows)")
    made.add_argument("--tracks", metavar="ROWS", help="rows behind wheel tracks, as 3,4,9 (default: looked for)")
    made.add_argument("--difference", metavar="MM", help=f"offset that matters (default {DEFAULT_DIFFERENCE:g})")
    return made


def run(args: argparse.Namespace) -> int:
    """Level the rows and print the list, or its JSON → exit code 0. Raises ScenarioError with all faults."""
    from analysis.levelling.advice import level  # noqa: PLC0415 (heavy)
    from analysis.levelling.words import level_text  # noqa: PLC0415

    faults: list[str] = []
    wanted = _number("--wanted", args.wanted, WANTED, faults)
    difference = _number("--difference", args.difference, DIFFERENCES, faults)
    digs, scenario = _digs(args.file, faults), _unit(args.unit, faults)
    tracks = _tracks(args.tracks, digs, faults)
    buckle = None if scenario is None else _turnbuckle(scenario, faults)
    if faults or digs is None or scenario is None or buckle is None:
        raise ScenarioError(faults)
    found = level(
        digs,
        buckle,
        wanted=None if wanted is None else wanted / 1e3,
        tracks=tracks,
        difference=(DEFAULT_DIFFERENCE if difference is None else difference) / 1e3,
    )
    named = f"{scenario.title} ({scenario.path.name})"
    if args.json:
        document = {"file": str(digs.path), "unit": named, **found.to_dict()}
        print(json.dumps(document, indent=1, allow_nan=False, ensure_ascii=False))
    else:
        print(level_text(found, named))
    return 0


def _digs(source: str | None, faults: list[str]) -> Digs | None:
    from analysis.levelling.digs import read_digs  # noqa: PLC0415

    if not source:
        faults.append(
            fault(WHERE, "no DIGS.csv", "a CSV file with columns row and depth_mm", f"{WHERE} digs.csv --unit demo")
        )
        return None
    try:
        return read_digs(Path(source))
    except ScenarioError as error:
        faults += error.faults
        return None


def _unit(source: str | None, faults: list[str]) -> Scenario | None:
    from scenarios.load import load_unit  # noqa: PLC0415

    if not source:
        allowed = "a scenario or a unit, by its path or its name in the library"
        faults.append(fault(WHERE, "no --unit", allowed, "--unit demo"))
        return None
    try:
        return load_unit(source, where="--unit")
    except ScenarioError as error:
        faults += error.faults
        return None


def _turnbuckle(scenario: Scenario, faults: list[str]) -> Any:
    from analysis.levelling.turns import turnbuckle  # noqa: PLC0415
    from sim.mechanism.linkage import LinkageError  # noqa: PLC0415

    try:
        return turnbuckle(scenario)
    except (LinkageError, ValueError) as error:
        faults.append(f"{scenario.path}: {error}")
        return None


def _number(option: str, text: str | None, bounds: tuple[float, float], faults: list[str]) -> float | None:
    """A number of millimetres, None where it is not given or at fault."""
    if text is None:
        return None
    try:
        value = float(text)
    except ValueError:
        value = float("nan")
    if bounds[0] <= value <= bounds[1]:
        return value
    allowed = f"{bounds[0]:g} to {bounds[1]:g} mm"
    faults.append(fault(option, f"given {shown(text)}", allowed, f"{option} {40 if option == '--wanted' else 3}"))
    return None


def _tracks(text: str | None, digs: Digs | None, faults: list[str]) -> tuple[int, ...]:
    """Rows behind wheel tracks; they have to be among those dug, and not all of them."""
    if text is None:
        return ()
    try:
        rows = tuple(sorted({int(part) for part in text.split(",")}))
    except ValueError:
        faults.append(fault("--tracks", f"given {shown(text)}", "numbers of rows with commas", "--tracks 3,4,9,10"))
        return ()
    if digs is None:
        return rows
    strange = [row for row in rows if row not in digs.rows]
    if strange:
        allowed = f"rows that were dug: {', '.join(map(str, digs.rows))}"
        faults.append(fault("--tracks", f"given {', '.join(map(str, strange))}", allowed, "leave the others out"))
    elif len(rows) == len(digs.rows):
        faults.append(fault("--tracks", "given every row", "fewer, to compare them with the others", "leave it out"))
    return rows
