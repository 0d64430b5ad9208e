"""Command lines: every command, with options and values that fit and that do not."""

from __future__ import annotations

import argparse
from functools import cache

import numpy as np

from analysis.cli.command_line import _Parser
from analysis.cli.commands import COMMANDS, command

from .case import Case
from .texts import SHORT
from .values import NAMES, NUMBERS, OUTPUTS, pick

Rng = np.random.Generator

FILES = {
    "short.toml": SHORT.encode(), "empty.toml": b"", "binary.toml": bytes(range(256)), "binary.h5": bytes(range(256)),
    "ground.csv": b"distance_m,height_m\n" + b"".join(b"%.2f,0.01\n" % (0.2 * i) for i in range(60)), "folder/": b"",
    "pipe|": b"",
}  # fmt: skip
WRITES = (
    "--figure",
    "--figures",
    "--save",
    "--engines",
    "--movie",
    "--out",
    "--map",
    "--rows",
    "--settings",
    "--csv",
    "--geojson",
)
QUICK = ("run", "pressures", "disc", "press", "draw", "level", "library", "new")
# what a command takes seconds for: tried seldom, and always with little to do
LITTLE = {"window": ("--pressures", "40", "--speeds", "8", "--seeds", "1")}


@cache
def _options(name: str) -> dict[str, bool]:
    """Options of a command: whether each takes a value."""
    parser = _Parser(prog=name)
    command(name).options(parser)
    return {
        option: not isinstance(action, argparse._StoreTrueAction) and action.nargs != 0
        for action in parser._actions
        for option in action.option_strings
        if option.startswith("--")
    }


def line_case(rng: Rng) -> Case:
    """A command line in a folder with a few files."""
    if rng.random() < 0.03:
        return Case(
            "line, words", tuple(pick(rng, (*COMMANDS, *NAMES, *NUMBERS)) for _ in range(int(rng.integers(4)))), FILES
        )
    name = pick(rng, QUICK if rng.random() < 0.9 else tuple(COMMANDS))
    options = _options(name)
    bad_file = name == "verify" or rng.random() < 0.35  # `verify` of a good one takes minutes, by what it is
    file = pick(rng, NAMES) if bad_file else "short.toml"
    if name == "level" and not bad_file:
        file = "ground.csv"
    words: list[str] = [name, *([] if rng.random() < 0.03 and name != "verify" else [file]), *LITTLE.get(name, ())]
    for _ in range(int(rng.integers(0, 4))):
        words += _option(rng, options)
    if name == "paddock" and "--workers" not in words:
        words += ["--workers", "1"]
    if rng.random() < 0.3:
        words.append("--json")
    if rng.random() < 0.05:
        rng.shuffle(words)
    return Case(f"line, {'file' if bad_file else 'options'}", tuple(words), FILES)


def _option(rng: Rng, options: dict[str, bool]) -> list[str]:
    if rng.random() < 0.04:
        return [pick(rng, ("--no-such", "-x", "--", "--pressure", "--json=1", "--=", "extra", "", "--Speed", "-h"))]
    option = pick(rng, tuple(options))
    if not options[option]:
        return [option] if rng.random() < 0.9 else [f"{option}=x"]
    value = pick(rng, OUTPUTS if option in WRITES else NUMBERS if rng.random() < 0.8 else NAMES)
    if option in ("--workers", "--seeds") and value.strip() in ("40", "8", "1e3", "9" * 400):
        value = "1"
    how = rng.random()
    if how < 0.04:
        return [option]
    return [f"{option}={value}"] if how < 0.5 else [option, value]
