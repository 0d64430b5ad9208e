"""`--set KEY=VALUE`: any value of a file, in its place; `--vary KEY=V1,V2,…`: one in several values, each a design."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from analysis.cli.parts.file_keys import KEYS
from analysis.cli.parts.number_options import flag
from analysis.compare.designs import MOST
from scenarios.changed.names import as_number, read_pair, read_value
from scenarios.changed.put_in import change_value, worth_saying
from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.format.tables import ROOT, Table
from scenarios.scenario import Scenario

SET = "--set"
OTHERS = {dotted: flag(name) for name, dotted in KEYS.items()}
WORN = "unit.clearance."
DEPTHS = ("limits.set_depth_min_mm", "limits.set_depth_max_mm")  # what --depth-range sets
VARY = "--vary"
OF_GROUND = ("ground.", "stones.")
OF_SETTING = ("settings.oil_pressure_bar", "settings.speed_kmh")
OWN = "the file's"
TOLD = ("title", "shows", "prior.", "uncertain.", "search.seeds", "search.draws")


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
        if found.name in DEPTHS and given.get("depth_range") is not None:
            faults.append(fault(f"{SET} {name}", "given beside --depth-range", "one of the two", "leave one out"))
        elif name in by_option and option:
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


@dataclass(frozen=True)
class Vary:
    """What is varied: the changes that make each design, and their names. of_setting: pressure or speed themselves."""

    key: str
    changes: tuple[dict[str, Any], ...]
    names: tuple[str, ...]
    of_setting: bool


def add_vary(parser: argparse.ArgumentParser) -> None:
    """Add the option."""
    parser.add_argument(VARY, action="append", metavar="KEY=V1,V2", help="one key of FILE in several values, by its "
                        "full name: unit.carrier.mass_kg=95,115; of one value beside the file's own")  # fmt: skip


def read_vary(given: Mapping[str, Any], changes: Mapping[str, Any], faults: list[str]) -> Vary | None:
    """What --vary asks for; None where it is not given or at fault, faults are added. changes: by other options."""
    texts = given.get("vary")
    if texts is None:
        return None
    if len(texts) > 1:
        faults.append(
            fault(VARY, f"given {len(texts)} times", "one key", "the others with --set, or files of their own")
        )
        return None
    try:
        name, found, _ = read_pair(str(texts[0]), VARY)
    except ScenarioError as error:
        faults += error.faults
        return None
    key = found.key if found.part is None else as_number(found.key)
    parts = [part.strip() for part in split(str(texts[0]).partition("=")[2])]
    values = [read_value(part, key) for part in parts]
    wrong = _faults(name, parts, values, changes)
    faults += wrong
    if wrong:
        return None
    short = ".".join(name.split(".")[-2:]) if found.part is not None else name.split(".")[-1]
    made: list[dict[str, Any]] = [{name: value} for value in values]
    named = [f"{short} = {change_value(value)}" for value in values]
    if len(values) == 1:
        made, named = [{}, *made], [f"{short} = {OWN}", *named]
    return Vary(name, tuple(made), tuple(named), name in OF_SETTING)


def _faults(name: str, parts: list[str], values: list[Any], changes: Mapping[str, Any]) -> list[str]:
    where = f"{VARY} {name}"
    if name.startswith(OF_GROUND):
        allowed = "keys of unit, soil, settings, machine, limits: designs are compared on one ground"
        return [fault(where, "a key of the ground", allowed, f"rowbench window FILE --set {name}={parts[0] or '…'}")]
    if name.startswith(TOLD):
        return [fault(where, "a key that changes no crossing", "keys of unit, soil, settings, machine, limits, search",
                      "unit.carrier.mass_kg")]  # fmt: skip
    if name in changes:
        return [fault(where, f"given beside {OTHERS.get(name, '--set')}", "one of the two", f"leave {VARY} out")]
    if not all(parts):
        return [fault(where, "no value", f"one to {MOST} values with commas between them", f"{VARY} {name}=V1,V2")]
    if len(parts) > MOST:
        return [fault(where, f"{len(parts)} values", f"one to {MOST} values", "fewer of them")]
    told = [change_value(value) for value in values]
    twice = next((text for text in told if told.count(text) > 1), None)
    return [] if twice is None else [fault(where, f"given {shown(twice)} twice", "each value once", "leave one out")]


def split(text: str) -> list[str]:
    """Values with commas between them; commas in brackets or quotes divide nothing.

    >>> split("1,2"), split("[0, 1],[0, 2]"), split('"a,b",c')
    (['1', '2'], ['[0, 1]', '[0, 2]'], ['"a,b"', 'c'])
    """
    parts, depth, quote = [""], 0, ""
    for mark in text:
        if quote:
            quote = "" if mark == quote else quote
        elif mark in "\"'":
            quote = mark
        depth += (mark in "[{") - (mark in "]}") if not quote else 0
        if mark == "," and depth == 0 and not quote:
            parts.append("")
        else:
            parts[-1] += mark
    return parts
