"""The command line read and checked: what was asked for, with every fault in it found before anything is done."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn

from analysis.cli import explain as cli_explain
from analysis.cli import level as cli_level
from analysis.cli import paddock as cli_paddock
from analysis.cli import pressures as cli_pressures
from analysis.cli import report as cli_report
from analysis.storage.formats import FIGURES
from scenarios.format.errors import ScenarioError, closest, fault, shown

RUN_THEMSELVES = {"level": cli_level.run, "paddock": cli_paddock.run}  # commands that read their own options
ENGINES = ("compiled", "rigid")

EPILOG = """FILE is a path to a scenario file (TOML) or a name of the library: rowbench library lists them.
Every command takes --json: one JSON document on standard output, units in its keys. Exit code 0; 1 where
verify finds a check that fails; 2 for bad input."""

# option → dotted key of a scenario file whose place it takes
KEYS = {
    "pressure": "settings.oil_pressure_bar",
    "precharge": "settings.precharge_bar",
    "speed": "settings.speed_kmh",
    "seed": "ground.seed",
    "pressures": "search.pressures_bar",
    "speeds": "search.speeds_kmh",
    "seeds": "search.seeds",
}


@dataclass(frozen=True)
class Request:
    """What one call asks for. `changes`: values (edge units) by dotted key, in place of the scenario file's."""

    command: str
    source: str = ""
    json: bool = False
    changes: dict[str, Any] = field(default_factory=dict)
    profile: Path | None = None
    figure: Path | None = None
    engines: Path | None = None  # second figure of verify
    save: Path | None = None
    engine: str = "compiled"
    workers: int = 0
    pins: bool = False
    full: bool = False
    extra: dict[str, Any] = field(default_factory=dict)  # options of analysis.cli.pressures, edge units
    faults: tuple[str, ...] = ()  # of the options; told together with those of the scenario file


class _Parser(argparse.ArgumentParser):
    """argparse whose complaints are faults like all others."""

    def error(self, message: str) -> NoReturn:
        raise ScenarioError([f"{self.prog}: {message}; try: {self.prog} --help"])


def parser() -> argparse.ArgumentParser:
    """The commands and their options."""
    top = _Parser(
        prog="rowbench",
        description="A test bench for a no-till disc row unit: which oil pressure and speed hold the depth, and why.",
        epilog=EPILOG,
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="store_true", help="print the version and stop")
    commands = top.add_subparsers(dest="command", metavar="COMMAND", parser_class=_Parser)

    def add(name: str, text: str) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".", allow_abbrev=False)
        made.add_argument("--json", action="store_true", help="one JSON document on standard output")
        return made

    run = add("run", "one crossing: depth and its causes, loads, pins, gas")
    run.add_argument("file", nargs="?", metavar="FILE")
    run.add_argument("--pressure", metavar="BAR", help="oil pressure in place of the file's")
    run.add_argument("--speed", metavar="KMH", help="speed in place of the file's")
    run.add_argument("--seed", metavar="N", help="number that random ground starts from, in place of the file's")
    run.add_argument("--save", metavar="H5", help="write every recorded series to an HDF5 file")
    run.add_argument("--engine", metavar="NAME", default="compiled", help="compiled (default) or rigid")

    window = add("window", "pressures × speeds: which meet all limits, and which to pick")
    window.add_argument("file", nargs="?", metavar="FILE")
    window.add_argument("--pressures", metavar="A:B:N", help="oil pressures to try, bar: first:last:count")
    window.add_argument("--speeds", metavar="A:B:N", help="speeds to try, km/h: first:last:count")
    window.add_argument("--seeds", metavar="N", help="how many grounds to try")
    window.add_argument("--workers", metavar="N", help="how many processor cores to use (default: all)")
    window.add_argument("--pins", action="store_true", help="also the table of pin loads over the grid")

    cli_pressures.add_search_options(window)
    for made in (run, window):
        cli_pressures.add_stone_options(made)
        made.add_argument("--profile", metavar="CSV", help="measured ground: distance_m, height_m")
        made.add_argument("--figure", metavar="PNG", help="draw it (.png, .svg or .pdf)")

    draw = add("draw", "the unit drawn to scale at its depth setting, with axes and signs")
    draw.add_argument("file", nargs="?", metavar="FILE")
    draw.add_argument("--figure", metavar="PNG", help="where to draw it (.png, .svg or .pdf)")
    cli_pressures.add_parser(commands)
    cli_level.add_parser(commands)
    cli_explain.add_parser(commands)
    cli_report.add_parser(commands)
    cli_paddock.add_parser(commands)
    add("library", "the named scenarios, units and soils that come with the program")
    new = add("new", "write NAME.toml, a commented scenario file to start from")
    new.add_argument("file", nargs="?", metavar="NAME")
    verify = add("verify", "checks of the numbers themselves")
    verify.add_argument("file", nargs="?", metavar="FILE")
    verify.add_argument("--full", action="store_true", help="all checks on the whole length")
    verify.add_argument("--figure", metavar="PNG", help="draw every check against its bound (.png, .svg or .pdf)")
    verify.add_argument("--engines", metavar="PNG", help="draw both engines over each other on a hump and a stone")
    return top


def read_request(arguments: Sequence[str]) -> Request:
    """What a command line asks for; faults of single options are in `faults`, to be told with the file's.

    Raises ScenarioError for a command line that cannot be read at all.
    """
    made = parser()
    given, strange = made.parse_known_args(list(arguments))
    if given.version:
        return Request("version")
    if not given.command:
        raise ScenarioError([fault("rowbench", "no command", _commands(made), "rowbench window rough")])
    faults = [
        _strange(word, given, made)
        for before, word in zip(["", *strange], strange, strict=False)
        if not before.startswith("--") or word.startswith("-")  # a word after an unknown option is its value
    ]
    if given.command in RUN_THEMSELVES:
        if faults:
            raise ScenarioError(faults)
        return Request(given.command, extra={"arguments": given})
    values = vars(given)
    changes: dict[str, Any] = {}
    for option, dotted in KEYS.items():
        text = values.get(option)
        if text is not None:
            _change(option, dotted, text, changes, faults)
    source = str(values.get("file") or "")
    if not source and given.command in ("run", "window", "draw", "new", "explain", "report", *cli_pressures.COMMANDS):
        faults.append(_nameless(given.command))
    extra = cli_pressures.read_extra(values, faults)
    extra |= cli_explain.read_extra(values, faults) | cli_report.read_extra(values, faults)
    engine = values.get("engine") or "compiled"
    if engine not in ENGINES:
        near = closest(engine, ENGINES) or ENGINES[0]
        faults.append(fault("--engine", f"given {shown(engine)}", " or ".join(ENGINES), near))
    return Request(
        command=given.command,
        source=source,
        json=given.json,
        changes=changes,
        profile=_path(values.get("profile")),
        figure=_output("--figure", values.get("figure"), FIGURES, faults),
        engines=_output("--engines", values.get("engines"), FIGURES, faults),
        save=_output("--save", values.get("save"), (".h5", ".hdf5"), faults),
        engine=engine,
        workers=_workers(values.get("workers"), faults),
        pins=bool(values.get("pins")),
        full=bool(values.get("full")),
        extra=extra,
        faults=tuple(faults),
    )


def _commands(made: argparse.ArgumentParser) -> str:
    return ", ".join(_choices(made))


def _choices(made: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    for action in made._actions:
        if isinstance(action, argparse._SubParsersAction):
            return dict(action.choices)
    return {}


def _strange(word: str, given: argparse.Namespace, made: argparse.ArgumentParser) -> str:
    """A word that belongs to no option."""
    where = f"rowbench {given.command}"
    known = [name for action in _choices(made)[given.command]._actions for name in action.option_strings]
    known = [name for name in known if name.startswith("--")]
    if not word.startswith("-"):
        return fault(where, f"given {shown(word)} too", "one FILE" if given.command != "library" else "no FILE",
                     "remove it, or put a name with spaces in quotes")  # fmt: skip
    near = closest(word.split("=", maxsplit=1)[0], known)
    return fault(where, f"unknown option {word}", ", ".join(known), near or f"{where} --help")


def _nameless(command: str) -> str:
    if command == "new":
        return fault("rowbench new", "no NAME", "a name for the file to write", "rowbench new my_field")
    allowed = "a path to a scenario file or a name of the library"
    return fault(f"rowbench {command}", "no FILE", allowed, f"rowbench {command} rough")


def _change(option: str, dotted: str, text: str, changes: dict[str, Any], faults: list[str]) -> None:
    """Check the value of an option against the key of a scenario file that it stands for."""
    from scenarios.format.keys import read_series  # noqa: PLC0415 (not needed for --version)
    from scenarios.format.messages import value_fault  # noqa: PLC0415
    from scenarios.format.tables import ROOT  # noqa: PLC0415

    table, name = dotted.split(".")
    key = ROOT.tables[table].keys[name]
    where = f"--{option}"
    if key.kind == "series":
        try:
            values = read_series(text)
        except ValueError as error:
            hint = "30:90:7" if option == "pressures" else "5:12:8"
            faults.append(fault(where, f"given {shown(text)} ({error})", key.allowed, f"{where} {hint}"))
            return
        outside = [value for value in values if not key.low <= value <= key.high]
        if outside:
            faults.append(value_fault(where, key, outside[0]))
        else:
            changes[dotted] = values
        return
    value = _number(text, whole=key.kind == "whole")
    if value is None or not key.accepts(value):
        faults.append(value_fault(where, key, text if value is None else value))
    else:
        changes[dotted] = value


def _number(text: str, *, whole: bool) -> float | int | None:
    try:
        return int(text) if whole else float(text)
    except ValueError:
        return None


def _workers(text: str | None, faults: list[str]) -> int:
    """How many processes; 0: as many as there are cores."""
    if text is None:
        return 0
    number = _number(text, whole=True)
    if number is None or not 1 <= number <= 256:
        faults.append(fault("--workers", f"given {shown(text)}", "a whole number, 1 to 256", "leave it out: all cores"))
        return 0
    return int(number)


def _path(text: str | None) -> Path | None:
    return None if text is None else Path(text)


def _output(option: str, text: str | None, endings: tuple[str, ...], faults: list[str]) -> Path | None:
    """A file to write: checked to be writable before anything is computed."""
    from analysis.storage.safe_write import output_fault  # noqa: PLC0415

    if text is None:
        return None
    path = Path(text)
    found = output_fault(path, option, endings)
    if found:
        faults.append(found)
    return path
