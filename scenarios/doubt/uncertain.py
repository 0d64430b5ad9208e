"""What readings left in doubt: the table [uncertain] of a file, as `rowbench fit` writes it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from scenarios.doubt.doubtful import TIMES
from scenarios.doubt.keys import BY_KEY
from scenarios.format.described import names, numbers, rows, text, whole
from scenarios.format.edge_units import number_text
from scenarios.format.errors import closest, fault, shown

ROUNDING = 1e-6  # figures of a correlation that differ by less are the same
TABLES = ("soil", "unit", "settings", "ground", "stones")  # that hold values in doubt


@dataclass(frozen=True, kw_only=True)
class Uncertain:
    """What is in doubt after measuring, as `rowbench fit` writes it; values that it does not name are known.

    Figures in the file's units: a centre is the file's own value (of a point its first coordinate), a spread the factor
    or the amount within which 19 of 20 lie. Correlations are those of logarithms where the spread is a factor.
    """

    keys: tuple[str, ...] = names("keys of this file", example=("soil.strength_MPa", "unit.disc.edge_width_mm"))
    centre: tuple[float, ...] = numbers("this file's own values of them", example=(1.2, 5.0))
    spread: tuple[float, ...] = numbers(
        "how far from it 19 of 20 lie, as in [prior]: times and divided by (1: known), or plus and minus",
        example=(1.2, 1.1),
    )
    correlation: tuple[tuple[float, ...], ...] = rows(
        "correlation of each with each", example=((1.0, -0.5), (-0.5, 1.0))
    )
    readings: int = whole(0, 0, 10**6, "number of readings it was fitted to", source="")
    version: str = text("", "version of the program that fitted it")
    tables: tuple[str, ...] = TABLES  # no key: those that it speaks for
    given_up: tuple[str, ...] = ()  # no key: values of a lender that the file does not take over

    def faults(self, where: str) -> Iterator[str]:
        """Names that are none, or twice; lengths that do not fit; a correlation that none can be."""
        count = len(self.keys)
        for n, key in enumerate(self.keys):
            if key not in BY_KEY:
                near = closest(key, list(BY_KEY))
                allowed = f"the key of a value in doubt: {', '.join(list(BY_KEY)[:3])} …"
                yield fault(f"{where}.keys", f"given {shown(key)}", allowed, shown(near) if near else "drop it")
            elif key in self.keys[:n]:
                yield fault(f"{where}.keys", f"given {shown(key)} twice", "each once", "run rowbench fit again")
        lengths = {name: len(getattr(self, name)) for name in ("centre", "spread", "correlation")}
        for name, length in lengths.items():
            if length != count:
                yield fault(f"{where}.{name}", f"{length} given", f"one for each of {count} keys", _AGAIN)
        if all(length == count for length in lengths.values()):
            yield from self._spread_faults(where)
            yield from self._correlation_faults(where)

    def _spread_faults(self, where: str) -> Iterator[str]:
        for key, value in zip(self.keys, self.spread, strict=True):
            one = BY_KEY.get(key)
            least = 1.0 if one is not None and one.way == TIMES else 0.0
            if one is not None and value < least:
                allowed = "1 (known) or more: a factor" if least else "0 (known) or more"
                yield fault(f"{where}.spread", f"given {number_text(value)} for {key}", allowed, _AGAIN)

    def _correlation_faults(self, where: str) -> Iterator[str]:
        where = f"{where}.correlation"
        if any(len(row) != len(self.keys) for row in self.correlation):
            yield fault(where, "rows of other lengths", f"{len(self.keys)} rows of {len(self.keys)}", _AGAIN)
            return
        found = self.matrix
        if not np.allclose(np.diag(found), 1.0, atol=ROUNDING, rtol=0.0):
            yield fault(where, "another number than 1 from the first corner to the last", "1: each with itself", _AGAIN)
        elif not np.allclose(found, found.T, atol=ROUNDING, rtol=0.0):
            yield fault(where, "one number above the diagonal, another below it", "the same on both sides", _AGAIN)
        elif found.size and np.linalg.eigvalsh(found).min() < -ROUNDING * len(self.keys):
            given = "numbers that cannot go together (an eigenvalue below zero)"
            yield fault(where, given, "correlations, each from −1 to 1, that can all hold at once", _AGAIN)

    @property
    def matrix(self) -> NDArray[np.float64]:
        """Correlation, shape (keys, keys)."""
        return np.reshape(np.asarray(self.correlation, dtype=np.float64), (len(self.keys), len(self.keys)))

    def only(self, keys: Collection[str]) -> Uncertain:
        """What it says about some of its keys alone: the same figures, the others left out."""
        kept = [n for n, key in enumerate(self.keys) if key in keys]
        return replace(
            self,
            keys=tuple(self.keys[n] for n in kept),
            centre=tuple(self.centre[n] for n in kept),
            spread=tuple(self.spread[n] for n in kept),
            correlation=tuple(tuple(self.correlation[n][m] for m in kept) for n in kept),
        )

    def about(self, tables: Collection[str]) -> Uncertain:
        """The same, speaking for some tables alone."""
        return replace(self, tables=tuple(tables))

    def without(self, keys: Collection[str]) -> Uncertain:
        """The same, told that values of these keys are not taken over."""
        return replace(self, given_up=(*self.given_up, *keys))

    def beside(self, other: Uncertain) -> Uncertain:
        """What two files say, about other keys each: as if neither knew of the other."""
        count = len(self.keys), len(other.keys)
        return replace(
            self,
            keys=self.keys + other.keys,
            centre=self.centre + other.centre,
            spread=self.spread + other.spread,
            correlation=(
                *(row + (0.0,) * count[1] for row in self.correlation),
                *((0.0,) * count[0] + row for row in other.correlation),
            ),
            readings=self.readings + other.readings,
            tables=self.tables + other.tables,
            given_up=self.given_up + other.given_up,
        )


_AGAIN = "run rowbench fit again"
