"""The commands by name: what each is for, and its module, which is loaded once its word is known."""

from __future__ import annotations

import argparse
from importlib import import_module
from typing import Protocol, cast

from analysis.cli.parts.answer import Answer
from analysis.cli.parts.request import Request

# in the order of `rowbench --help`; each is a module of this folder
COMMANDS = {
    "run": "one crossing: depth and its causes, loads, pins, gas",
    "window": "pressures × speeds: which meet all limits, and which to pick",
    "bench": "a page in the browser: move ground, pressure and speed by hand, and the crossing follows",
    "fit": "readings of your unit and ground → the values that explain them, and what to measure next",
    "draw": "the unit drawn to scale at its depth setting, with axes and signs",
    "pressures": "oil pressure → downforce over the travel, spring rate, cushion, precharge and accumulator",
    "disc": "what turns the disc against scraper and bearing, and what a larger one gains and costs",
    "press": "notch of the press wheel → load on the closing zone, and off the gauge wheel",
    "pins": "pins and bushes: loads, pressure, wear, and how long they last",
    "compare": "two to six designs on the same ground: which is better at what, and whether beyond chance",
    "modes": "what swings by itself, and which ridges at which speed shake it",
    "level": "depths dug across the machine → which rows to turn, which way and how far",
    "explain": "why the depth moves: worst places, wheel-off episodes, breakouts, and what helps",
    "rank": "which values of a file move depth, wheel and pin loads, or the pick: what to measure, what not",
    "design": "free values searched: hectares an hour against on-depth share and pin load, each design a file",
    "report": "one page to hand over: what to set and why, with every pressure and speed to try on it",
    "paddock": "a machine over a paddock: settings × passes × rows, kept pass by pass, and what to set",
    "library": "the named scenarios, units and soils that come with the program",
    "new": "write NAME.toml, a commented scenario file to start from",
    "words": "what the words on screens and figures mean; one alone: words rms",
    "verify": "checks of the numbers themselves",
}
# of those in a folder of their own
FOLDERS = {
    **dict.fromkeys(("compare", "modes", "rank", "design"), "variants"),
    **dict.fromkeys(("bench", "report"), "pages"),
}


class Command(Protocol):
    """What each of the modules offers."""

    def options(self, parser: argparse.ArgumentParser) -> None:
        """Add the options of the command."""

    def answer(self, request: Request) -> Answer:
        """Do it. Raises ScenarioError with every fault of the options and of the file."""
        ...


def command(name: str) -> Command:
    """The module of a command."""
    return cast(Command, import_module(".".join(["analysis.cli", *([FOLDERS[name]] if name in FOLDERS else []), name])))
