"""Depths dug behind a machine, read from CSV: columns row (from 1, left to right) and depth_mm, a line for each dig."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from scenarios.format.csv_table import Column, Form, read_sheet
from scenarios.format.errors import ScenarioError, fault

LARGEST = 5_000_000  # bytes
MOST_ROWS = 200
SHALLOWEST, DEEPEST = -50.0, 300.0  # [mm]


@dataclass(frozen=True, eq=False)
class Digs:
    """Depths by row, in order of rows; `rows` and `depths` go together."""

    path: Path
    rows: tuple[int, ...]  # numbers of the rows dug, rising
    depths: tuple[NDArray[np.float64], ...]  # of each row, as dug [m]
    ignored: tuple[str, ...] = ()  # columns not used

    @property
    def counts(self) -> NDArray[np.int64]:
        """Digs in each row."""
        return np.array([depth.size for depth in self.depths])

    @property
    def means(self) -> NDArray[np.float64]:
        """Mean depth of each row [m]."""
        return np.array([depth.mean() for depth in self.depths])

    @property
    def undug(self) -> tuple[int, ...]:
        """Rows between 1 and the highest that nobody dug."""
        return tuple(n for n in range(1, self.rows[-1] + 1) if n not in self.rows)


ROW = Column(
    "row", 1, MOST_ROWS, f"a whole number, 1 to {MOST_ROWS}, as row", "count rows from 1, left to right in travel",
    whole=True,
)  # fmt: skip
DEPTH = Column("depth_mm", SHALLOWEST, DEEPEST, f"{SHALLOWEST:g} to {DEEPEST:g} mm", "is it in millimetres?")
FORM = Form(
    what="depths dug",
    again="write the digs down again",
    sets=((ROW, DEPTH),),
    least="a header row,depth_mm and a line for each dig",
)


def read_digs(path: Path) -> Digs:
    """Depths dug, from a CSV file; its lines may come in any order.

    Raises ScenarioError with every fault found: unreadable file, no data, no header, columns missing or twice, lines
    with too few cells, cells that are no finite numbers or out of range, fewer than two rows, no row dug twice.
    """
    sheet = read_sheet(path, FORM, largest=LARGEST)
    faults = sheet.faults()
    found: dict[int, list[float]] = {}
    for _, (row, depth) in sheet.lines:
        found.setdefault(int(row), []).append(depth / 1e3)
    if not faults and len(found) < 2:
        faults.append(fault(str(path), f"rows dug: {len(found)}", "at least 2 rows", "dig every row of the machine"))
    elif not faults and max(len(depths) for depths in found.values()) < 2:
        given = "no row was dug more than once"
        faults.append(fault(str(path), given, "repeated digs, a line for each", "dig each row six times or more"))
    if faults:
        raise ScenarioError(faults)
    rows = tuple(sorted(found))
    return Digs(path, rows, tuple(np.array(found[row]) for row in rows), sheet.ignored)
