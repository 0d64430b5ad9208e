"""`--set KEY=VALUE`: any value of the file, in its place, checked as the file is."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

from analysis.cli.parts.file_keys import KEYS
from analysis.cli.parts.number_options import flag
from scenarios.changed.names import read_pair
from scenarios.changed.put_in import worth_saying
from scenarios.format.errors import ScenarioError, fault
from scenarios.format.tables import ROOT, Table
from scenarios.scenario import Scenario

SET = "--set"
OTHERS = {dotted: flag(name) for name, dotted in KEYS.items()}
WORN = "unit.clearance."


def add_set(parser: argparse.ArgumentParser) -> None:
    """Add the option."""
    parser.add_argument(
        SET, action="append", metavar="KEY=VALUE",
        help="a value in place of the file's, by its full key: unit.disc.edge_width_mm=4 (as often as needed)",
    )  # fmt: skip


def read_set(given: Mapping[str, Any], changes: dict[str, Any], faults: list[str], root: Table = ROOT) -> None:
    """Put the values into the changes of a file, by dotted name; faults are added.

    root: the tables of the kind of file. A key that another option has changed already is a fault.
    """
    by_option = dict(changes)
    for text in given.get("set") or ():
        try:
            name, found, value = read_pair(str(text), SET, root)
        except ScenarioError as error:
            faults += error.faults
            continue
        option = OTHERS.get(found.name, "--worn" if found.name.startswith(WORN) else "")
        if name in by_option and option:
            faults.append(fault(f"{SET} {name}", f"given beside {option}", "one of the two", f"leave {option} out"))
        elif name in changes:
            faults.append(fault(f"{SET} {name}", "given twice", "each key once", "leave one out"))
        else:
            changes[name] = value


def set_words(given: Mapping[str, Any]) -> list[str]:
    """The words of a command line that ask for the same changes again."""
    return [word for text in given.get("set") or () for word in (SET, str(text))]


def changed_document(scenario: Scenario) -> dict[str, Any]:
    """What stands in place of the file's values, for a JSON document; nothing where nothing does."""
    found: dict[str, Any] = {}
    for one in worth_saying(scenario.replaced):
        found[one.name] = {"value": one.value, "file": one.before}
        if one.moved:
            found[one.name]["moved"] = {name: {"value": its, "file": was} for name, (its, was) in one.moved.items()}
    return {"changed": found} if found else {}
