"""Options that several commands have, in the same words."""

from __future__ import annotations

import argparse
from typing import Any

SHARED: dict[str, dict[str, Any]] = {
    "file": {"nargs": "?", "metavar": "FILE"},
    "--json": {"action": "store_true", "help": "one JSON document on standard output"},
    "--pressure": {"metavar": "BAR", "help": "oil pressure in place of the file's"},
    "--precharge": {"metavar": "BAR", "help": "nitrogen precharge in place of the file's"},
    "--speed": {"metavar": "KMH", "help": "speed in place of the file's"},
    "--seed": {"metavar": "N", "help": "which random ground to cross: its number, in place of the file's"},
    "--pressures": {"metavar": "A:B:N", "help": "oil pressures to try, bar: first:last:count or a list 40,50,60"},
    "--speeds": {"metavar": "A:B:N", "help": "speeds to try, km/h: first:last:count or a list 6,8,10"},
    "--seeds": {"metavar": "N", "help": "how many grounds to try"},
    "--draws": {"metavar": "N", "help": "how many sets of values stand for what is in doubt"},
    "--workers": {"metavar": "N", "help": "how many processor cores to use (default: all)"},
    "--profile": {"metavar": "CSV", "help": "measured ground: distance_m and height_m, or a receiver's log"},
    "--figure": {"metavar": "PNG", "help": "draw it (.png, .svg or .pdf)"},
}


def add_shared(parser: argparse.ArgumentParser, *names: str) -> None:
    """Add some of them, in the order of their names."""
    for name in names:
        parser.add_argument(name, **SHARED[name])
