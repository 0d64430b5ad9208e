"""Plain CSV with a header → columns of numbers, with all that is wrong with it found at once."""

from __future__ import annotations

import csv
import io
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from scenarios.format.errors import ScenarioError, closest, fault, shown
from scenarios.format.read import read_text

SHOWN = 5  # lines named for one kind of fault

Check = Callable[[str, float], "tuple[str, str] | None"]  # (column, value) → (what is allowed, what to try) at fault


class Finds:
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


@dataclass(frozen=True)
class Form:
    """What a file has to hold: its name in messages, columns that must and that may be there, and the least lines."""

    what: str  # "a profile"
    again: str  # "export the profile again"
    needed: tuple[str, ...]
    optional: tuple[str, ...]
    unit: str  # what a renamed column has to be in, ", in metres"
    least: str  # "a header and at least 4 lines of numbers"
    check: Check


@dataclass(frozen=True)
class Sheet:
    """Columns of a file; lines with a fault are left out and told by `finds`."""

    columns: tuple[str, ...]  # those that were read, needed ones first
    ignored: tuple[str, ...]
    given: int  # lines after the header that hold anything
    lines: list[tuple[int, list[float]]]  # number of the line in the file, values in the order of `columns`
    finds: Finds


def read_sheet(path: Path, form: Form, *, largest: int) -> Sheet:
    """The columns of a CSV file.

    Raises ScenarioError where nothing can be read: unreadable file, no data, no header, columns missing or twice.
    Lines with too few cells, cells that are no finite numbers or that `form.check` refuses are noted in `finds`.
    """
    text = read_text(path, f"{form.what} (CSV)", largest=largest)
    rows = [(n, row) for n, row in _rows(text, path, form) if any(cell.strip() for cell in row)]
    if not rows:
        raise ScenarioError([fault(str(path), "an empty file", form.least, form.again)])
    header = [cell.strip() for cell in rows[0][1]]
    faults = _header_faults(header, str(path), form)
    if faults:
        raise ScenarioError(faults)
    columns = (*form.needed, *(name for name in form.optional if name in header))
    finds = Finds(str(path))
    lines = _numbers(rows[1:], header, columns, form.check, finds)
    return Sheet(columns, tuple(name for name in header if name not in columns), len(rows) - 1, lines, finds)


def _rows(text: str, path: Path, form: Form) -> list[tuple[int, list[str]]]:
    """Lines of the file as cells, with their numbers from 1."""
    reader = csv.reader(io.StringIO(text))
    try:
        return [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        given = f"not CSV ({error})"
        raise ScenarioError([fault(str(path), given, "plain CSV with commas", f"{form.again} as CSV")]) from None


def _header_faults(header: list[str], file: str, form: Form) -> list[str]:
    where = f"{file}: line 1"
    perhaps = f", perhaps {', '.join(form.optional)}" if form.optional else ""
    allowed = f"a header with {' and '.join(form.needed)}{perhaps}"
    if len(header) == 1 and any(mark in header[0] for mark in ";\t"):
        return [fault(where, "columns apart by another mark than a comma", "commas", "export as CSV with commas")]
    if all(number(cell) is not None for cell in header):
        return [fault(where, "numbers, no header", allowed, f'put "{",".join(form.needed)}" on the first line')]
    faults = [
        fault(where, f"column {name} {header.count(name)} times", "each column once", "rename or drop the others")
        for name in sorted(set(header))
        if name and header.count(name) > 1
    ]
    spare = [name for name in header if name not in (*form.needed, *form.optional)]
    for name in form.needed:
        if name not in header:
            near = closest(name, spare)
            hint = f"rename {shown(near)} to {name}{form.unit}" if near else f"add a column {name}"
            faults.append(fault(where, f"no column {name} (columns: {', '.join(header)[:80]})", allowed, hint))
    return faults


def number(cell: str) -> float | None:
    """The number in a cell, None if there is none; a figure with underscores is none."""
    try:
        return None if "_" in cell else float(cell)
    except ValueError:
        return None


def _numbers(
    rows: list[tuple[int, list[str]]], header: list[str], columns: Sequence[str], check: Check, finds: Finds
) -> list[tuple[int, list[float]]]:
    """Values of the wanted columns, line by line; lines with a fault are left out."""
    places = [header.index(name) for name in columns]
    data = []
    for line, row in rows:
        if len(row) != len(header):
            finds.add(line, f"{len(row)} cells", f"{len(header)} cells, as in the header", "check commas in this line")
            continue
        values = [_cell(line, row[i].strip(), name, check, finds) for i, name in zip(places, columns, strict=True)]
        if None not in values:
            data.append((line, [value for value in values if value is not None]))
    return data


def _cell(line: int, cell: str, name: str, check: Check, finds: Finds) -> float | None:
    """One checked value, None if it is at fault."""
    value = number(cell)
    if value is None or not math.isfinite(value):
        given = f"{name} {shown(cell)}" if cell else f"{name} is empty"
        finds.add(line, given, "a finite number with a decimal point", "fill the gap or drop the line")
        return None
    wrong = check(name, value)
    if wrong is not None:
        finds.add(line, f"{name} {cell}", *wrong)
        return None
    return value
