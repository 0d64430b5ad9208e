"""What is compiled ahead of a run is what the run then calls: the same types, or all would be compiled twice."""

from __future__ import annotations

from importlib import import_module

import pytest
from numba import typeof

from analysis.first_run import marches
from analysis.first_run.ready import ANY, ONE, PINS, ROWS, SMALL, USUAL, warm_up, warm_up_rows
from analysis.rows import reducer
from analysis.rows.cells import lay
from analysis.rows.reducer import Reducer
from scenarios.load import load
from sim.arithmetic import refine
from sim.arithmetic.compiled import kernel
from sim.laws import hard_profile
from sim.march import loop


class Called(Exception):
    """In place of a march."""


def _types(arguments):
    return [typeof(value) for value in arguments]


def _called(monkeypatch, module, name, run):
    """Types that a function of a module is called with."""
    got = []

    def caught(*arguments):
        got.extend(_types(arguments))
        raise Called

    monkeypatch.setattr(module, name, caught)
    with pytest.raises(Called):
        run()
    return got


@pytest.mark.parametrize("name", sorted({*USUAL, *ONE, *ROWS, *ANY, *PINS, SMALL} - {"sim.rigid.engine"}))
def test_what_is_told_and_looked_for_is_kept_on_disk(name):
    module, _, function = name.rpartition(".")
    assert hasattr(getattr(import_module(module), function), "_cache")


def test_the_march_of_one_row(monkeypatch):
    assert _types(marches.arguments_of_one()) == _called(monkeypatch, loop, "march", warm_up)


@pytest.mark.parametrize(("name", "of_any"), [("march_and_feed", False), ("march_and_feed_any", True)])
def test_the_march_of_eight_rows(monkeypatch, name, of_any):
    group = marches.group_of_nothing(of_any=of_any)
    kernel_, arguments = Reducer(group, 0.0, 1e-3, marches.np.array([0, 1]), 0.01).first_call()
    assert kernel_ is getattr(reducer, name)
    assert _types(arguments) == _called(monkeypatch, reducer, name, lambda: warm_up_rows(of_any=of_any))


def test_random_and_stony_ground(monkeypatch):
    with monkeypatch.context() as patch:
        asked = _called(patch, marches, "refine", marches.compile_grounds)
        assert asked == _called(patch, refine, "refine", lambda: load("rough").track())
    asked = _called(monkeypatch, hard_profile, "_hard", marches.compile_grounds)
    assert asked == _called(monkeypatch, hard_profile, "_hard", lambda: lay(load("stony"), (1,))[0].tables)


def test_a_kernel_is_compiled_once_for_both():
    @kernel
    def half(x, worn=None):
        return 0.5 * x

    marches.compile_for(half, (1.0,))
    assert half(2.0) == 1.0
    assert len(half.signatures) == 1


def test_all_else_is_called(monkeypatch):
    done = []
    for name in ("compile_one", "begin_balance", "compile_grounds", "warm_up_small", "compile_rows", "compile_bushes"):
        monkeypatch.setattr(marches, name, lambda *_, name=name, **how: done.append((name, *how)))
    marches.compile_others(one=False, rows=False, small=False, of_any=False, bushes=False)
    assert done == []
    marches.compile_others(one=True, rows=True, small=True, of_any=True, bushes=True)
    assert done == [
        ("compile_one",),
        ("begin_balance",),
        ("compile_grounds",),
        ("warm_up_small",),
        ("compile_rows", "of_any"),
        ("compile_bushes",),
    ]
