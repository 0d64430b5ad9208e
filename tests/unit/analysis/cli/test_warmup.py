"""The march of one row is compiled beside that of eight where both are missing, and never left running."""

from __future__ import annotations

from contextlib import nullcontext
from types import SimpleNamespace

import pytest

from analysis.cli.parts import warmup
from analysis.rows import beside
from sim.unit import Unit


class Child:
    """In place of another process: runs until it is waited for or killed."""

    def __init__(self, words, **how):
        self.words, self.how, self.ended = words, how, ""
        made.append(self)

    def poll(self):
        return 0 if self.ended else None

    def wait(self):
        self.ended = self.ended or "waited for"

    def kill(self):
        self.ended = "killed"


made: list[Child] = []


@pytest.fixture
def begun(monkeypatch):
    """What `ready` does, in order, on two cores with nothing in the cache."""
    made.clear()
    did: list[str] = []
    missing = {"one": 6.0, "rows": 18.0}
    monkeypatch.setattr(beside.subprocess, "Popen", Child)
    monkeypatch.setattr(warmup, "usable_cores", lambda: 2)
    monkeypatch.setattr(
        warmup, "time_to_compile", lambda one, rows, small=False: one * missing["one"] + rows * missing["rows"]
    )
    monkeypatch.setattr(warmup, "warm_up", lambda **_: did.append("one") or 1.0)
    monkeypatch.setattr(warmup, "warm_up_rows", lambda **_: did.append("rows") or 2.0)
    return did, missing


def ready(**what):
    return warmup.ready(SimpleNamespace(compiling=lambda seconds: nullcontext()), Unit(), **what)


def test_both_are_compiled_at_once(begun):
    did, _ = begun
    assert ready(rows=True) == 5.0
    assert did == ["rows", "one", "rows"]  # what lies on disk by then is fetched
    assert [child.ended for child in made] == ["waited for"]
    assert "warm_up()" in made[0].words[-1]


@pytest.mark.parametrize("there", ["one", "rows"])
def test_what_is_there_is_compiled_by_nobody(begun, there):
    did, missing = begun
    missing[there] = 0.0
    assert ready(rows=True) == 3.0
    assert did == ["one", "rows"]
    assert made == []


def test_nothing_is_done_where_the_cache_holds_all(begun):
    did, missing = begun
    missing |= {"one": 0.0, "rows": 0.0}
    assert ready(rows=True) == 0.0
    assert did == []
    assert ready(rows=True, timed=True) == 3.0  # so that it is no part of the command's own time


def test_one_core_or_one_march_needs_no_other_process(begun, monkeypatch):
    ready()
    ready(one=False, rows=True)
    monkeypatch.setattr(warmup, "usable_cores", lambda: 1)
    ready(rows=True)
    assert made == []


def test_ctrl_c_ends_the_other_process_too(begun, monkeypatch):
    def stopped(**_):
        raise KeyboardInterrupt

    monkeypatch.setattr(warmup, "warm_up_rows", stopped)
    with pytest.raises(KeyboardInterrupt):
        ready(rows=True)
    assert [child.ended for child in made] == ["killed"]
