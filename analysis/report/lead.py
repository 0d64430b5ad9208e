"""The setting that a page leads with, crossed once over the first ground for all that is told of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from analysis.crossing.breakouts import Breakout, breakouts
from analysis.crossing.depth import depth_error
from analysis.crossing.loads import PinLoad, pin_loads
from analysis.drawn.samples import SAMPLE, Crossed, sample_places, sampled
from analysis.explain.parts import along
from analysis.pins.wear.told import Told, told_pins
from analysis.rows.cells import Laid, lay
from analysis.window.grid import Window
from analysis.window.pick import Nearest, Pick
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import Run
from sim.run import simulate

LENGTH = 40.0  # of the stretch that is shown [m]


@dataclass(frozen=True)
class Lead:
    """What the crossing leaves; its series, tens of megabytes, are not kept."""

    laid: Laid  # the ground
    first: float  # the stretch, from and to along the track [m]
    last: float
    crossed: Crossed  # on the stretch; where it could not be crossed, why: the stretch is then the head of the ground
    breakouts: tuple[Breakout, ...] = ()  # of the whole ground
    loads: Mapping[str, PinLoad] | None = None  # of the pins; None: not crossed
    wear: Told | None = None  # pins and bushes; None: not crossed

    @property
    def samples(self) -> int:
        """Samples along the stretch."""
        return sample_places(self.first, self.last).size


def lead_of(scenario: Scenario, window: Window, found: Pick | Nearest) -> Lead:
    """Cross the first ground of a window with the setting found, depth setting redone.

    The stretch is the one with the largest depth error (RMS); where that setting cannot be crossed, the head of the
    ground, and the reason stands in `crossed`.
    """
    laid = lay(scenario, window.seeds[:1])[0]
    settings = scenario.settings.redone_at(found.oil_pressure, found.speed)
    try:
        run = simulate(scenario.unit, scenario.soil, laid.track, settings, tables=laid.tables)
    except SimulationError as error:
        first = scenario.x_from
        return Lead(laid, first, first + min(LENGTH, scenario.length), Crossed({}, problem=str(error)))
    first, last = worst_stretch(run, scenario.x_from, scenario.x_to)
    tolerance = scenario.limits.depth_tolerance
    return Lead(
        laid, first, last, sampled(run, first, last, tolerance), breakouts(run, tolerance), pin_loads(run),
        _wear(replace(scenario, settings=settings), run),
    )  # fmt: skip


def _wear(at: Scenario, run: Run) -> Told | None:
    try:
        return told_pins(at, run)
    except SimulationError:
        return None


def worst_stretch(run: Run, start: float, end: float) -> tuple[float, float]:
    """The LENGTH of ground with the largest RMS depth error between two distances; all where there is no more [m]."""
    if end - start <= LENGTH + SAMPLE:
        return start, start + SAMPLE * float(np.floor((end - start) / SAMPLE + 1e-9))
    x, square = along(run), depth_error(run) ** 2
    sums = np.concatenate([[0.0], np.cumsum(square)])
    starts = np.arange(start, end - LENGTH + 1e-9, 1.0)
    low, high = np.searchsorted(x, starts), np.searchsorted(x, starts + LENGTH)
    worst = float(starts[int(np.argmax(sums[high] - sums[low]))])
    return worst, worst + LENGTH
