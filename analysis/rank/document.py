"""A ranking as a document: values in the units of their keys, measures in SI."""

from __future__ import annotations

from typing import Any

import numpy as np

from analysis.present.edge import bar, finite, kmh
from analysis.rank.crossed import RANKED
from analysis.rank.rank import Ranking
from analysis.rank.shares import Interval

KEYS = {"on_depth_share": "on_depth_share", "wheel_off_share": "wheel_off_share", "depth_sd": "depth_sd_m",
        "pin_peak": "pin_peak_N", "pin_rms": "pin_rms_N"}  # fmt: skip


def rank_document(found: Ranking) -> dict[str, Any]:
    """All of it: shares of every measure, what was left out and why, how many sets of what."""
    s = found.scenario.settings
    k = len(found.varied.knobs)
    return {
        "scenario": found.scenario.name,
        "oil_pressure_bar": bar(s.oil_pressure),
        "speed_kmh": kmh(s.speed),
        "seeds": list(found.seeds),
        "ranges": "believed" if found.share is None else "within",
        "within_percent": None if found.share is None else found.share * 100.0,
        "measure": RANKED[found.by].name,
        "order": [found.varied.knobs[i].name for i in found.order],
        "values": [_value(found, i) for i in range(k)],
        "groups": [{"group": name, **_shares(found, k + g)} for g, name in enumerate(found.groups)],
        "measures": {
            KEYS[by.name]: {"mean": finite(float(found.shares.mean[m])), "sd": finite(float(found.shares.sd[m]))}
            for m, by in enumerate(RANKED)
        },
        "screened_out": [
            {"key": knob.name, "mean_size": {KEYS[by.name]: float(size[m]) for m, by in enumerate(RANKED)}}
            for knob, size in found.small
        ],
        "moves_nothing": [knob.name for knob in found.still],
        "not_varied": [{"key": name, "why": why} for name, why in found.left],
        "sets": found.asked,
        "sets_not_crossed": dict(found.tally.reasons),
        "first_points": found.shares.blocks,
        "first_points_asked": found.shares.asked,
        "values_screened": found.screened,
        "scenario_warnings": list(found.scenario.warnings),
    }


def _value(found: Ranking, i: int) -> dict[str, Any]:
    knob = found.varied.knobs[i]
    return {
        "key": knob.name,
        "says": knob.words,
        "group": knob.group,
        "value": knob.value,
        "low": knob.low,
        "high": knob.high,
        "moves_together": list(knob.members),
        "sets_not_crossed": int(found.shares.missing[i]),
        **_shares(found, i),
        "effect": {KEYS[by.name]: _interval(found.shares.effect, i, m) for m, by in enumerate(RANKED)},
    }


def _shares(found: Ranking, i: int) -> dict[str, Any]:
    return {
        name: {KEYS[by.name]: _interval(part, i, m) for m, by in enumerate(RANKED)}
        for name, part in (("total_share", found.shares.total), ("first_order_share", found.shares.first))
    }


def _interval(part: Interval, i: int, m: int) -> dict[str, float | None]:
    value, low, high = (finite(float(np.asarray(ends)[i, m])) for ends in part)
    return {"value": value, "low_95": low, "high_95": high}
