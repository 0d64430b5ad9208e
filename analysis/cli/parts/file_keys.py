"""Options that stand in place of a key of the scenario file, checked as that key is."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analysis.cli.parts.number_options import number, whole
from scenarios.format.errors import fault, shown
from scenarios.format.keys import read_series
from scenarios.format.messages import value_fault
from scenarios.format.tables import ROOT

# option → dotted key of a scenario file whose place it takes
KEYS = {
    "pressure": "settings.oil_pressure_bar",
    "precharge": "settings.precharge_bar",
    "speed": "settings.speed_kmh",
    "seed": "ground.seed",
    "pressures": "search.pressures_bar",
    "speeds": "search.speeds_kmh",
    "seeds": "search.seeds",
    "draws": "search.draws",
}


def read_changes(given: Mapping[str, Any], faults: list[str]) -> dict[str, Any]:
    """Values (edge units) by dotted key, in place of the scenario file's; faults are added."""
    changes: dict[str, Any] = {}
    for option, dotted in KEYS.items():
        text = given.get(option)
        if text is not None:
            _change(option, dotted, text, changes, faults)
    return changes


def _change(option: str, dotted: str, text: str, changes: dict[str, Any], faults: list[str]) -> None:
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
    value = whole(text) if key.kind == "whole" else number(text)
    if value is None or not key.accepts(value):
        faults.append(value_fault(where, key, text if value is None else value))
    else:
        changes[dotted] = value
