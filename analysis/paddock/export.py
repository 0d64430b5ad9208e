"""Sections of a paddock as a table (CSV) or as places on a map (GeoJSON, RFC 7946)."""

from __future__ import annotations

import csv
import json
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from analysis.crossing.measures import EDGES, Join, by_section
from analysis.paddock.table import PaddockTable
from analysis.present.edge import bar, kmh
from scenarios.format.errors import ScenarioError, fault
from sim.record import PINS

PLACE = ("pass", "row", "section", "x_m", "y_m", "length_m", "zone")


def section_rows(table: PaddockTable, setting: int) -> Iterator[dict[str, Any]]:
    """Every section of every row at a setting, units in the keys; None where a row could not be crossed."""
    pressure, speed = table.settings[setting]
    known = table.latitude is not None and table.longitude is not None
    columns = {name: m for name, m in by_section().items() if m.join is not Join.WITH_HIGHEST}
    for p, r, s in np.ndindex(table.zone.shape):
        if not np.isfinite(table.section_length[p, s]):
            continue
        row: dict[str, Any] = {
            "oil_pressure_bar": bar(pressure), "speed_kmh": kmh(speed), "pass": p + 1, "row": r + 1, "section": s + 1,
            "x_m": round(float(table.section_x[p, s]), 3), "y_m": round(float(table.row_y[p, r]), 3),
            "length_m": round(float(table.section_length[p, s]), 3), "zone": table.zone_names[table.zone[p, r, s]],
        }  # fmt: skip
        if known:
            assert table.latitude is not None
            assert table.longitude is not None
            row["latitude"] = round(float(table.latitude[p, r, s]), 9)
            row["longitude"] = round(float(table.longitude[p, r, s]), 9)
        for name, m in columns.items():
            row[m.paddock_key] = _number(float(table.sections[name][setting, p, r, s]) * EDGES[m.edge].factor)
        row["pin"] = PINS[int(table.sections["pin_worst"][setting, p, r, s])] if row["pin_peak_N"] is not None else None
        yield row


def _number(value: float) -> float | None:
    return float(f"{value:.6g}") if np.isfinite(value) else None


def write_csv(path: Path, table: PaddockTable, settings: Sequence[int]) -> None:
    """All sections at some settings as CSV with a header."""
    with path.open("w", newline="", encoding="utf-8") as stream:
        writer: csv.DictWriter[str] | None = None
        for setting in settings:
            for row in section_rows(table, setting):
                if writer is None:
                    writer = csv.DictWriter(stream, list(row))
                    writer.writeheader()
                writer.writerow(row)


def places_fault(name: str) -> str:
    """The fault of a paddock whose places on a map are not known, or not of all passes."""
    return fault("--geojson", f"{name} has no latitudes and longitudes of all passes",
                 "a paddock whose [passes] give latitude and longitude, or measured lines that all have positions",
                 "--csv, which gives places in metres")  # fmt: skip


def write_geojson(path: Path, table: PaddockTable, setting: int) -> None:
    """All sections at one setting as points in WGS 84. Raises ScenarioError where positions are not known."""
    if table.latitude is None:
        raise ScenarioError([places_fault(table.name)])
    with path.open("w", newline="\n", encoding="utf-8") as stream:
        stream.write('{"type": "FeatureCollection", "features": [')
        for count, row in enumerate(section_rows(table, setting)):
            place = [row.pop("longitude"), row.pop("latitude")]
            point = {"type": "Feature", "geometry": {"type": "Point", "coordinates": place}, "properties": row}
            stream.write((",\n" if count else "\n") + json.dumps(point, allow_nan=False, ensure_ascii=False))
        stream.write("\n]}\n")
