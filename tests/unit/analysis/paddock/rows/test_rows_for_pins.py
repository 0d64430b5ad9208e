"""Which rows stand for a paddock where pins are told, and that they are joined in one order."""

from __future__ import annotations

from types import SimpleNamespace

from every import every

from analysis.paddock.rows.pins import LONGEST, sample


@every(("count", "rows", "length", "passes", "taken"), [
    (6, 36, 240.0, (0, 2, 3, 5), (4, 13, 22, 31)), (1, 1, 30.0, (0,), (0,)), (2, 3, 100.0, (0, 1), (0, 1, 2)),
    (10, 24, 5000.0, (1, 3, 6, 8), (12,)),
])  # fmt: skip
def test_passes_and_rows_are_spread_evenly_and_no_longer_than_is_worth_it(count, rows, length, passes, taken):
    paddock = SimpleNamespace(count=count, machine=SimpleNamespace(rows=rows), length=lambda number: length)
    assert sample(paddock) == (passes, taken)
    assert len(passes) == 1 or len(taken) == 1 or len(passes) * len(taken) * length <= LONGEST
