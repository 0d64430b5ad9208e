"""`rowbench level DIGS.csv --unit FILE`: depths dug → which rows to turn."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.crossing_failures import told_as_fault
from analysis.cli.parts.faults import gathered, refuse
from analysis.cli.parts.number_options import number
from analysis.cli.parts.request import Request
from analysis.cli.parts.shared_options import add_shared
from analysis.levelling.advice import level
from analysis.levelling.digs import PRESSURE, SPEED, Condition, Digs, read_digs
from analysis.levelling.turns import turnbuckle
from analysis.levelling.words import level_text
from scenarios.format.errors import fault, shown
from scenarios.format.numbers import plain_whole
from scenarios.load import load_unit
from scenarios.scenario import Scenario

WHERE = "rowbench level"
WANTED = (5.0, 150.0)  # [mm], as set_depth_mm
DIFFERENCES = (0.5, 50.0)  # [mm]
DEFAULT_DIFFERENCE = 3.0  # [mm]


def options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command."""
    add_shared(parser, "--json")
    parser.add_argument(
        "file", nargs="?", metavar="DIGS.csv", help="row,depth_mm and a line for each dig, or readings as for fit"
    )
    parser.add_argument(
        "--unit", metavar="FILE", help="scenario or unit whose linkage and thread turn millimetres into turns"
    )
    parser.add_argument("--pressure", metavar="BAR", help="only digs made at this oil pressure")
    parser.add_argument("--speed", metavar="KMH", help="only digs made at this speed")
    parser.add_argument("--setting", metavar="NAME", help="only digs made at the depth setting of this name")
    parser.add_argument("--wanted", metavar="MM", help="depth to level to (default: the mean of the rows)")
    parser.add_argument("--tracks", metavar="ROWS", help="rows behind wheel tracks, as 3,4,9 (default: looked for)")
    parser.add_argument("--difference", metavar="MM", help=f"offset that matters (default {DEFAULT_DIFFERENCE:g})")


def answer(request: Request) -> Answer:
    """Level the rows. Raises ScenarioError with all faults of options, digs and unit."""
    refuse(request.faults)
    given = request.given
    faults: list[str] = []
    wanted = _millimetres("--wanted", given["wanted"], WANTED, faults)
    difference = _millimetres("--difference", given["difference"], DIFFERENCES, faults)
    pressure, speed = _asked("pressure", given, faults), _asked("speed", given, faults)
    asked = Condition(pressure, speed, given["setting"] or "")
    digs, scenario = _digs(request.source, asked, faults), _unit(given["unit"], faults)
    tracks = _tracks(given["tracks"], digs, faults)
    buckle = None
    if scenario is not None:
        with gathered(faults), told_as_fault(scenario):
            buckle = turnbuckle(scenario)
    refuse(faults)
    assert digs is not None and scenario is not None and buckle is not None  # noqa: PT018 (each had its fault)
    found = level(
        digs,
        buckle,
        wanted=None if wanted is None else wanted / 1e3,
        tracks=tracks,
        difference=(DEFAULT_DIFFERENCE if difference is None else difference) / 1e3,
    )
    named = f"{scenario.title} ({scenario.path.name})"
    return Answer(
        level_text(found, named, scenario.warnings),
        {"file": str(digs.path), "unit": named, **found.to_dict(), "warnings": list(scenario.warnings)},
    )


def _asked(name: str, given: Mapping[str, Any], faults: list[str]) -> float | None:
    """A pressure [bar] or a speed [km/h] that is asked for, None where none is."""
    text = given[name]
    value = None if text is None else number(text)
    if text is not None and value is None:
        column, example = (PRESSURE, 40) if name == "pressure" else (SPEED, 8)
        faults.append(fault(f"--{name}", f"given {shown(text)}", column.allowed, f"--{name} {example}"))
    return value


def _digs(source: str, asked: Condition, faults: list[str]) -> Digs | None:
    if not source:
        faults.append(
            fault(WHERE, "no DIGS.csv", "a CSV file with columns row and depth_mm", f"{WHERE} digs.csv --unit demo")
        )
        return None
    with gathered(faults):
        return read_digs(Path(source), asked)
    return None


def _unit(source: str | None, faults: list[str]) -> Scenario | None:
    if not source:
        allowed = "a scenario or a unit, by its path or its name in the library"
        faults.append(fault(WHERE, "no --unit", allowed, "--unit demo"))
        return None
    with gathered(faults):
        return load_unit(source, where="--unit")
    return None


def _millimetres(option: str, text: str | None, bounds: tuple[float, float], faults: list[str]) -> float | None:
    """A number of millimetres, None where it is not given or at fault."""
    if text is None:
        return None
    value = number(text)
    if value is not None and bounds[0] <= value <= bounds[1]:
        return value
    allowed = f"{bounds[0]:g} to {bounds[1]:g} mm"
    faults.append(fault(option, f"given {shown(text)}", allowed, f"{option} {40 if option == '--wanted' else 3}"))
    return None


def _tracks(text: str | None, digs: Digs | None, faults: list[str]) -> tuple[int, ...]:
    """Rows behind wheel tracks; they have to be among those dug, and not all of them."""
    if text is None:
        return ()
    try:
        rows = tuple(sorted({int(plain_whole(part) or "") for part in text.split(",")}))
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
