"""What is missing is compiled in one wait; what is there is fetched as it is called for."""

from __future__ import annotations

from contextlib import nullcontext
from types import SimpleNamespace

import pytest

from analysis.cli.parts import warmup
from sim.unit import Clearance, Unit


@pytest.fixture
def begun(monkeypatch):
    """What `ready` does, in order, with nothing in the cache."""
    did: list[str] = []
    missing = {"one": 6.0, "rows": 18.0, "of_any": 18.0, "small": 0.0, "pins": 17.0}
    monkeypatch.setattr(warmup, "time_to_compile", lambda **what: sum(missing[name] for name in what if what[name]))
    for name, what in (
        ("warm_up", "one"),
        ("warm_up_rows", "rows"),
        ("warm_up_small", "small"),
        ("warm_up_pins", "pins"),
    ):
        monkeypatch.setattr(
            warmup,
            name,
            lambda what=what, worn=False, of_any=False: did.append(what + of_any * " any" + worn * " worn"),
        )
    monkeypatch.setattr(warmup, "compile_at_once", lambda **what: did.append("at once"))
    return did, missing


def ready(unit=None, **what):
    return warmup.ready(SimpleNamespace(compiling=lambda seconds: nullcontext()), unit or Unit(), **what)


def test_what_is_missing_is_compiled_at_once_and_fetched(begun):
    did, _ = begun
    assert ready(rows=True, small=True) > 0.0
    assert did == ["at once", "one", "rows", "small"]
    did.clear()
    ready(pins=True)
    assert did == ["at once", "one", "pins"]


def test_nothing_is_done_where_the_cache_holds_all(begun):
    did, missing = begun
    missing |= {"one": 0.0, "rows": 0.0}
    assert ready(rows=True) == 0.0
    assert did == []
    assert ready(rows=True, timed=True) > 0.0  # so that it is no part of the command's own time
    assert did == ["one", "rows"]


def test_a_unit_with_play_is_readied_besides(begun):
    did, missing = begun
    missing |= {"one": 0.0, "rows": 0.0}
    ready(Unit(clearance=Clearance(main_pins=1e-3)), rows=True)
    assert did == ["one", "one worn", "rows", "rows worn"]
    did.clear()
    ready(Unit(clearance=Clearance(main_pins=1e-3)), one=False, of_any=True)
    assert did == ["at once", "rows any", "rows any worn"]
