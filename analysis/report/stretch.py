"""The stretch of ground that the page shows, crossed at every setting of the grid."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from analysis.crossing.breakouts import Breakout
from analysis.crossing.depth import depth_error
from analysis.drawn.samples import SAMPLE, Crossed, sample_places, sampled
from analysis.explain.parts import along
from analysis.parallel import Progress, run_all
from analysis.present.edge import mm
from analysis.rows.cells import lay
from analysis.window.grid import Window
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import Run
from sim.run import simulate
from sim.track import Track

LENGTH = 40.0  # [m]


@dataclass(frozen=True)
class Stretch:
    """The stretch, from and to along the track [m], and every setting's crossing by (pressure, speed)."""

    first: float
    last: float
    seed: int
    track: Track
    cells: Mapping[tuple[int, int], Crossed]
    problem: str = ""  # why it is the head of the ground and not its worst piece; "": it is the worst

    @property
    def samples(self) -> int:
        """Samples along the stretch."""
        return sample_places(self.first, self.last).size


def cross_stretch(
    scenario: Scenario, window: Window, chosen: tuple[int, int], workers: int | None, progress: Progress | None
) -> Stretch:
    """Cross the first ground of a window at every setting, depth setting redone, and keep one stretch of it.

    The stretch is the one with the largest depth error (RMS) at the chosen (pressure, speed); where that setting
    cannot be crossed, the head of the ground, and the reason stands in `problem`.
    """
    laid = lay(scenario, window.seeds[:1])[0]

    def run_at(i: int, j: int) -> Run:
        settings = replace(
            scenario.settings, oil_pressure=float(window.pressures[i]), speed=float(window.speeds[j]), setting="redone"
        )
        return simulate(scenario.unit, scenario.soil, laid.track, settings, tables=laid.tables)

    problem = ""
    try:
        first, last = worst_stretch(run_at(*chosen), scenario.x_from, scenario.x_to)
    except SimulationError as error:
        first, problem = scenario.x_from, str(error)
        last = first + min(LENGTH, scenario.length)

    def job(cell: tuple[int, int]) -> Crossed:
        try:
            return sampled(run_at(*cell), first, last, scenario.limits.depth_tolerance)
        except SimulationError as error:
            return Crossed({}, problem=str(error))

    cells = [(i, j) for j in range(window.speeds.size) for i in range(window.pressures.size)]
    found = run_all(job, cells, workers, progress)
    return Stretch(first, last, laid.seed, laid.track, dict(zip(cells, found, strict=True)), problem)


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


def breakout_rows(found: tuple[Breakout, ...], most: int) -> list[dict[str, Any]]:
    """The highest breakouts as rows of a table, in trade units."""
    ranked = sorted(found, key=lambda b: -b.rise)[:most]
    return [
        {
            "at_m": b.position, "rise_mm": mm(b.rise), "regain_m": b.regain,
            "disc_kN": b.disc_peak / 1e3, "pin": b.pin.replace("_", " "), "pin_kN": b.pin_peak / 1e3,
            "oil_bar": b.pressure_max / 1e5,
        }
        for b in ranked
    ]  # fmt: skip
