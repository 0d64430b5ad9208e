"""Depths dug behind a machine at one pressure, speed and depth setting, from CSV.

Either columns row (from 1, left to right) and depth_mm, a line for each dig, perhaps with oil_pressure_bar, speed_kmh
and setting; or a file of readings as `rowbench fit` takes it, of which the lines depth_mm with a row are read.

Rows dug at another speed, pressure or setting lie at another depth: such digs are never pooled.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.fit.reading.read_measured import read_measured
from analysis.present.edge import bar, kmh
from scenarios.format.csv_table import Column, Form, header_of, read_sheet
from scenarios.format.errors import ScenarioError, fault

LARGEST = 5_000_000  # bytes
MOST_ROWS = 200
SHALLOWEST, DEEPEST = -50.0, 300.0  # [mm]
SAME = 1e-9  # pressures and speeds that differ by less are one, in the file's units


class Condition(NamedTuple):
    """Under what rows were dug: gauge pressure [bar], speed [km/h], name of the depth setting; None, "": not said."""

    pressure: float | None = None
    speed: float | None = None
    setting: str = ""

    @property
    def told(self) -> str:
        """In words: "40 bar at 8 km/h, setting A"; "nothing said" where nothing is."""
        pressure = "" if self.pressure is None else f"{self.pressure:.4g} bar"
        speed = "" if self.speed is None else f"{self.speed:.4g} km/h"
        driven = " at ".join(part for part in (pressure, speed) if part)
        setting = f"setting {self.setting}" if self.setting else ""
        return ", ".join(part for part in (driven, setting) if part) or "nothing said"

    def holds(self, other: Condition) -> bool:
        """Whether digs of another condition are those asked for by this one, of which what is not said is any."""
        pairs = ((self.pressure, other.pressure), (self.speed, other.speed))
        near = all(asked is None or (there is not None and abs(asked - there) <= SAME) for asked, there in pairs)
        return near and self.setting in ("", other.setting)


ANY = Condition()


class Dig(NamedTuple):
    """One dig: row, depth [m] and condition."""

    row: int
    depth: float
    at: Condition


@dataclass(frozen=True, eq=False)
class Digs:
    """Depths by row, in order of rows; `rows` and `depths` go together."""

    path: Path
    rows: tuple[int, ...]  # numbers of the rows dug, rising
    depths: tuple[NDArray[np.float64], ...]  # of each row, as dug [m]
    ignored: tuple[str, ...] = ()  # columns not used
    at: Condition = ANY
    left_out: int = 0  # digs made under other conditions than those asked for

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
PRESSURE = Column("oil_pressure_bar", 0.0, 250.0, "0 to 250 bar", "what the gauge showed, in bar", blank=True)
SPEED = Column("speed_kmh", 1.0, 30.0, "1 to 30 km/h", "is it in km/h?", blank=True)
FORM = Form(
    what="depths dug",
    again="write the digs down again",
    sets=((ROW, DEPTH),),
    optional=(PRESSURE, SPEED),
    perhaps_said=("setting",),
    least="a header row,depth_mm and a line for each dig",
)


def read_digs(path: Path, asked: Condition | None = None) -> Digs:
    """Depths dug, from a CSV file; its lines may come in any order. asked: only those made under this condition.

    Raises ScenarioError with every fault found: unreadable file, no data, no header, columns missing or twice, lines
    with too few cells, cells that are no finite numbers or out of range, fewer than two rows, no row dug twice, digs
    made under several conditions, none under that asked for.
    """
    found, ignored, faults = _of_readings(path) if "what" in header_of(path, FORM, largest=LARGEST) else _plain(path)
    mine = [dig for dig in found if asked is None or asked.holds(dig.at)]
    if not faults:
        faults = _apart(path, found, mine, asked)
    by_row: dict[int, list[float]] = {}
    for dig in mine:
        by_row.setdefault(dig.row, []).append(dig.depth)
    if not faults and len(by_row) < 2:
        faults.append(fault(str(path), f"rows dug: {len(by_row)}", "at least 2 rows", "dig every row of the machine"))
    elif not faults and max(len(depths) for depths in by_row.values()) < 2:
        given = "no row was dug more than once"
        faults.append(fault(str(path), given, "repeated digs, a line for each", "dig each row six times or more"))
    if faults:
        raise ScenarioError(faults)
    rows = tuple(sorted(by_row))
    depths = tuple(np.array(by_row[row]) for row in rows)
    return Digs(path, rows, depths, ignored, mine[0].at, len(found) - len(mine))


def _plain(path: Path) -> tuple[list[Dig], tuple[str, ...], list[str]]:
    """Digs of a file with columns row and depth_mm, columns not used, faults."""
    sheet = read_sheet(path, FORM, largest=LARGEST)
    found = []
    for (_, values), words in zip(sheet.lines, sheet.words, strict=True):
        given = dict(zip(sheet.columns, values, strict=True))
        at = Condition(_said(given, PRESSURE), _said(given, SPEED), words.get("setting", ""))
        found.append(Dig(int(given["row"]), given["depth_mm"] / 1e3, at))
    return found, sheet.ignored, sheet.faults()


def _said(given: dict[str, float], column: Column) -> float | None:
    value = given.get(column.name, math.nan)
    return None if math.isnan(value) else value


def _of_readings(path: Path) -> tuple[list[Dig], tuple[str, ...], list[str]]:
    """Digs of a file of readings: its depths, each of a row and one by one."""
    digs = [reading for reading in read_measured(path).readings if reading.what == "depth_mm"]
    faults = []
    for reading in digs:
        where = f"{path}: line {reading.line}"
        if reading.row == 0:
            faults.append(
                fault(where, "a depth without its row", "row beside depth_mm", "count rows from 1, left to right")
            )
        if reading.n > 1:
            faults.append(fault(where, f"the mean of {reading.n} digs", "each dig on a line of its own",
                                "rows are levelled by how digs scatter"))  # fmt: skip
    at = [Condition(bar(reading.oil_pressure), kmh(reading.speed), reading.setting) for reading in digs]
    return [Dig(r.row, r.value, there) for r, there in zip(digs, at, strict=True)], (), faults


def _apart(path: Path, found: list[Dig], mine: list[Dig], asked: Condition | None) -> list[str]:
    """A fault where digs under several conditions would be pooled, or where none is left."""
    if not mine and found and asked is not None:
        return [fault(str(path), f"no dig at {asked.told}", _listed(dig.at for dig in found), "one of these")]
    conditions = list(dict.fromkeys(dig.at for dig in mine))
    if len(conditions) < 2:
        return []
    most = Counter(dig.at for dig in mine).most_common(1)[0][0]
    given = f"digs at {_listed(dig.at for dig in mine)}"
    allowed = "digs at one pressure, speed and depth setting: rows lie deeper or shallower at another"
    return [fault(str(path), given, allowed, _options(most, conditions))]


def _listed(conditions: Iterable[Condition]) -> str:
    return "; ".join(f"{at.told} ({count})" for at, count in Counter(conditions).items())


def _options(at: Condition, among: list[Condition]) -> str:
    """The options that pick out a condition among others."""
    said = []
    if len({str(other.pressure) for other in among}) > 1 and at.pressure is not None:
        said.append(f"--pressure {at.pressure:.10g}")
    if len({str(other.speed) for other in among}) > 1 and at.speed is not None:
        said.append(f"--speed {at.speed:.10g}")
    if len({other.setting for other in among}) > 1 and at.setting:
        said.append(f"--setting {at.setting}")
    return " ".join(said) or "say for every dig where it was made"
