"""What all tests share: crossings that are marched once a session, and the table of published values."""

from __future__ import annotations

import gc
import os
import signal
import threading
from functools import lru_cache
from pathlib import Path

import published_table
import pytest
import synthetic_ground

from analysis.first_run.beside import compile_at_once
from sim.record import Run
from sim.run import simulate
from sim.unit import Settings, Soil, Unit

TABLE = Path(__file__).parent / "published" / "TABLE.md"
_LEFT_OUT = pytest.StashKey[bool]()


def pytest_configure(config):
    """A shell's background and nohup have Ctrl-C and the terminal's end ignored, and what is started inherits that:
    signals that are handled, though, are as usual again in whatever a test starts. And every test crosses what it looks
    at, in processes of its own too (`analysis.rows.known`).
    """
    os.environ["ROWBENCH_ANEW"] = "yes"
    if threading.current_thread() is threading.main_thread():
        for name, usual in (("SIGINT", signal.default_int_handler), ("SIGHUP", signal.SIG_DFL)):
            number = getattr(signal, name, None)
            if number is not None and signal.getsignal(number) is signal.SIG_IGN:
                signal.signal(number, usual)
    several = config.getoption("numprocesses", None) and not hasattr(config, "workerinput")
    if several and not config.option.collectonly:
        # the first tests of several processes ask for the same marches: each would compile them for itself
        compile_at_once(one=True, rows=True)


def pytest_collection_finish():
    """What was imported and collected stays to the end: nobody looks through it for garbage time and again."""
    gc.collect()
    gc.freeze()


def pytest_addoption(parser):
    parser.addoption(
        "--published-table",
        metavar="PATH",
        type=Path,
        default=None,
        help="write the table of known answers and published values to PATH (run all of tests/published with it)",
    )


@pytest.fixture(autouse=True, scope="session")
def _usual_screen():
    """Texts are folded as on a screen of 80 columns, wherever the tests run."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("COLUMNS", "80")
        yield


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


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config, log):
    """With several processes (-n 2) a file's tests stay together, since they share what they cross; the published
    values all stay in one, since they make one table.
    """
    from xdist.scheduler import LoadFileScheduling  # noqa: PLC0415 (only where there are several)

    class Together(LoadFileScheduling):
        def _split_scope(self, nodeid):
            path = super()._split_scope(nodeid)
            return "tests/published" if path.startswith("tests/published/") else path

    return Together(config, log)


def pytest_deselected(items):
    """Some tests were left out: rows that the table has besides are then no fault."""
    for item in items[:1]:
        item.config.stash[_LEFT_OUT] = True


@pytest.fixture(scope="session")
def _rows(request):
    """Rows of all published values of a session; at its end they are written, or compared with the table."""
    rows: list[published_table.Row] = []
    yield rows
    target = request.config.getoption("--published-table")
    failed = request.session.testsfailed
    if target is not None:
        if failed:
            pytest.exit(f"a check failed: the table in {target} was left as it was", returncode=1)
        published_table.write(rows, target)
    elif not failed:
        page = TABLE.read_text(encoding="utf-8") if TABLE.exists() else ""
        wrong = published_table.differences(rows, page, whole=_all_of_them(request))
        again = f"python -m pytest tests/published --published-table tests/published/{TABLE.name}"
        assert not wrong, "\n".join([f"{TABLE.name} does not hold; write it again with {again}", *wrong])


def _all_of_them(request):
    """Whether every test of published values was run."""
    run = {item.path for item in request.session.items}
    named = any("::" in str(arg) for arg in request.config.args)
    left_out = request.config.stash.get(_LEFT_OUT, False) or named
    return not left_out and run >= set(TABLE.parent.glob("test_*.py"))


@pytest.fixture
def published(request, _rows):
    """Recorder of published values; see `published_table.Recorder`."""
    return published_table.Recorder(request.path.stem.removeprefix("test_"), _rows)
