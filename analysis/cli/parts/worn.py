"""`--worn MM`: the same play in all pins of a unit that the depth hangs on, in place of the file's."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

from analysis.cli.parts.number_options import number
from scenarios.format.errors import fault, shown
from scenarios.format.tables import ROOT

HELP = "play in every pin that the depth hangs on (bore less pin), mm, in place of the file's [unit.clearance]"


def add_worn(parser: argparse.ArgumentParser, more: str = "") -> None:
    """Add the option; more: what the command tells besides."""
    parser.add_argument("--worn", metavar="MM", help=f"{HELP}{more}")


def read_worn(given: Mapping[str, Any], changes: dict[str, Any], faults: list[str]) -> bool:
    """Put the play into the changes of a file, by dotted key; a fault is added. Whether it was asked for."""
    text = given.get("worn")
    if text is None:
        return False
    keys = ROOT.tables["unit"].tables["clearance"].keys
    value, low, high = number(text), 0.01, min(key.high for key in keys.values())
    if value is None or not low <= value <= high:
        faults.append(
            fault("--worn", f"given {shown(text)}", f"{low:g} to {high:g} mm (bore less pin, in each pin)", "--worn 2")
        )
    else:
        changes.update({f"unit.clearance.{name}": value for name in keys})
    return True
