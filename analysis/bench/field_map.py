"""The map beside the bench: pressures × speeds on the ground in view, made in parts so that the next change can end it.

Part 0 is every other pressure and speed; the parts after it are two speeds each with every pressure.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np

from analysis.bench.desk import Desk
from analysis.bench.scene import Scene
from analysis.present.edge import bar, kmh, mm
from analysis.present.texts import number, percent
from analysis.window.cross_grid import search
from analysis.window.feature.at_feature import largest_error
from analysis.window.grid import Window
from analysis.window.limits import checks, hindrance, meets
from scenarios.format.errors import ScenarioError, fault

COLUMNS = 2  # speeds of a part

# a few letters for the limit that a field fails first, by name of the limit
SHORT = {
    "on_depth_share_min": "depth", "wheel_off_share_max": "wheel", "gauge_load_min": "light", "gauge_load_max": "heavy",
    "feature_too_deep_max": "deep", "feature_too_shallow_max": "high", "feature_off_depth_max": "depth",
    "feature_wheel_off_max": "wheel", "feature_gauge_peak_max": "heavy", "pin_peak_max": "pins",
    "gas_pressure_max": "oil", "breakouts_per_km_max": "stones", "precharge_share_max": "gas", "gas_squeeze_max": "gas",
}  # fmt: skip
LETTERS = {
    "depth": "too little of the way on depth", "wheel": "gauge wheel off too long", "light": "gauge wheel too light",
    "heavy": "gauge wheel too heavy", "deep": "slot too deep", "high": "disc too high, slot too shallow",
    "pins": "pin load", "oil": "oil pressure", "stones": "breakouts", "gas": "precharge does not suit",
    "cannot": "cannot be set or crossed",
}  # fmt: skip


def map_part(desk: Desk, scene: Scene, part: int) -> dict[str, Any]:
    """One part of the map. Raises ScenarioError for a scene at fault or a part that there is not."""
    scenario = desk.scenario(scene)
    p = np.unique([round(bar(v), 6) for v in scenario.search.pressures])
    v = np.unique([round(kmh(x), 6) for x in scenario.search.speeds])
    parts = 1 + math.ceil(v.size / COLUMNS)
    if not 0 <= part < parts:
        raise ScenarioError([fault("part", f"given {part}", f"0 to {parts - 1}", "0")])
    rows = np.arange(0, p.size, 2 if part == 0 else 1)
    columns = np.arange(0, v.size, 2) if part == 0 else np.arange(v.size)[COLUMNS * (part - 1) : COLUMNS * part]
    window = search(scenario, p[rows].tolist(), v[columns].tolist(), seeds=(scenario.seed,), unchanged=False)
    return {
        "parts": parts, "pressures": p.tolist(), "speeds": v.tolist(), "words": LETTERS,
        "on_feature": window.limits.on_feature,
        "cells": [
            {"i": int(rows[i]), "j": int(columns[j]), **_field(window, i, j)}
            for j in range(columns.size) for i in range(rows.size)
        ],
    }  # fmt: skip


def _field(window: Window, i: int, j: int) -> dict[str, Any]:
    """One field: what it shows, how bright, whether it meets every limit, and which limit binds."""
    share = float(window.grids["on_depth_share"][i, j, 0])
    stopped = hindrance(window, window.limits, i, j)
    if stopped or not math.isfinite(share):
        return {"text": "–", "bright": 1.0, "ok": False, "short": "cannot", "binds": stopped or "could not be crossed"}
    nearest = checks(window, window.limits, i, j)[0]
    ok = bool(meets(window, window.limits)[i, j])
    if window.limits.on_feature:
        error = float(largest_error(window)[i, j])
        text, bright, what = number(mm(error), 0), 1.0 - error / 0.06, f"largest depth error {number(mm(error), 0)} mm"
    else:
        text, bright, what = f"{math.floor(100.0 * share + 0.5)}", (share - 0.5) / 0.5, f"{percent(share)} on depth"
    return {
        "text": text, "bright": round(min(max(bright, 0.0), 1.0), 3), "ok": ok, "what": what,
        "short": "" if ok else SHORT.get(nearest.limit.name, "limit"), "binds": nearest.sentence(),
    }  # fmt: skip
