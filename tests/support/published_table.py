"""Checks against published values: one call compares a number, asserts and keeps a row for the table.

`Recorder` is what the fixture `published` hands to a test. A row has a kind:
check (must agree within its tolerance), prediction (a field statement that the model was not fitted to; a miss is
kept as a miss with its size) and calibration (a value that the model was given, listed so that nobody takes it for
a check).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

BEGIN = "<!-- published:begin -->"
END = "<!-- published:end -->"
KINDS = ("check", "prediction", "calibration")
HEADER = "| topic | quantity | source | status | kind | published | ours | difference |"


@dataclass(frozen=True)
class Row:
    """One line of the table, as text."""

    topic: str
    quantity: str
    source: str
    status: str
    kind: str
    published: str
    ours: str
    difference: str

    def line(self) -> str:
        """The row in markdown."""
        cells = (
            self.topic.replace("_", " "), self.quantity, self.source, self.status, self.kind,
            self.published, self.ours, self.difference,
        )  # fmt: skip
        return "| " + " | ".join(c.replace("|", "\\|") for c in cells) + " |"


def number(x: float) -> str:
    """Four significant digits, no exponent between 1e-3 and 1e6."""
    if abs(x) < 1e-12:
        return "0"
    text = f"{x:.4g}"
    return f"{x:.0f}" if "e+" in text and abs(x) < 1e6 else text


def difference(ours: float, value: float, unit: str) -> str:
    """Relative difference where the published value is not zero, else absolute; noise of rounding is hidden."""
    if abs(value) < 1e-12:
        gap = ours - value
        return "< 1e-6" if abs(gap) < 1e-6 else f"{gap:+.2g} {unit}".strip()
    share = (ours - value) / abs(value)
    if abs(share) < 1e-6:
        return "< 0.0001 %"
    return f"{100 * share:+.2g} %"


class Recorder:
    """Compares with published values and keeps rows; `topic` is the test file's."""

    def __init__(self, topic: str, rows: list[Row]) -> None:
        self.topic = topic
        self.rows = rows

    def _keep(self, quantity: str, source: str, status: str, kind: str, value: str, ours: str, gap: str) -> None:
        assert kind in KINDS
        self.rows.append(Row(self.topic, quantity, source, status, kind, value, ours, gap))

    def __call__(
        self, quantity: str, *, source: str, status: str, value: float, ours: float, unit: str = "",
        rel: float = 0.0, within: float = 0.0, kind: str = "check",
    ) -> None:  # fmt: skip
        """Record and assert |ours − value| ≤ max(rel·|value|, within); `within` has the unit of the value."""
        ours, value = float(ours), float(value)
        small = abs(value) < 1e-12 and abs(ours) < 1e-6
        shown = "< 1e-6" if small else number(ours)
        self._keep(
            quantity, source, status, kind, f"{number(value)} {unit}".strip(), f"{shown} {unit}".strip(),
            difference(ours, value, unit),
        )  # fmt: skip
        allowed = max(rel * abs(value), within)
        assert abs(ours - value) <= allowed, f"{quantity}: published {value} {unit}, ours {ours}, allowed ±{allowed}"

    def worst(
        self, quantity: str, *, source: str, status: str, values: Sequence[float], ours: Sequence[float],
        unit: str = "", rel: float = 0.0, kind: str = "check",
    ) -> float:  # fmt: skip
        """Record the entry of a series that differs most (relative), assert all; returns that difference."""
        a, b = np.asarray(values, dtype=float).ravel(), np.asarray(ours, dtype=float).ravel()
        assert a.shape == b.shape
        assert a.size > 0
        share = np.abs(b / a - 1.0)
        i = int(np.argmax(share))
        self(
            f"{quantity} (worst of {a.size})", source=source, status=status, value=a[i], ours=b[i], unit=unit,
            rel=rel, kind=kind,
        )  # fmt: skip
        return float(share[i])

    def band(
        self, quantity: str, *, source: str, status: str, low: float, high: float, ours: float, unit: str = "",
        kind: str = "prediction", hit: bool = True,
    ) -> None:  # fmt: skip
        """Record whether ours lies in [low, high]; `hit` states what the project knows to be so, and is asserted.

        A prediction that misses is kept as a miss with its size: the test then says hit=False, and fails when that
        stops being true.
        """
        ours = float(ours)
        if low <= ours <= high:
            gap = "within"
        else:
            edge = high if ours > high else low
            gap = f"**misses by {number(abs(ours - edge))} {unit}**".replace(" **", "**")
        span = f"≥ {number(low)}" if high == np.inf else f"{number(low)}…{number(high)}"
        self._keep(
            quantity, source, status, kind, f"{span} {unit}".strip(), f"{number(ours)} {unit}".strip(), gap
        )  # fmt: skip
        assert (low <= ours <= high) is hit, f"{quantity}: published {span} {unit}, ours {ours}, noted as hit={hit}"


def table(rows: Sequence[Row]) -> str:
    """All rows in markdown, topics in alphabetical order, rows in the order of their checks."""
    lines = [HEADER, "| " + " | ".join(["---"] * 8) + " |"]
    lines += [row.line() for row in sorted(rows, key=lambda row: row.topic)]
    return "\n".join(lines)


def write(rows: Sequence[Row], path: Path) -> None:
    """Put the table between the markers in a file; ValueError where the file has no markers."""
    text = path.read_text(encoding="utf-8")
    if text.count(BEGIN) != 1 or text.count(END) != 1 or text.index(BEGIN) > text.index(END):
        raise ValueError(f"{path}: needs one line {BEGIN} and one line {END} after it")
    head, rest = text.split(BEGIN)
    tail = rest.split(END)[1]
    path.write_text(f"{head}{BEGIN}\n{table(rows)}\n{END}{tail}", encoding="utf-8")
