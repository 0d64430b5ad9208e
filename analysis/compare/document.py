"""The JSON document of `rowbench compare`."""

from __future__ import annotations

import math
from typing import Any

from analysis.compare.compare import At, Comparison, Result
from analysis.compare.designs import differing
from analysis.compare.measured import Measured
from analysis.compare.note_words import notes_of
from analysis.compare.paired import LEVEL, Paired
from analysis.compare.sentences import area_as_set, headline, speed_sentence, verdict
from analysis.present.edge import bar, kmh

EDGES = {"%": "", "mm": "_mm", "m": "_m", "kN": "_N", "N": "_N"}  # ending of a key by the unit of the screen
FACTORS = {"%": 1.0, "mm": 1e3, "m": 1.0, "kN": 1.0, "N": 1.0}


def compare_document(found: Comparison) -> dict[str, Any]:
    """Plain numbers, units in the keys, shares as fractions; differences are those from the first design."""
    designs = [one.design for one in found.results]
    return {
        "ground": designs[0].name,
        "seeds": list(found.seeds),
        "seeds_searched": list(found.seeds[: found.searched]),
        "common_setting_of": None if found.chosen is None else designs[found.chosen].name,
        "interval": f"paired t, {LEVEL * 100:.0f} %",
        "differs": {one.name: list(one.values) for one in differing(designs, settings=found.as_set)},
        "headline": headline(found),
        "designs": [_design(found, i) for i in range(len(designs))],
        "notes": notes_of(found),
    }


def _design(found: Comparison, number: int) -> dict[str, Any]:
    result = found.results[number]
    told: dict[str, Any] = {
        "name": result.design.name,
        "scenario": result.design.scenario.name,
        "set_depth_mm": round(result.design.scenario.settings.set_depth * 1e3, 9),
        "own_ground": result.design.own_ground,
        "pick": _pick(result),
        "own_pick": None if result.own is None else _at(found, result.own, number, own=True),
        "common": _at(found, result.common, number, own=False),
    }
    if number:
        told["says"] = [text for text in (_speed(found, number), verdict(found, number)) if text]
    return told


def _speed(found: Comparison, number: int) -> str:
    return area_as_set(found, number) if found.as_set else speed_sentence(found, number)


def _pick(result: Result) -> dict[str, Any] | None:
    if result.pick is None:
        return None
    speeds = [None if math.isnan(v) else kmh(v) for v in result.pick_speeds.tolist()]
    return {
        "oil_pressure_bar": bar(result.pick.oil_pressure),
        "speed_kmh": kmh(result.pick.speed),
        "hectares_per_hour": result.rate,
        "speeds_by_seed_kmh": speeds,
        "warnings": list(result.pick.warnings),
    }


def _at(found: Comparison, at: At, number: int, *, own: bool) -> dict[str, Any]:
    values = {}
    for m in found.measures:
        by_seed = [None if math.isnan(v) else v * _factor(m) for v in at.values[m.name].tolist()]
        held = [v for v in by_seed if v is not None]
        values[_key(m)] = {
            "mean": sum(held) / len(held) if held else None,
            "by_seed": by_seed,
            "difference": _difference(m, found.difference(number, m.name, own=own)) if number else None,
        }
    return {
        "oil_pressure_bar": bar(at.oil_pressure), "speed_kmh": kmh(at.speed), "values": values,
        "problems": {str(seed): why for seed, why in at.problems.items()},
    }  # fmt: skip


def _difference(m: Measured, change: Paired | None) -> dict[str, Any] | None:
    if change is None:
        return None
    ends = [None if math.isnan(end) else end * _factor(m) for end in (change.low, change.high)]
    return {"mean": change.mean * _factor(m), "low": ends[0], "high": ends[1], "seeds": change.count,
            "beyond_chance": change.beyond_chance}  # fmt: skip


def _key(m: Measured) -> str:
    return f"{m.name}{EDGES[m.form[0]]}"


def _factor(m: Measured) -> float:
    return FACTORS[m.form[0]]
