"""What the rows of a paddock warn of, kept by setting and kind: how many rows do, and the worst of them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from sim.heeds import KINDS, Heed, pressure_heeds


class Warned(NamedTuple):
    """One kind of warning at one setting."""

    setting: int
    heed: Heed  # of the worst row
    number: int  # its pass, and its row in it
    row: int
    rows: int = 1  # rows of all passes that warn of it
    alike: bool = True  # all in the same words

    def text(self, of: int) -> str:
        """The worst row's sentence with its place and how many of the `of` rows warn; alone where all say the same."""
        if self.alike and self.rows == of:
            return self.heed.text
        many = "" if self.rows == 1 else f" ({self.rows} of {of} rows warn of it, this one most)"
        return f"pass {self.number + 1}, row {self.row + 1}: {self.heed.text}{many}"


Found = dict[tuple[int, str], Warned]  # by setting and kind


def put(found: Found, new: Warned) -> None:
    """Add what one row or one pass warns of; of rows that are equally bad the first stays, whichever comes first."""
    key = new.setting, new.heed.kind
    old = found.get(key)
    if old is None:
        found[key] = new
        return
    worst = max(old, new, key=lambda one: (one.heed.size, -one.number, -one.row))
    alike = old.alike and new.alike and old.heed.text == new.heed.text
    found[key] = worst._replace(rows=old.rows + new.rows, alike=alike)


def plain(found: Mapping[tuple[int, str], Warned]) -> list[list[Any]]:
    """As lists for JSON; `warned_from` turns them round."""
    return [[w.setting, list(w.heed), w.number, w.row, w.rows, w.alike] for _, w in sorted(found.items())]


def warned_from(lists: Iterable[Any]) -> Found:
    """From what `plain` gave."""
    made = (Warned(setting, Heed(*heed), *rest) for setting, heed, *rest in lists)
    return {(w.setting, w.heed.kind): w for w in made}


def over_pressure(found: Found, setting: int, peaks: NDArray[np.floating], warns_above: float) -> None:
    """Add which rows pass the oil pressure that a file warns above; peaks (passes, rows) and it in Pa, gauge.

    From the pressures that are kept, since a file's limits may change after its rows were crossed.
    """
    for number, row in np.argwhere(peaks > warns_above):
        (heed,) = pressure_heeds(float(peaks[number, row]), warns_above)
        put(found, Warned(setting, heed, int(number), int(row)))


def in_order(found: Iterable[Warned]) -> tuple[Warned, ...]:
    """In the order of KINDS."""
    return tuple(sorted(found, key=lambda w: list(KINDS).index(w.heed.kind)))


def told(found: Iterable[Warned], of: int) -> tuple[Heed, ...]:
    """What to heed, with places; `of` rows in all passes."""
    return tuple(w.heed._replace(text=w.text(of)) for w in found)
