"""Stones as the documents that `--json` prints: units in the keys, and under `says` the sentence on them."""

from __future__ import annotations

from typing import Any

from analysis.present.edge import bar, kmh, mm
from analysis.stones.per_hectare import Chance
from analysis.stones.speed import StoneSpeed
from analysis.stones.strike import LENGTH, PROUD, StoneLoads
from analysis.stones.words import chance_sentence, loads_sentence, speed_sentence


def loads_document(found: StoneLoads) -> dict[str, Any]:
    """Peaks on one stone at a pressure and speed, by contact stiffness."""
    return {
        "proud_mm": mm(PROUD),
        "length_m": LENGTH,
        "oil_pressure_bar": bar(found.oil_pressure),
        "speed_kmh": kmh(found.speed),
        "stiffness_MN_per_m": [k / 1e6 for k in found.stiffnesses],
        "disc_peak_N": list(found.disc_peaks),
        "pin": list(found.pins),
        "pin_peak_N": list(found.pin_peaks),
        "gives_way": any(found.gives_way),
        "gives_way_by_stiffness": list(found.gives_way),
        "says": loads_sentence(found),
    }


def met_document(fastest: StoneSpeed, chance: Chance) -> dict[str, Any]:
    """How fast a stone may be met under one limit, and how often stones of the field pass it."""
    return {**speed_document(fastest), "per_hectare": chance_document(chance)}


def speed_document(made: StoneSpeed) -> dict[str, Any]:
    """Highest speeds on one stone, by contact stiffness."""
    return {
        "proud_mm": mm(made.proud),
        "length_m": made.length,
        "oil_pressure_bar": bar(made.oil_pressure),
        "limit_on": made.limit.part,
        "limit_N": made.limit.force,
        "stiffness_MN_per_m": [f.stiffness / 1e6 for f in made.found],
        "highest_speed_kmh": [None if f.speed is None else kmh(f.speed) for f in made.found],
        "passed_above": [f.passed for f in made.found],
        "gives_way": [f.gives_way for f in made.found],
        "peak_N": [f.peak for f in made.found],
        "reasons": [f.reason for f in made.found],
        "says": speed_sentence(made),
    }


def chance_document(made: Chance) -> dict[str, Any]:
    """How often the stones of a hectare pass a limit, by contact stiffness."""
    return {
        "limit_on": made.limit.part,
        "limit_N": made.limit.force,
        "speed_kmh": kmh(made.speed),
        "row_spacing_m": made.row_spacing,
        "strikes_per_ha": made.strikes_per_hectare,
        "stiffness_MN_per_m": [p.stiffness / 1e6 for p in made.found],
        "expected_per_ha": [p.per_hectare for p in made.found],
        "expected_per_ha_with_grid_error": [[p.low, p.high] for p in made.found],
        "grid_error_share_of_limit": [p.error for p in made.found],
        "chance_per_ha": [p.chance for p in made.found],
        "reason": made.reason or None,
        "says": chance_sentence(made),
    }
