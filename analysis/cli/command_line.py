"""The command line read: which command, its options as they were given, and the words that belong to none."""

from __future__ import annotations

import argparse
import re
from collections.abc import Sequence
from typing import Any, NoReturn

from analysis.cli.commands import COMMANDS, command
from analysis.cli.parts.request import Request
from scenarios.format.errors import ScenarioError, closest, fault, shown

VERSION_ASKED = "version"
EPILOG = """FILE is a path to a scenario file (TOML) or a name of the library: rowbench library lists them.
Every command takes --json: one JSON document on standard output, units in its keys. Exit code 0; 1 where
verify finds a check that fails; 2 for bad input."""


class _Parser(argparse.ArgumentParser):
    """argparse whose complaints are faults like all others, and which knows the names of its options."""

    def __init__(self, *args: Any, **named: Any) -> None:
        self.names: list[str] = []
        super().__init__(*args, **named)

    def add_argument(self, *names: Any, **how: Any) -> argparse.Action:
        """Add an option or a positional."""
        self.names += names
        return super().add_argument(*names, **how)

    def error(self, message: str) -> NoReturn:
        raise ScenarioError([_complaint(message, self.prog)])


def _complaint(message: str, name: str) -> str:
    """A complaint of argparse as a fault like all others. name: of the program and its command."""
    found = re.fullmatch(r"argument (.*?): (.*)", message, re.DOTALL)
    option, said = found.groups() if found else ("", message)
    option = option.split("/")[-1]
    if option == "COMMAND":
        given = re.match(r"invalid choice: (.*?) \(choose from", said, re.DOTALL)
        word = given.group(1).strip("'\"") if given else ""
        near = closest(word, COMMANDS)
        return fault(name, f"no command {shown(word)}", ", ".join(COMMANDS), f"{name} {near or '--help'}")
    if said.startswith("expected"):
        return fault(f"{name} {option}", "no value given", "a value behind it", f"{name} --help shows what it takes")
    if said.startswith("ignored explicit argument"):
        value = said.removeprefix("ignored explicit argument ").strip("'\"")
        return fault(f"{name} {option}", f"given {shown(value)}", "no value: it is there or it is not", option)
    return fault(name, message, "what its help lists", f"{name} --help")


def _parsers() -> tuple[_Parser, dict[str, _Parser]]:
    """The parser of the whole line and those of the commands by name, their own options not yet among them."""
    top = _Parser(
        prog="rowbench",
        description="A test bench for a no-till disc row unit: which oil pressure and speed hold the depth, and why.",
        epilog=EPILOG,
        allow_abbrev=False,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    top.add_argument("--version", action="store_true", help="print the version and stop")
    places = top.add_subparsers(dest="command", metavar="COMMAND", parser_class=_Parser)
    found = {
        name: places.add_parser(name, help=text, description=text[0].upper() + text[1:] + ".", allow_abbrev=False)
        for name, text in COMMANDS.items()
    }
    return top, found


def help_text() -> str:
    """The commands, each in a line."""
    return _parsers()[0].format_help()


def read_request(words: Sequence[str]) -> Request:
    """What a command line asks for; words that belong to no option are in `faults`, to be told with the file's.

    Raises ScenarioError for a command line that cannot be read at all.
    """
    top, parsers = _parsers()
    word = next((word for word in words if not word.startswith("-")), "")
    if word in parsers:
        command(word).options(parsers[word])
    given, strange = top.parse_known_args(list(words))
    if given.version:
        return Request(VERSION_ASKED)
    if not given.command:
        raise ScenarioError([fault("rowbench", "no command", ", ".join(COMMANDS), "rowbench window rough")])
    faults = [
        _strange(word, given.command, parsers[given.command].names)
        for before, word in zip(["", *strange], strange, strict=False)
        if not before.startswith("--") or word.startswith("-")  # a word after an unknown option is its value
    ]
    # argparse gives an empty list for `--pressure=--`
    said = {name: _said(value) for name, value in vars(given).items()}
    return Request(given.command, said, tuple(faults))


def _said(value: Any) -> Any:
    """What an option was given: texts of one that may be repeated as a tuple."""
    if not isinstance(value, list):
        return value
    return tuple("--" if isinstance(one, list) else one for one in value) if value else "--"


def _strange(word: str, name: str, names: Sequence[str]) -> str:
    """A word that belongs to no option of a command. names: those it has."""
    where = f"rowbench {name}"
    if not word.startswith("-"):
        return fault(where, f"given {shown(word)} too", "one FILE" if "file" in names else "no FILE",
                     "remove it, or put a name with spaces in quotes")  # fmt: skip
    known = [name for name in names if name.startswith("--")]
    near = closest(word.split("=", maxsplit=1)[0], known)
    return fault(where, f"unknown option {word}", ", ".join(known), near or f"{where} --help")
