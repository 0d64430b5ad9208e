"""Crossings of trial values: the same random numbers for every trial, so that what they give varies smoothly.

A `Cell` is one depth setting at one oil pressure and speed. Every cell of a trial is crossed on the same few grounds
(`GROUNDS`, each `LENGTH` long where the ground is made up), eight rows in a march, with the crank held where the trial
says. How much grounds differ is found on twice as many (`Grounds.wider`), and not at every trial.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.fit.unknowns import Trial
from analysis.rows.cells import Laid
from analysis.rows.crossings import Found, Made, cross_together
from analysis.rows.together import Asked, Row
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.march.rows import Case
from sim.record import Run
from sim.run import simulate
from sim.track import Track
from sim.unit import Settings

GROUNDS, FEWEST = 4, 2
LENGTH = 80.0  # [m]

Floats = NDArray[np.float64]


class Cell(NamedTuple):
    """One depth setting (by its name) at one oil pressure [Pa] and speed [m/s]."""

    held: str
    oil_pressure: float
    speed: float


class Crossed(NamedTuple):
    """What the crossings of a cell gave, ground by ground, each (grounds,)."""

    depth: Floats  # mean [m]
    depth_variance: Floats  # along the way [m²]
    load: Floats  # mean gauge load [N]
    load_variance: Floats  # [N²]
    off: Floats  # share of travel with no load on the gauge wheel
    draught: Floats  # mean pull of the row [N]; empty where it was not asked for


@dataclass(frozen=True)
class Grounds:
    """Which grounds a scenario is crossed on."""

    seeds: tuple[int, ...]
    length: float | None  # [m]; None: the scenario's own

    def track(self, scenario: Scenario, seed: int) -> Track:
        """One of them under the values of a trial."""
        return scenario.track(seed, self.length)

    def lay(self, scenario: Scenario) -> tuple[Laid, ...]:
        """All of them, made ready for the unit."""
        made = []
        for seed in self.seeds:
            track = self.track(scenario, seed)
            made.append(Laid(seed, track, scenario.unit, scenario.settings.set_depth))
        return tuple(made)

    @property
    def wider(self) -> Grounds:
        """These and as many more."""
        last = self.seeds[-1]
        return Grounds((*self.seeds, *(last + 1 + k for k in range(len(self.seeds)))), self.length)

    def metres(self, scenario: Scenario) -> float:
        """Length of one [m]."""
        return scenario.length if self.length is None else self.length


def grounds_of(scenario: Scenario, count: int = GROUNDS, length: float = LENGTH) -> Grounds:
    """Grounds for a scenario: the whole of it where things have their places on it, else a part; fewer of longer."""
    placed = scenario.profile is not None or scenario.ground.features or scenario.stones.placed
    whole = bool(placed) or scenario.length <= length
    metres = scenario.length if whole else length
    number = max(FEWEST, min(count, round(count * length / metres)))
    return Grounds(tuple(scenario.seed + k for k in range(number)), None if whole else length)


class Wanted(NamedTuple):
    """Cells of a trial over its grounds; pulled: those whose draught is wanted too."""

    trial: Trial
    cells: Sequence[Cell]
    laid: Sequence[Laid]
    pulled: frozenset[Cell]


def cross(wanted: Sequence[Wanted]) -> list[dict[Cell, Crossed] | SimulationError]:
    """Every cell of some trials crossed on every ground; an error for a trial of which a crossing cannot be made."""
    found = cross_together([Asked(one.trial.scenario, one.laid, _rows(one)) for one in wanted], 1)
    made: list[dict[Cell, Crossed] | SimulationError] = []
    for one, rows in zip(wanted, found, strict=True):
        try:
            made.append(_crossed(one, rows))
        except SimulationError as error:
            made.append(error)
    return made


def _rows(wanted: Wanted) -> list[Row]:
    trial, cells, laid, _ = wanted
    count = len(laid)
    return [
        Row(number * count + k, Case(k, _settings(trial, cell), trial.cranks[cell.held]))
        for number, cell in enumerate(cells)
        for k in range(count)
    ]


def _crossed(wanted: Wanted, found: Found) -> dict[Cell, Crossed]:
    """What came of a trial. Raises SimulationError."""
    trial, cells, laid, pulled = wanted
    count = len(laid)
    crossed = {}
    for number, cell in enumerate(cells):
        made = [found[number * count + k, "unchanged"] for k in range(count)]
        crossed[cell] = _of(trial, cell, made, laid if cell in pulled else ())
    return crossed


def _settings(trial: Trial, cell: Cell) -> Settings:
    s = trial.scenario.settings
    return replace(s, setting="unchanged", oil_pressure=cell.oil_pressure, speed=cell.speed)


def _of(trial: Trial, cell: Cell, made: Sequence[Made | str], laid: Sequence[Laid]) -> Crossed:
    for one in made:
        if isinstance(one, str):
            raise SimulationError(f"readings at {cell.oil_pressure / 1e5:g} bar and {cell.speed * 3.6:g} km/h: {one}")
    rows = [one for one in made if isinstance(one, Made)]

    def variance(name: str) -> Floats:
        return np.array([float(row.value(f"{name}_m2")) / float(row.reduced.steps[0]) for row in rows])

    return Crossed(
        depth=np.array([float(row.value("error_mean")) for row in rows]) + trial.scenario.settings.set_depth,
        depth_variance=variance("error"),
        load=np.array([float(row.value("gauge_load_mean")) for row in rows]),
        load_variance=variance("gauge_load"),
        off=np.array([row.share("wheel_off") for row in rows]),
        draught=np.array([pull(run_of(trial, cell, one)) for one in laid]),
    )


def run_of(trial: Trial, cell: Cell, laid: Laid) -> Run:
    """A cell crossed on one ground with all its series kept. Raises SimulationError."""
    scenario, crank = trial.scenario, trial.cranks[cell.held]
    settings = _settings(trial, cell)
    return simulate(scenario.unit, scenario.soil, laid.track, settings, tables=laid.tables, crank=crank)


def pull(run: Run) -> float:
    """Mean pull of the row [N]: what the soil's forces on disc, boot and both wheels do along the way.

    Of the work that the toolbar does over the whole way, lead-in and all: soil, sinkage, rolling, tyres and seals lost.
    """
    losses = run.energy.losses
    way = run.settings.speed * run.step * run.steps
    return sum(losses[name] for name in ("soil", "sinkage", "rolling")) / way
