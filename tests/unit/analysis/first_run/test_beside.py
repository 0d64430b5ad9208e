"""The longest part is compiled here and all else in another process, which is never left running."""

from __future__ import annotations

import pytest

from analysis.first_run import beside, marches, pins
from analysis.first_run.ready import ANY, ONE, PINS, ROWS


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


def asked(child):
    """What another process is to compile: its call, whole."""
    return child.words[-1].partition("; ")[2]


def call(*names):
    """The call by which it compiles what is named."""
    told = ", ".join(f"{name}={name in names}" for name in ("one", "rows", "small", "of_any", "bushes"))
    return f"compile_others({told})"


@pytest.fixture
def begun(monkeypatch):
    """What this process compiles itself, and what is missing; on two cores."""
    made.clear()
    did: list[str] = []
    missing = {ONE[-1], ROWS[-1], ANY[-1], *PINS}
    monkeypatch.setattr(beside.subprocess, "Popen", Child)
    monkeypatch.setattr(beside, "usable_cores", lambda: 2)
    monkeypatch.setattr(beside, "is_compiled", lambda name: name not in missing)
    monkeypatch.setattr(pins, "compile_gather", lambda: did.append("gather"))
    monkeypatch.setattr(marches, "compile_one", lambda: did.append("one"))
    monkeypatch.setattr(marches, "compile_rows", lambda *, of_any: did.append("any" if of_any else "rows"))
    return did, missing


@pytest.mark.parametrize(
    ("wanted", "here", "there"),
    [
        ({"one": True, "rows": False}, "one", ""),
        ({"one": False, "rows": True}, "rows", "rows"),
        ({"one": True, "rows": True, "small": True}, "rows", "one rows small"),
        ({"one": False, "rows": False, "of_any": True}, "any", "rows"),
        ({"one": True, "rows": True, "of_any": True}, "rows", "one rows of_any"),
    ],
)
def test_the_longest_here_and_all_else_there(begun, wanted, here, there):
    assert beside.compile_at_once(**wanted) > 0.0
    assert begun[0] == [here]
    assert [child.ended for child in made] == ["waited for"]
    assert asked(made[0]) == call(*there.split())


def test_the_march_of_eight_rows_is_there_already(begun):
    did, missing = begun
    missing.remove(ROWS[-1])
    beside.compile_at_once(one=True, rows=True)
    assert did == ["one"]
    assert asked(made[0]) == call("rows")


def test_kernels_of_pins_are_shared_out(begun):
    did, missing = begun
    beside.compile_at_once(one=True, rows=True, pins=True)
    assert did == ["rows", "gather"]
    assert asked(made[0]) == call("one", "rows", "bushes")
    missing -= {ONE[-1], ROWS[-1]}
    beside.compile_at_once(one=True, rows=False, pins=True)  # the marches are there already
    assert did == ["rows", "gather", "gather"]
    assert asked(made[1]) == call("bushes")
    missing.remove(PINS[0])  # one of them alone: nothing to share
    assert beside.compile_at_once(one=True, rows=False, pins=True) == 0.0
    assert len(made) == 2


def test_where_no_other_process_helps(begun, monkeypatch, tmp_path):
    did, missing = begun
    with monkeypatch.context() as patched:
        patched.setattr(beside, "usable_cores", lambda: 1)
        assert beside.compile_at_once(one=True, rows=True) == 0.0
    with monkeypatch.context() as patched:  # what another makes would lie nowhere
        patched.setattr(beside, "cache_folder", lambda: tmp_path / "none")
        beside.compile_at_once(one=True, rows=True)
    missing.clear()
    beside.compile_at_once(one=True, rows=True)
    assert (did, made) == ([], [])


def test_ctrl_c_ends_the_other_process_too(begun, monkeypatch):
    def stopped(*, of_any):
        raise KeyboardInterrupt

    monkeypatch.setattr(marches, "compile_rows", stopped)
    with pytest.raises(KeyboardInterrupt):
        beside.compile_at_once(one=True, rows=True)
    assert [child.ended for child in made] == ["killed"]


def test_its_words_are_python_that_can_be_run(begun):
    beside.compile_at_once(one=True, rows=True)
    compile(made[0].words[-1], "words", "exec")
    assert "analysis.first_run.marches" in made[0].words[-1]
