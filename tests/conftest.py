"""What all tests share: crossings that are marched once a session, and the table of published values."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import published_table
import pytest
import synthetic_ground

from sim.record import Run
from sim.run import simulate
from sim.unit import Settings, Soil, Unit


def pytest_addoption(parser):
    parser.addoption(
        "--published-table",
        metavar="PATH",
        type=Path,
        default=None,
        help="write the table of published values between its markers in PATH (run all of tests/published with it)",
    )


@pytest.fixture(scope="session")
def cross():
    """cross(track name, settings, unit, soil, step) → Run, each marched once."""

    @lru_cache(maxsize=48)
    def crossing(
        name: str,
        settings: Settings = Settings(),  # noqa: B008 - frozen
        unit: Unit = Unit(),  # noqa: B008
        soil: Soil = Soil(),  # noqa: B008
        step: float | None = None,
    ) -> Run:
        return simulate(unit, soil, synthetic_ground.named(name), settings, step=step)

    return crossing


@pytest.fixture(scope="session")
def _rows(request):
    rows: list[published_table.Row] = []
    yield rows
    target = request.config.getoption("--published-table")
    if target is None:
        return
    if request.session.testsfailed:
        pytest.exit(f"a check failed: the table in {target} was left as it was", returncode=1)
    published_table.write(rows, target)


@pytest.fixture
def published(request, _rows):
    """Recorder of published values; see `published_table.Recorder`."""
    return published_table.Recorder(request.path.stem.removeprefix("test_"), _rows)
