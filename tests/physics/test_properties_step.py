"""A finer step converges: whatever is crossed and not warned of is told as at a quarter of the step.

A long run: PROPERTY_EXAMPLES=1000 python -m pytest tests/physics/test_properties_step.py
"""

from __future__ import annotations

import numpy as np
import pytest
from any_scenario import documents, few, read
from hypothesis import assume, event, given

from scenarios.format.errors import ScenarioError
from sim.errors import SimulationError
from sim.heeds import heeds
from sim.run import met_by, prepare, simulate

TOLERANCE = 0.01  # depth error that counts as on depth [m]
# What a window promises (README, tests/benchmarks/step_sweep.py): shares within a point, loads within 2 % of 50 N or
# of themselves. A crossing of a few metres has some 600 steps, and each time that it passes the tolerance a share may
# be one of them off: that comes on top.
POINT, LOAD, LEAST_LOAD = 0.01, 0.02, 50.0
MOST_STEPS = 60_000  # longer crossings are marched in the long run of the benchmarks


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    return tmp_path_factory.mktemp("step")


def trusted(s, run) -> bool:
    """Whether nothing says that its numbers are not to be trusted."""
    ready = prepare(s.unit, s.soil, run.track.rock, s.settings)
    met = met_by(run.series, run.setting, run.energy, run.track.x_from, s.settings.speed, run.step)
    return not any(heed.barred for heed in heeds(s.unit, s.settings, ready, run.track.rock, met))


def passes(inside: np.ndarray) -> int:
    """How often something begins or ends."""
    return int(np.count_nonzero(np.diff(inside.astype(np.int8))))


def check_share(coarse: np.ndarray, fine: np.ndarray) -> None:
    """Shares of the steps at which something holds."""
    allowed = POINT + passes(coarse) / coarse.size
    assert abs(coarse.mean() - fine.mean()) <= allowed


@few(40)
@given(document=documents())
def test_a_quarter_of_the_step_tells_the_same(document, folder):
    try:
        s = read(document, folder)
        run = simulate(s.unit, s.soil, s.track(), s.settings)
    except (ScenarioError, SimulationError):
        assume(False)
    if run.steps > MOST_STEPS or not trusted(s, run):
        event("warned of, or long")
        return
    event("compared")
    fine = simulate(s.unit, s.soil, run.track, s.settings, step=run.step / 4)
    errors = [np.abs(r.series["depth"] - s.settings.set_depth) <= TOLERANCE for r in (run, fine)]
    check_share(*errors)
    check_share(*(r.series["gauge_load"] <= 0.0 for r in (run, fine)))
    for name in ("gauge_load", "press_load"):
        ours, exact = run.series[name].mean(), fine.series[name].mean()
        assert abs(ours - exact) <= LOAD * max(exact, LEAST_LOAD), name
    rms = [np.sqrt((r.pins**2).sum(axis=2).mean(axis=0)).max() for r in (run, fine)]
    assert rms[0] == pytest.approx(rms[1], rel=LOAD, abs=LOAD * LEAST_LOAD)
