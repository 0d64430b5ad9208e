"""One row of one pass by itself: what it gives at every setting, or why it could not be crossed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from analysis.paddock.passes.crossing import run_rows
from analysis.present.edge import bar, kmh
from scenarios.paddock.paddock import Paddock


@dataclass(frozen=True)
class RowAlone:
    """A row (pass and row from 0) as it goes in the paddock, setting by setting."""

    paddock: Paddock
    number: int
    row: int
    settings: tuple[dict[str, Any], ...]  # units in the keys; `failed`: why, "" where it was crossed


def row_alone(paddock: Paddock, number: int, row: int) -> RowAlone:
    """March one row at all settings that the paddock tries, bit for bit as in the whole pass."""
    found = run_rows(paddock, number, [row])
    length = found.section_length / found.section_length.sum()
    said = []
    for i, settings in enumerate(paddock.tried):
        one: dict[str, Any] = {
            "oil_pressure_bar": bar(settings.oil_pressure), "speed_kmh": kmh(settings.speed),
            "failed": found.problems.get((i, row), ""),
        }  # fmt: skip
        sections = {name: values[i, row].astype(np.float64) for name, values in found.sections.items()}
        for key, name in (("on_depth_share", "on_depth_share"), ("wheel_off_share", "wheel_off_share")):
            one[key] = None if one["failed"] else float(np.sum(sections[name] * length))
        one["error_mean_mm"] = None if one["failed"] else float(np.sum(sections["error_mean"] * length)) * 1e3
        one["pin_peak_N"] = None if one["failed"] else float(sections["pin_peak"].max())
        said.append(one)
    return RowAlone(paddock, number, row, tuple(said))
