"""Two designs over the same few metres: where their depth parts most."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.compare.compare import Comparison
from analysis.parallel import run_all
from sim.record import Run
from sim.run import simulate

LENGTH = 5.0  # ground shown [m]
SMOOTH = 0.25  # over which depths are compared, so that one step decides nothing [m]


@dataclass(frozen=True, repr=False)
class Pair:
    """The first design and the one that parts from it most, over the same ground. SI units.

    apart: by how much deeper the other one is at `at`, averaged over SMOOTH; stretch: what is shown.
    """

    names: tuple[str, str]
    runs: tuple[Run, Run]
    tolerances: tuple[float, float]
    seed: int
    title: str
    at: float
    apart: float
    stretch: tuple[float, float]


def pair(found: Comparison, workers: int | None = None) -> Pair:
    """Cross the first ground with every design at the common setting, and find where one parts most from the first.

    Designs that never part are shown where the first one's depth error is largest. Raises SimulationError where a
    crossing cannot be made.
    """
    seed, designs = found.seeds[0], [one.design for one in found.results]

    def job(i: int) -> Run:
        scenario, at = designs[i].scenario, found.results[i].common
        settings = scenario.settings.redone_at(at.oil_pressure, at.speed)
        return simulate(scenario.unit, scenario.soil, scenario.track(seed), settings)

    runs = run_all(job, range(len(designs)), workers)
    first = designs[0].scenario
    x = np.arange(first.x_from, first.x_to, 0.01)
    errors = [_error(run, x) for run in runs]
    parts = [np.abs(error - errors[0]) for error in errors[1:]]
    other = 1 + int(np.argmax([part.max() for part in parts]))
    shown = parts[other - 1] if parts[other - 1].max() > 0.0 else np.abs(errors[0])
    place = int(shown.argmax())
    start = float(np.clip(x[place] - 0.5 * LENGTH, first.x_from, max(first.x_to - LENGTH, first.x_from)))
    return Pair(
        names=(designs[0].name, designs[other].name), runs=(runs[0], runs[other]),
        tolerances=(first.limits.depth_tolerance, designs[other].scenario.limits.depth_tolerance), seed=seed,
        title=first.title, at=float(x[place]), apart=float(errors[other][place] - errors[0][place]),
        stretch=(start, min(start + LENGTH, first.x_to)),
    )  # fmt: skip


def _error(run: Run, x: NDArray[np.float64]) -> NDArray[np.float64]:
    """Depth error along x, (n,) [m], averaged over SMOOTH."""
    error = np.interp(x, run.series["distance"], run.series["depth"] - run.settings.set_depth)
    count = max(1, round(SMOOTH / (x[1] - x[0])))
    return np.convolve(error, np.full(count, 1.0 / count), mode="same")


def steps_at(run: Run, x: NDArray[np.float64]) -> list[int]:
    """The steps of a run nearest behind distances along the track."""
    along = run.series["distance"]
    return [int(step) for step in np.clip(np.searchsorted(along, x), 0, along.size - 1)]
