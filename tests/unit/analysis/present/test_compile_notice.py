"""The word about compiling: where it compiles, whatever the command, and never where machine code is kept already."""

import time
from types import SimpleNamespace

import pytest

from analysis.cli.main import main
from analysis.first_run import ready
from analysis.present.compile_notice import PATIENCE, CompileNotice, notice
from sim.arithmetic import compiled, compiling

WHAT = "compiling the model, once on this machine"


@pytest.fixture
def bench():
    """A notice, what it said, and its clock."""
    said, now = [], SimpleNamespace(t=0.0)
    usual = {"march": 20.0, "rows": 30.0, "small": 1.0}
    made = CompileNotice(lambda text, end="\n": said.append(text), usual.get, clock=lambda: now.t)
    return SimpleNamespace(notice=made, said=said, now=now)


def pass_through(bench, name, seconds):
    bench.notice.begun(name)
    bench.now.t += seconds
    bench.notice.ended(name)


def test_a_long_part_is_told_before_and_after(bench):
    bench.notice.begun("march")
    assert bench.said == [f"{WHAT}: about 20 s, more on a busy one…"]
    bench.now.t = 33.4
    bench.notice.ended("march")
    assert bench.said[1:] == [f"{WHAT}: 33 s taken"]


def test_parts_of_one_wait_are_told_as_one(bench):
    with bench.notice.spell(50.0):
        for name, seconds in (("small", 1.0), ("march", 22.0), ("rows", 41.0)):
            pass_through(bench, name, seconds)
    assert bench.said == [f"{WHAT}: about 50 s, more on a busy one…", f"{WHAT}: 1 min 4 s taken"]


def test_nothing_is_said_where_nothing_is_compiled_or_what_is_takes_no_time(bench):
    with bench.notice.spell(50.0):
        pass
    pass_through(bench, "small", 0.3)
    assert bench.said == []


def test_what_takes_longer_than_thought_is_told_after_all(bench):
    bench.notice.begun("small")
    time.sleep(PATIENCE + 0.5)
    assert bench.said == [f"{WHAT}: some seconds, more on a busy one…"]
    bench.notice.ended("small")
    assert len(bench.said) == 2


def test_on_a_terminal_it_goes_on_saying_how_long():
    said, now = [], SimpleNamespace(t=0.0)
    made = CompileNotice(
        lambda text, end="\n": said.append((text.rstrip(), end)), lambda name: 20.0, overwrite=True,
        clock=lambda: now.t, every=0.02,
    )  # fmt: skip
    made.begun("march")
    now.t = 12.0
    until = time.monotonic() + 5.0
    while len(said) < 2 and time.monotonic() < until:
        time.sleep(0.01)
    made.ended("march")
    assert said[0] == (notice(20.0), "\n")
    assert said[1] == (f"\r{WHAT}: 12 s of about 20 s", "")
    assert said[-1] == (f"\r{WHAT}: 12 s taken", "\n")
    assert all(len(text) <= 79 for text, _ in said)  # a line of a terminal, so that it can be written over


@pytest.fixture
def cold(monkeypatch, tmp_path):
    """made() → a function of the model as each process makes it, its machine code kept in an empty folder."""
    monkeypatch.setattr(compiled, "cache_folder", lambda: tmp_path)

    def halved(x):
        return 0.5 * x

    inner = compiled.part(halved)

    def made():
        def doubled(x):
            return 4.0 * inner(x)

        return compiled.kernel(doubled)

    return made


@pytest.fixture
def told():
    names = []
    watcher = SimpleNamespace(begun=names.append, ended=lambda name: names.append("over"))
    with compiling.watched(watcher):
        yield names


def test_the_compiler_tells_of_a_kept_function_once_and_not_where_it_is_kept(cold, told):
    assert cold()(2.0) == 4.0
    assert [name.rpartition(".")[2] for name in told] == ["doubled", "over"]
    assert cold()(2.0) == 4.0  # another process, as it were: from disk
    assert len(told) == 2


def test_what_is_no_part_of_the_model_is_not_told(told):
    assert compiled.part(lambda x: x + 1.0)(1.0) == 2.0
    assert told == []


def test_every_command_that_compiles_says_so_whatever_it_compiles(cold, monkeypatch, capsys):
    """`draw` readies nothing and yet solves for the depth setting."""
    from analysis.cli import draw  # noqa: PLC0415

    real = draw.prepare
    monkeypatch.setattr(draw, "prepare", lambda *given: (cold()(2.0), real(*given))[1])
    monkeypatch.setattr(ready, "usual_time", lambda name: 9.0 if name.endswith("doubled") else 0.0)
    for expected in (1, 0):
        assert main(["draw", "smooth"]) == 0
        assert capsys.readouterr().err.count(f"{WHAT}: about 10 s") == expected


def test_the_usual_times_are_those_of_functions_that_there_are():
    """A function that is renamed would be told as taking no time."""
    for name in (*ready.ONE, *ready.ROWS, *ready.ANY):
        assert ready.usual_time(name) > ready.OTHERS, name
        ready.is_compiled(name)  # AttributeError where there is none


def test_what_is_missing_is_what_a_command_needs_and_the_cache_has_not(monkeypatch):
    have = set()
    monkeypatch.setattr(ready, "is_compiled", have.__contains__)
    one, both = ready.time_to_compile(one=True, rows=False), ready.time_to_compile(one=True, rows=True)
    assert 8.0 < one < ready.time_to_compile(one=False, rows=True) < both
    have |= set(ready.ONE)
    assert ready.time_to_compile(one=True, rows=False) == 0.0
    assert ready.time_to_compile(one=True, rows=True) == sum(ready.usual_time(name) for name in ready.ROWS[1:])
