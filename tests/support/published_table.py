"""Known answers and published values: one call compares a number, asserts and keeps a row for the table.

`Recorder` is what the fixture `published` hands to a test. A row has a kind:
check (must agree within its tolerance), prediction (a field statement that the model was not fitted to; a miss is
kept as a miss with its size and one sentence on why) and calibration (a value that the model was given, listed so that
nobody takes it for a check). What a row rests on is read from its status: one of `BASES`.

The table is a page of its own, which `write` writes whole and `differences` compares with what the tests find.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

KINDS = ("check", "prediction", "calibration")
BASES = ("seen", "derived", "computed", "memory", "common practice")
TITLE = "# Known answers and published values"
HEADER = "| topic | quantity | source | status | kind | published | ours | difference |"
WITHIN, IN_PART, MISSES = "within", "in part", "misses"
SAME = 0.01  # numbers of two rows that are this close are the same (rounding differs from processor to processor)

PREFACE = """What the program gives beside what is known. Written by `python -m pytest tests/published --published-table
tests/published/TABLE.md`; the same tests without the option fail where this page no longer holds.

- **check**: must agree within the tolerance that its test states.
- **prediction**: a statement from the field or the soil bin that nothing here was fitted to. Where the reading is open
  (depth set again or not, speed term or not) ours is the band over the readings. A miss stays as a miss, with its size
  and why.
- **calibration**: a value that the model was given; it proves nothing.

What the rows rest on. *Seen*: the number or formula was read in a public text, often an abstract or program code
that cites its standard. *Derived*: elementary mechanics. *Computed*: by a named package, or from a formula seen.
*Memory*: general knowledge, not read in a text. *Common practice*: no standard at hand."""


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
    verdict: str = WITHIN

    def __post_init__(self) -> None:
        assert self.kind in KINDS
        assert self.basis in BASES

    @property
    def basis(self) -> str:
        """What the row rests on: the word of `BASES` that its status names first; "" where it names none."""
        named = {self.status.index(word): word for word in BASES if word in self.status}
        return named[min(named)] if named else ""

    @property
    def cells(self) -> tuple[str, ...]:
        """What stands in the line."""
        return (
            self.topic.replace("_", " "), self.quantity, self.source, self.status, self.kind,
            self.published, self.ours, self.difference,
        )  # fmt: skip

    def line(self) -> str:
        """The row in markdown."""
        return "| " + " | ".join(c.replace("|", "\\|") for c in self.cells) + " |"


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

    def _keep(self, quantity: str, source: str, status: str, kind: str, *shown: str, verdict: str = WITHIN) -> None:
        self.rows.append(Row(self.topic, quantity, source, status, kind, *shown, verdict=verdict))

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
        kind: str = "prediction", hit: bool = True, why: str = "",
    ) -> None:  # fmt: skip
        """Record whether ours lies in [low, high]; `hit` states what the project knows to be so, and is asserted.

        A prediction that misses is kept as a miss with its size and one sentence on why: the test then says
        hit=False, and fails when that stops being true. low = high: a single published value.
        """
        self.readings(
            quantity, source=source, status=status, low=low, high=high, ours={"": ours}, unit=unit, kind=kind,
            verdict=WITHIN if hit else MISSES, why=why,
        )  # fmt: skip

    def readings(
        self, quantity: str, *, source: str, status: str, low: float, high: float, ours: Mapping[str, float],
        unit: str = "", kind: str = "prediction", verdict: str = WITHIN, why: str = "",
    ) -> None:  # fmt: skip
        """Record the band over the readings of a statement that can be read in several ways, each with its name.

        verdict, asserted: "within" where every reading lies in [low, high], "misses" where they all lie on one side of
        it, else "in part". What is not within says why.
        """
        found = [float(value) for value in ours.values()]
        least, most = min(found), max(found)
        span = _span(low, high)
        if low <= least and most <= high:
            known = gap = WITHIN
        elif most < low or least > high:
            known, size = MISSES, low - most if most < low else least - high
            gap = f"**misses by {number(size)} {unit}".rstrip() + "**"
        else:
            known = gap = IN_PART
        named = [name for name in ours if name]
        shown = f"{_span(least, most)} {unit}".strip() + (f" ({'; '.join(named)})" if named else "")
        gap += f": {why}" if why else ""
        self._keep(quantity, source, status, kind, f"{span} {unit}".strip(), shown, gap, verdict=known)
        told = f"{quantity}: published {span} {unit}, ours {shown}"
        assert known == verdict, f"{told}, noted as hit={verdict == WITHIN} ({verdict})"
        assert bool(why) == (known != WITHIN), f"{told}: a miss says why, a hit does not"


def _span(low: float, high: float) -> str:
    if number(low) == number(high):
        return number(low)
    return f"≥ {number(low)}" if high == np.inf else f"{number(low)}…{number(high)}"


def table(rows: Sequence[Row]) -> str:
    """All rows in markdown, topics in alphabetical order, rows in the order of their checks."""
    lines = [HEADER, "| " + " | ".join(["---"] * 8) + " |"]
    lines += [row.line() for row in sorted(rows, key=lambda row: row.topic)]
    return "\n".join(lines)


def counts(rows: Sequence[Row]) -> str:
    """How many rows rest on what, in markdown: checks, predictions by how they came out, calibrations."""
    columns = ("rests on", "rows", "checks", "predictions met", "in part", "missed", "calibrations")
    lines = ["| " + " | ".join(columns) + " |", "| " + " | ".join(["---"] * len(columns)) + " |"]
    for name in (*BASES, "all"):
        found = Counter((row.kind, row.verdict) for row in rows if name in (row.basis, "all"))
        kinds = Counter(row.kind for row in rows if name in (row.basis, "all"))
        shown = (found.total(), kinds["check"], *(found["prediction", v] for v in (WITHIN, IN_PART, MISSES)),
                 kinds["calibration"])  # fmt: skip
        lines.append(f"| {name} | " + " | ".join(map(str, shown)) + " |")
    return "\n".join(lines)


def page(rows: Sequence[Row]) -> str:
    """The whole page: what it is, how many rows rest on what, the table."""
    return f"{TITLE}\n\n{PREFACE}\n\n{counts(rows)}\n\n{table(rows)}\n"


def write(rows: Sequence[Row], path: Path) -> None:
    """Write the page; ValueError where another kind of file stands in its place, which is left alone."""
    if path.exists() and not path.read_text(encoding="utf-8").startswith(TITLE):
        raise ValueError(f"{path}: stands already and is no such table (its first line would be {TITLE!r})")
    path.write_text(page(rows), encoding="utf-8")


def differences(rows: Sequence[Row], text: str, *, whole: bool) -> list[str]:
    """Where rows differ from a page: rows that it lacks or tells otherwise; `whole`: rows of it that are no more."""
    told: dict[tuple[str, ...], list[list[str]]] = {}
    for line in text.partition(HEADER)[2].splitlines()[2:]:
        cells = [cell.replace("\\|", "|") for cell in line.removeprefix("| ").removesuffix(" |").split(" | ")]
        told.setdefault(tuple(cells[:6]), []).append(cells[6:])
    wrong = []
    for row in rows:
        at = told.get(row.cells[:6], [])
        match = next((cells for cells in at if _alike(cells, row)), None)
        if match is None:
            wrong.append(f"not told: {row.line()}")
        else:
            at.remove(match)
    if whole:
        wrong += [f"no more: {' | '.join([*key, *cells])}" for key, left in told.items() for cells in left]
    return wrong


_NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[-+]?\d+)?")


def _alike(cells: Sequence[str], row: Row) -> bool:
    """Whether a line tells what a row holds: the same words, numbers to `SAME`, hit or missed for the same reason."""
    ours, gap = cells
    if _NUMBER.sub("", ours) != _NUMBER.sub("", row.ours):
        return False
    pairs = [[float(x) for x in _NUMBER.findall(text)] for text in (ours, row.ours)]
    if not np.allclose(*pairs, rtol=SAME, atol=1e-6):
        return False
    return row.kind != "prediction" or _NUMBER.sub("", gap) == _NUMBER.sub("", row.difference)
