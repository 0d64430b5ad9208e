"""Reads a measured profile from CSV and finds all that is wrong with it at once."""

from __future__ import annotations

import csv
import io
import math
from itertools import pairwise
from pathlib import Path

import numpy as np

from scenarios.errors import ScenarioError, closest, fault, shown
from scenarios.profile import Profile
from scenarios.read import read_text
from scenarios.tables import ROOT

NEEDED = ("distance_m", "height_m")
STRENGTH = "strength_MPa"
LARGEST = 200_000_000  # bytes
CLOSEST = 0.001  # least distance between points [m]
SHOWN = 5  # lines named for one kind of fault


class _Finds:
    """Faults found line by line; of each kind the first few lines are told and the rest counted."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.kinds: dict[tuple[str, str], list[tuple[int, str]]] = {}

    def add(self, line: int, given: str, allowed: str, hint: str) -> None:
        """Note a fault of the kind (allowed, hint) in a line."""
        self.kinds.setdefault((allowed, hint), []).append((line, given))

    def texts(self) -> list[str]:
        """The faults in words."""
        found = []
        for (allowed, hint), lines in self.kinds.items():
            found += [fault(f"{self.file}: line {n}", given, allowed, hint) for n, given in lines[:SHOWN]]
            if len(lines) > SHOWN:
                found.append(f"{self.file}: {len(lines) - SHOWN} more lines with the same fault as line {lines[0][0]}")
        return found


def read_profile(path: Path) -> Profile:
    """A measured profile from a CSV file.

    Raises ScenarioError with every fault found: unreadable file, no data, no header, columns missing or twice,
    lines with too few cells, cells that are no finite numbers, strengths out of range, distances that do not rise,
    fewer than four points.
    """
    text = read_text(path, "a profile (CSV)", largest=LARGEST)
    rows = [(n, row) for n, row in _rows(text, path) if any(cell.strip() for cell in row)]
    if not rows:
        raise ScenarioError(
            [fault(str(path), "an empty file", "a header and at least 4 lines of numbers", "export the profile again")]
        )
    header = [cell.strip() for cell in rows[0][1]]
    faults = _header_faults(header, str(path))
    if faults:
        raise ScenarioError(faults)
    finds = _Finds(str(path))
    columns = [*NEEDED, *([STRENGTH] if STRENGTH in header else [])]
    data = _numbers(rows[1:], header, columns, finds)
    _check_rising(data, finds)
    faults = finds.texts()
    if len(rows) - 1 < 4:
        given = f"points: {len(rows) - 1}"
        faults.append(fault(str(path), given, "at least 4 points", "a longer profile"))
    if faults:
        raise ScenarioError(faults)
    table = np.array([values for _, values in data])
    ignored = tuple(name for name in header if name not in columns)
    strength = table[:, 2] * 1e6 if len(columns) == 3 else None
    return Profile(path, table[:, 0].copy(), table[:, 1].copy(), strength, ignored)


def _rows(text: str, path: Path) -> list[tuple[int, list[str]]]:
    """Lines of the file as cells, with their numbers from 1."""
    reader = csv.reader(io.StringIO(text))
    try:
        return [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        raise ScenarioError(
            [fault(str(path), f"not CSV ({error})", "plain CSV with commas", "export the profile again as CSV")]
        ) from None


def _header_faults(header: list[str], file: str) -> list[str]:
    where = f"{file}: line 1"
    allowed = f"a header with {' and '.join(NEEDED)}, perhaps {STRENGTH}"
    if len(header) == 1 and any(mark in header[0] for mark in ";\t"):
        return [fault(where, "columns apart by another mark than a comma", "commas", "export as CSV with commas")]
    if all(_number(cell) is not None for cell in header):
        return [fault(where, "numbers, no header", allowed, f'put "{",".join(NEEDED)}" on the first line')]
    faults = [
        fault(where, f"column {name} {header.count(name)} times", "each column once", "rename or drop the others")
        for name in sorted(set(header))
        if name and header.count(name) > 1
    ]
    spare = [name for name in header if name not in (*NEEDED, STRENGTH)]
    for name in NEEDED:
        if name not in header:
            near = closest(name, spare)
            hint = f"rename {shown(near)} to {name}, in metres" if near else f"add a column {name}"
            faults.append(fault(where, f"no column {name} (columns: {', '.join(header)[:80]})", allowed, hint))
    return faults


def _number(cell: str) -> float | None:
    """The number in a cell, None if there is none; a figure with underscores is none."""
    try:
        return None if "_" in cell else float(cell)
    except ValueError:
        return None


def _numbers(
    rows: list[tuple[int, list[str]]], header: list[str], columns: list[str], finds: _Finds
) -> list[tuple[int, list[float]]]:
    """Values of the wanted columns, line by line; lines with a fault are left out."""
    places = [header.index(name) for name in columns]
    data = []
    for line, row in rows:
        if len(row) != len(header):
            finds.add(line, f"{len(row)} cells", f"{len(header)} cells, as in the header", "check commas in this line")
            continue
        values = [_cell(line, row[place].strip(), name, finds) for place, name in zip(places, columns, strict=True)]
        if None not in values:
            data.append((line, [value for value in values if value is not None]))
    return data


def _cell(line: int, cell: str, name: str, finds: _Finds) -> float | None:
    """One checked value, None if it is at fault."""
    value = _number(cell)
    if value is None or not math.isfinite(value):
        given = f"{name} {shown(cell)}" if cell else f"{name} is empty"
        finds.add(line, given, "a finite number with a decimal point", "fill the gap or drop the line")
        return None
    if name == STRENGTH:
        key = ROOT.tables["soil"].keys[STRENGTH]
        if not key.low <= value <= key.high:
            finds.add(line, f"{name} {cell}", f"{key.allowed} for {STRENGTH}", "is it in MPa? 1 MPa = 1000 kPa")
            return None
    elif abs(value) > 1e6:
        finds.add(line, f"{name} {cell}", "-1e6 to 1e6 m", "is it in metres?")
        return None
    return value


def _check_rising(data: list[tuple[int, list[float]]], finds: _Finds) -> None:
    """Distances have to rise from line to line, by a millimetre at least."""
    for (_, before), (line, now) in pairwise(data):
        if now[0] - before[0] < CLOSEST:
            given = f"distance_m {now[0]:.10g} after {before[0]:.10g}"
            allowed = f"distances that rise by at least {CLOSEST} m from line to line"
            finds.add(line, given, allowed, "sort by distance and keep one point for each distance")
