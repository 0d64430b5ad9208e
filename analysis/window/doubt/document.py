"""The chance that all limits are met, as part of a document: units in the keys."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis.present.edge import bar, finite, kmh
from analysis.window.doubt.pick import Doubt
from analysis.window.pick import Nearest, Pick
from analysis.window.robustness import Robustness, Trial, Tried
from analysis.window.sure.words import end_words
from scenarios.doubt.belief import RANGE
from scenarios.doubt.doubtful import BY_NAME
from scenarios.doubt.keys import edge_of, key_of
from scenarios.format.edge_units import to_edge


def grid_document(doubt: Doubt | None) -> dict[str, Any]:
    """The chance of every cell as [pressure][speed], None where it was not looked at; and of what it is."""
    if doubt is None:
        return {"chance_all_limits": None, "doubt": None}
    chance = doubt.chance
    held = chance.held
    ends = held.from_z(np.array([[-RANGE], [RANGE]]) * np.ones(len(held.names)))
    values = []
    for k, name in enumerate(held.names):
        one = BY_NAME[name]
        low, high = (to_edge(float(end[k]), edge_of(one)) for end in ends)
        values.append({"name": name, "key": key_of(one), "low_95": low, "high_95": high, "measured": held.measured[k]})
    sure = doubt.sure
    return {
        "chance_all_limits": [[finite(float(share)) for share in row] for row in chance.grid],
        "doubt": {
            "decides": doubt.decides,
            "confidence": doubt.confidence,
            "draws": chance.sets,
            "readings": doubt.readings,
            "values": values,
            "fastest_with_confidence": _place(doubt, sure) if isinstance(sure, Pick) else None,
        },
    }  # fmt: skip


def _place(doubt: Doubt, found: Pick | Nearest) -> dict[str, Any]:
    place = {"oil_pressure_bar": bar(found.oil_pressure), "speed_kmh": kmh(found.speed)}
    return {**place, **chance_document(doubt, found)}


def chance_document(doubt: Doubt, found: Pick | Nearest) -> dict[str, Any]:
    """The chance of a setting with its 95 % interval, and how fast the pick would be with every value known."""
    low, high = doubt.chance.interval(found.i, found.j)
    known = doubt.known
    return {
        "chance": float(doubt.chance.grid[found.i, found.j]),
        "chance_low_95": low,
        "chance_high_95": high,
        "speed_if_known_kmh": kmh(known.speed) if isinstance(known, Pick) else None,
    }


def matters_document(sure: Robustness | None) -> list[dict[str, Any]]:
    """The values that move the pick, that which moves it most in front, in the units of their keys."""
    moving = () if sure is None else sure.moving
    return [
        {
            "name": one.doubtful.name,
            "key": one.key,
            "says": one.doubtful.words,
            "measure_with": one.doubtful.measured or None,
            "low": _end(one, 0, one.low),
            "high": _end(one, 1, one.high),
        }
        for one in moving
    ]


def _end(one: Trial, k: int, tried: Tried | None) -> dict[str, Any] | None:
    if tried is None:
        return None
    pick = tried.found.pick
    return {
        "value": to_edge(tried.value, one.edge),
        "says": end_words(one, k),
        "pick": None if pick is None else {"oil_pressure_bar": bar(pick.oil_pressure), "speed_kmh": kmh(pick.speed)},
    }
