"""A crossing that cannot be made is told; a fault of the program itself comes out as it is, with its traceback."""

from __future__ import annotations

import importlib
import pickle
from dataclasses import replace

import invented
import pytest
from invented import window

from analysis.crossing.summary import unchanged_share
from analysis.drawn.samples import Crossed
from analysis.explain.explain import explain
from analysis.report.lead import LENGTH, Lead, lead_of
from analysis.report.stretch import cross_stretch
from analysis.rows.cells import lay
from analysis.setting_up.press_wheel import press_wheel
from analysis.stones.speed import Limit, stone_speed
from analysis.window.cross_grid import search
from analysis.window.pick import choose
from analysis.window.pins_at import PinsAt, pins_at
from analysis.window.words import pins_text
from scenarios.format.errors import ScenarioError
from sim.errors import EquilibriumError, GridError, LawError, LinkageError, RowsError, RunError, SimulationError

WINDOW = window((1, 1, 1))
PICK = choose(WINDOW)
LEAD = Lead(None, 0.0, 10.0, Crossed({}))

# what crosses ground, where its simulation is called, and the call
JOBS = {
    "a run with the setting left alone": ("analysis.crossing.summary", "simulate", lambda s: unchanged_share(
        invented.made_run(), s.limits.depth_tolerance)),
    "explain": ("analysis.explain.explain", "simulate", lambda s: explain(s, workers=1)),
    "a change tried by explain": ("analysis.explain.trials.changes", "simulate", lambda s: explain(s, workers=1)),
    "press": ("analysis.setting_up.press_wheel", "simulate", lambda s: press_wheel(s, [0], [s.settings.speed], 1)),
    "stone": ("analysis.stones.speed", "simulate", lambda s: stone_speed(s, Limit("disc", 2e4), 0.04, 60e5, 1)),
    "pins of a setting": ("analysis.window.pins_at", "simulate", lambda s: pins_at(s, (1,), PICK, 1)),
    "the page's setting": ("analysis.report.lead", "simulate", lambda s: lead_of(s, WINDOW, PICK)),
    "the page's stretch": ("analysis.report.stretch", "simulate", lambda s: cross_stretch(
        s, WINDOW, (0, 1), replace(LEAD, laid=lay(s, (1,))[0]), 1)),
    "window": ("analysis.rows.crossings", "check_row", lambda s: search(s, [60.0], [8.0], 1, workers=1)),
}  # fmt: skip


@pytest.fixture(scope="module")
def scenario():
    return invented.short_scenario("rough", 20.0)


def failing(monkeypatch, job, error):
    """Make a job's simulation raise → the job's call."""
    module, name, call = JOBS[job]

    def broken(*_args, **_options):
        raise error

    monkeypatch.setattr(importlib.import_module(module), name, broken)
    return call


@pytest.fixture(autouse=True)
def another_setting(monkeypatch):
    """A run whose setting is not the reference's, so that it is crossed again."""
    run = invented.made_run()
    monkeypatch.setattr(invented, "made_run", lambda: type(run)(**{**vars(run), "reference": None}))


@pytest.mark.parametrize("error", [TypeError("a number is wanted"), ValueError("axes do not match")], ids=repr)
def test_a_programming_error_is_no_bad_input(scenario, error):
    """No command may tell it as a crossing that cannot be made: all that swallow it are listed."""
    swallowed = []
    for job in JOBS:
        with pytest.MonkeyPatch.context() as patch:
            try:
                failing(patch, job, error)(scenario)
            except ScenarioError:
                swallowed.append(f"{job}: told as bad input")
            except type(error) as caught:
                if caught is not error:
                    swallowed.append(f"{job}: {caught!r}")
            else:
                swallowed.append(f"{job}: not told at all")
    assert not swallowed


@pytest.mark.parametrize("job", [job for job in JOBS if job != "explain"])
def test_a_crossing_that_cannot_be_made_stops_nothing_else(scenario, job, monkeypatch):
    """The job ends, and what it found says why the crossing is not there."""
    found = failing(monkeypatch, job, RunError("pressed far into a stop"))(scenario)
    assert "pressed far into a stop" in repr(getattr(found, "__dict__", found))


def test_a_crossing_that_cannot_be_explained_names_its_file(scenario, monkeypatch):
    with pytest.raises(ScenarioError, match=r"rough\.toml: pressed far into a stop"):
        failing(monkeypatch, "explain", RunError("pressed far into a stop"))(scenario)


def test_pins_that_cannot_be_told_say_why(scenario, monkeypatch):
    found = failing(monkeypatch, "pins of a setting", LawError("the gas would reach 1200 bar"))(scenario)
    assert len(found) == 0
    assert found.problem == "the gas would reach 1200 bar"
    assert "No pin loads at this setting: the gas would reach 1200 bar." in pins_text(WINDOW, PICK, found)
    assert "No pin loads" not in pins_text(WINDOW, PICK, PinsAt())


def test_a_stretch_that_is_not_the_worst_says_why(scenario, monkeypatch):
    found = failing(monkeypatch, "the page's setting", RunError("pressed far into a stop"))(scenario)
    assert (found.first, found.last) == (0.0, min(LENGTH, scenario.length))
    assert found.crossed.problem == "pressed far into a stop"
    assert cross_stretch(scenario, WINDOW, (0, 0), found, 1)[0, 0].problem == found.crossed.problem


def test_errors_come_back_whole_from_a_worker_process():
    kinds = [kind("why") for kind in (LinkageError, LawError, EquilibriumError, GridError, RunError)]
    for error in [*kinds, RowsError([1, 3], 2.5)]:
        assert isinstance(error, SimulationError)
        assert not isinstance(error, ValueError)
        back = pickle.loads(pickle.dumps(error))
        assert (type(back), str(back), vars(back)) == (type(error), str(error), vars(error))
