"""Every number of a scene that can be moved, and the kinds of things that can be laid on its ground."""

from __future__ import annotations

from typing import Any

from scenarios.changed.numeric_keys import NumericKey, numeric_keys
from scenarios.format.edge_units import unit_text
from scenarios.format.keys import Key
from scenarios.format.tables import ROOT, Table
from scenarios.scenario import Scenario

TABLES = ("unit", "soil", "settings", "ground", "stones", "machine", "limits")
STONE = "stone"  # a placed stone, beside the kinds of [[ground.features]]


def keys_told(scenario: Scenario) -> list[dict[str, Any]]:
    """The numbers of a scenario with range, unit and meaning."""
    return [_told(key) for key in numeric_keys(scenario, TABLES)]


def _told(key: NumericKey) -> dict[str, Any]:
    return {
        "name": key.name, "value": key.value, "low": key.low, "high": key.high, "unit": unit_text(key.unit).strip(),
        "doc": key.doc, "whole": key.whole, "moves": list(key.moves), "together": key.together,
    }  # fmt: skip


def kinds_told() -> dict[str, Any]:
    """Kinds of things on the ground: what each is and its keys, numbers only, as a file has them."""
    features = ROOT.tables["ground"].lists["features"].tables
    placed = ROOT.tables["stones"].lists["placed"].tables[""]
    return {**{kind: _kind(table) for kind, table in features.items()}, STONE: _kind(placed)}


def _kind(table: Table) -> dict[str, Any]:
    return {"doc": table.doc, "keys": [_key(key) for key in table.keys.values() if key.kind in ("number", "whole")]}


def _key(key: Key) -> dict[str, Any]:
    return {
        "name": key.name, "low": key.low, "high": key.high, "unit": unit_text(key.edge).strip(), "doc": key.doc,
        "example": key.example if key.default is None else key.default, "needed": key.needed,
        "default": key.default,
    }  # fmt: skip
