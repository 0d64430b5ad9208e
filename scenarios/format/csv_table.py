"""Plain CSV with a header → columns of numbers, with all that is wrong with it found at once.

Every CSV file that the program takes (a profile, a measured pass, strengths at points, depths dug) is read here; a
`Form` describes its columns.
"""

from __future__ import annotations

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scenarios.format.errors import ScenarioError, closest, fault, shown
from scenarios.format.numbers import plain_number
from scenarios.format.read import read_text

SHOWN = 5  # lines named for one kind of fault


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
class Column:
    """One column of numbers: what they may be, and how one that is out of range is told."""

    name: str
    low: float
    high: float
    allowed: str  # "-1e6 to 1e6 m"
    hint: str  # what to try: "is it in metres?"
    whole: bool = False
    blank: bool = False  # cells may be empty: NaN

    def accepts(self, value: float) -> bool:
        """Whether a finite number may stand here."""
        return self.low <= value <= self.high and not (self.whole and value != int(value))


@dataclass(frozen=True)
class Form:
    """What a file has to hold: its name in messages, columns that must and that may be there, and the least lines."""

    what: str  # "a profile"
    again: str  # "export the profile again"
    sets: tuple[tuple[Column, ...], ...]  # the columns of one of these have to be there; the first that is there counts
    least: str  # "a header and at least 4 lines of numbers"
    optional: tuple[Column, ...] = ()
    unit: str = ""  # what a renamed column has to be in, ", in metres"
    fewest: int = 0  # lines after the header
    longer: str = "a longer file"  # what to try with fewer
    loose: bool = False  # lines may have other numbers of cells than the header, unused columns may stand twice
    said: tuple[str, ...] = ()  # columns of words that have to be there
    perhaps_said: tuple[str, ...] = ()  # columns of words that may be there

    @property
    def header(self) -> str:
        """The columns in words."""
        if len(self.sets) > 1:
            return f"a header with {' or '.join(map(_line, self.sets))}"
        more = (*_names(self.optional), *self.perhaps_said)
        perhaps = f", perhaps {', '.join(more)}" if more else ""
        return f"a header with {' and '.join((*self.said, *_names(self.sets[0])))}{perhaps}"


def _names(columns: tuple[Column, ...]) -> list[str]:
    return [column.name for column in columns]


def _first(form: Form) -> str:
    """The needed columns as they stand in a file."""
    return ",".join((*form.said, *_names(form.sets[0])))


def _line(columns: tuple[Column, ...]) -> str:
    """Columns as they stand in a file."""
    return ",".join(_names(columns))


@dataclass(frozen=True)
class Sheet:
    """Columns of a file; lines with a fault are left out and told by `finds`."""

    path: Path
    form: Form
    columns: tuple[str, ...]  # those that were read, needed ones first
    ignored: tuple[str, ...]
    given: int  # lines after the header that hold anything
    lines: list[tuple[int, list[float]]]  # number of the line in the file, values in the order of `columns`
    finds: Finds
    words: list[dict[str, str]]  # line by line, by the names of the columns of words that are there

    def column(self, name: str) -> NDArray[np.float64]:
        """The numbers of one column, line by line, (n,)."""
        place = self.columns.index(name)
        return np.array([values[place] for _, values in self.lines], dtype=np.float64)

    def faults(self) -> list[str]:
        """All faults in words: those found line by line, and a file with too few lines."""
        found, form = self.finds.texts(), self.form
        if self.given < form.fewest:
            given, allowed = f"points: {self.given}", f"at least {form.fewest} points"
            found.append(fault(str(self.path), given, allowed, form.longer))
        return found


def read_sheet(path: Path, form: Form, *, largest: int) -> Sheet:
    """The columns of a CSV file.

    Raises ScenarioError where nothing can be read: unreadable file, no data, no header, columns missing or twice.
    Lines with too few cells, cells that are no finite numbers or out of range are noted in `finds`.
    """
    text = read_text(path, f"{form.what} (CSV)", largest=largest)
    rows = [(n, row) for n, row in _rows(text, path, form) if any(cell.strip() for cell in row)]
    if not rows:
        raise ScenarioError([fault(str(path), "an empty file", form.least, form.again)])
    header = [cell.strip() for cell in rows[0][1]]
    faults = _header_faults(header, str(path), form)
    if faults:
        raise ScenarioError(faults)
    columns = (*_chosen(header, form), *(column for column in form.optional if column.name in header))
    finds = Finds(str(path))
    words = [name for name in (*form.said, *form.perhaps_said) if name in header]
    lines, said = _lines(rows[1:], header, columns, words, form, finds)
    names = tuple(_names(columns))
    ignored = tuple(name for name in header if name not in (*names, *words))
    return Sheet(path, form, names, ignored, len(rows) - 1, lines, finds, said)


def header_of(path: Path, form: Form, *, largest: int) -> tuple[str, ...]:
    """The names in a file's first line that holds any; () where there is none. Raises ScenarioError as `read_sheet`."""
    rows = _rows(read_text(path, f"{form.what} (CSV)", largest=largest), path, form)
    first = next((row for _, row in rows if any(cell.strip() for cell in row)), [])
    return tuple(cell.strip() for cell in first)


def _chosen(header: list[str], form: Form) -> tuple[Column, ...]:
    """The first set of columns that is there whole; none if there is none."""
    return next((columns for columns in form.sets if set(_names(columns)) <= set(header)), ())


def _rows(text: str, path: Path, form: Form) -> list[tuple[int, list[str]]]:
    """Lines of the file as cells, with their numbers from 1."""
    reader = csv.reader(io.StringIO(text, newline=None))
    try:
        return [(reader.line_num, row) for row in reader]
    except csv.Error as error:
        given = f"not CSV ({error})"
        raise ScenarioError([fault(str(path), given, "plain CSV with commas", f"{form.again} as CSV")]) from None


def _header_faults(header: list[str], file: str, form: Form) -> list[str]:
    where = f"{file}: line 1"
    if len(header) == 1 and any(mark in header[0] for mark in ";\t"):
        return [fault(where, "columns apart by another mark than a comma", "commas", "export as CSV with commas")]
    if all(plain_number(cell) is not None for cell in header):
        return [fault(where, "numbers, no header", form.header, f'put "{_first(form)}" on the first line')]
    known = {name for columns in (*form.sets, form.optional) for name in _names(columns)}
    known |= {*form.said, *form.perhaps_said}
    faults = [
        fault(where, f"column {name} {header.count(name)} times", "each column once", "rename or drop the others")
        for name in sorted(known if form.loose else set(header))
        if name and header.count(name) > 1
    ]
    if _chosen(header, form) and set(form.said) <= set(header):
        return faults
    given = ", ".join(header)[:80]
    meant = max(form.sets, key=lambda columns: len(set(_names(columns)) & set(header)))
    if len(form.sets) > 1 and not set(_names(meant)) & set(header):
        return [*faults, fault(where, f"columns {given}", form.header, f'"{_line(form.sets[0])}"')]
    spare = [name for name in header if name not in (*_names((*meant, *form.optional)), *form.said, *form.perhaps_said)]
    for name in (*form.said, *_names(meant)):
        if name not in header:
            near = closest(name, spare)
            hint = f"rename {shown(near)} to {name}{form.unit}" if near else f"add a column {name}"
            faults.append(fault(where, f"no column {name} (columns: {given})", form.header, hint))
    return faults


def _lines(
    rows: list[tuple[int, list[str]]], header: list[str], columns: tuple[Column, ...], words: list[str], form: Form,
    finds: Finds,
) -> tuple[list[tuple[int, list[float]]], list[dict[str, str]]]:  # fmt: skip
    """Values and words of the wanted columns, line by line; lines with a fault are left out."""
    places = [header.index(column.name) for column in columns]
    data, said = [], []
    for line, row in rows:
        if len(row) != len(header) and not form.loose:
            finds.add(line, f"{len(row)} cells", f"{len(header)} cells, as in the header", "check commas in this line")
            continue
        cells = [row[i].strip() if i < len(row) else "" for i in places]
        values = [_cell(line, cell, column, finds) for cell, column in zip(cells, columns, strict=True)]
        if None not in values:
            data.append((line, [value for value in values if value is not None]))
            said.append({name: _word(row, header.index(name)) for name in words})
    return data, said


def _word(row: list[str], place: int) -> str:
    return row[place].strip() if place < len(row) else ""


def _cell(line: int, cell: str, column: Column, finds: Finds) -> float | None:
    """One checked value, None if it is at fault."""
    if column.blank and not cell:
        return math.nan
    value = plain_number(cell)
    if value is None or not math.isfinite(value):
        given = f"{column.name} {shown(cell)}" if cell else f"{column.name} is empty"
        finds.add(line, given, "a finite number with a decimal point", "fill the gap or drop the line")
        return None
    if not column.accepts(value):
        finds.add(line, f"{column.name} {cell}", column.allowed, column.hint)
        return None
    return value
