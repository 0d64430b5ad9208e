"""Sizes of paddocks: estimated before they start, refused above a stated limit."""

from __future__ import annotations

import paddocks
import pytest

from analysis.paddock.batch import run_batch, unit_seconds
from analysis.paddock.size import size_faults, size_of, size_text
from scenarios.format.errors import ScenarioError


def test_the_work_is_that_of_all_passes(tmp_path):
    paddock = paddocks.small(tmp_path)
    size = size_of(paddock)
    assert size.unit_seconds == pytest.approx(sum(unit_seconds(paddock, i) for i in range(3)))
    assert size.sections == 3 * 5 * 2 * 4
    assert not size.large
    assert size_faults(paddock) == []


def test_too_large_is_refused_with_what_makes_it_so_before_anything_is_written(tmp_path):
    passes = "count = 20000\nlength_m = 20000\nsection_m = 1"
    paddock = paddocks.small(tmp_path, {"passes": passes, "machine": "rows = 100"})
    work, memory = size_faults(paddock)
    assert "20000 passes × 100 rows × 2 settings of up to 20000 m" in work
    assert "allowed: up to" in memory
    assert "a larger section_m in [passes]" in memory
    with pytest.raises(ScenarioError):
        run_batch(paddock, tmp_path / "r.h5")
    assert [path.name for path in tmp_path.iterdir()] == ["small.toml"]


def test_a_large_one_is_told(tmp_path):
    paddock = paddocks.small(tmp_path, {"passes": "count = 4000\nlength_m = 2000"})
    size = size_of(paddock)
    assert size.large
    assert size_text(size, 2).startswith("about 30 min on 2 cores and a result of about 332 MB; what is finished")
