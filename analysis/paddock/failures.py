"""Rows of a paddock that could not be crossed: how many, why, and one of each kind to be looked at by itself."""

from __future__ import annotations

import re
from typing import NamedTuple

import numpy as np

from analysis.paddock.table import PaddockTable


class Failure(NamedTuple):
    """Rows that failed for one kind of reason."""

    rows: int  # rows of passes and settings, added up
    settings: tuple[int, ...]  # numbers of the settings at which some failed
    setting: int  # the first of them: its setting, pass and row, and why
    number: int
    row: int
    why: str


def failures(table: PaddockTable) -> tuple[Failure, ...]:
    """What failed, kind by kind, the most rows first; reasons that differ by their figures alone are one kind."""
    kinds: dict[str, list[tuple[int, int, int, str]]] = {}
    for problem in table.problems:
        kinds.setdefault(re.sub(r"-?\d+(\.\d+)?", "#", problem[3]), []).append(problem)
    found = [
        Failure(len(rows), tuple(sorted({setting for setting, *_ in rows})), *min(rows)) for rows in kinds.values()
    ]
    return tuple(sorted(found, key=lambda failure: (-failure.rows, failure.setting, failure.number, failure.row)))


def failed_rows(table: PaddockTable, setting: int) -> int:
    """How many rows of all passes could not be crossed at a setting."""
    return sum(1 for problem in table.problems if problem[0] == setting)


def crossed_whole(table: PaddockTable) -> bool:
    """Whether there is a setting at which every row of every pass could be crossed."""
    here = table.weight > 0.0
    return any(bool(np.isfinite(share[here]).all()) for share in table.sections["on_depth_share"])
