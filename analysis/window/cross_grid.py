"""A scenario crossed at every pressure and speed of a grid → Window."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.heed import gas_notes
from analysis.crossing.measures import in_window
from analysis.parallel import Progress
from analysis.rows.cells import Crossing, Laid, lay
from analysis.rows.crossings import Cell, cross_all
from analysis.rows.known import cross_or_find
from analysis.window.grid import Window
from analysis.window.weight import held_down
from scenarios.format.errors import ScenarioError
from scenarios.scenario import Scenario
from sim.hydraulics.cylinder import downforce
from sim.hydraulics.working import suiting_precharges


def search(
    scenario: Scenario,
    pressures_bar: Sequence[float] | None = None,
    speeds_kmh: Sequence[float] | None = None,
    seeds: int | Sequence[int] | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
    *,
    unchanged: bool = True,
    known: bool = True,
) -> Window:
    """Cross a scenario at every pressure [bar] and speed [km/h] on the same grounds → Window.

    Depth setting redone in every cell, and (`unchanged`) once more left as made at the reference. Pressures, speeds
    and seeds left out are those of the file; a whole number of seeds counts on from the scenario's own. `workers`
    threads (None: one a core; the result is the same bit for bit); progress(done, total) after every cell and seed.
    known: take from what is kept and keep what is crossed (`analysis.rows.known`); False for a search among many that
    nobody asks for again. A crossing that fails leaves its reason in `problems`. Raises ScenarioError for values out of
    range, all at once.
    """
    p, v = _axes(scenario, pressures_bar, speeds_kmh)
    laid = lay(scenario, _seeds(scenario, seeds))
    jobs = [(i, j, k) for k in range(len(laid)) for j in range(v.size) for i in range(p.size)]

    cells = [
        Cell(replace(scenario.settings, oil_pressure=float(p[i]), speed=float(v[j])), ground=k) for i, j, k in jobs
    ]
    crossed = cross_or_find if known else cross_all
    crossings = crossed(scenario, laid, cells, unchanged, workers, progress)
    return assemble(scenario, p, v, laid, dict(zip(jobs, crossings, strict=True)))


def assemble(
    scenario: Scenario,
    pressures: NDArray[np.float64],
    speeds: NDArray[np.float64],
    laid: tuple[Laid, ...],
    results: Mapping[tuple[int, int, int], Crossing],
    *,
    told: bool = True,
) -> Window:
    """A Window from crossings by (pressure, speed, seed) index; a missing one counts as not made.

    told: with the precharges that suit each pressure and what is noted of them, which decides nothing and takes some
    milliseconds a pressure.
    """
    shape = (pressures.size, speeds.size, len(laid))
    grids = {m.name: np.full(shape, np.nan) for m in in_window()}
    for cell, crossing in results.items():
        for name, grid in grids.items():
            grid[cell] = crossing.value(name)
    wanted = scenario.search_seeds if len(laid) == 1 and scenario.search.seeds > 1 else ()
    notes = (
        (f"nothing on it is random, so all are the same ground: crossed once, as ground {laid[0].seed}",)
        if wanted
        else ()
    )
    unit, s, rule = scenario.unit, scenario.settings, scenario.limits.gas_rule
    return Window(
        scenario=scenario.name,
        pressures=pressures,
        speeds=speeds,
        seeds=tuple(ground.seed for ground in laid),
        grids=grids,
        downforce=np.array([downforce(scenario.unit, float(p)) for p in pressures]),
        limits=scenario.limits,
        set_depth=scenario.settings.set_depth,
        problems={cell: crossing.problem for cell, crossing in results.items() if crossing.problem},
        notes=(*notes, *(gas_notes(unit, s, rule, pressures.tolist()) if told else ())),
        heeds={cell: crossing.heeds for cell, crossing in results.items() if crossing.heeds},
        precharge=s.precharge,
        held_down=held_down(scenario.machine, unit.toolbar.mass),
        suiting=tuple(suiting_precharges(rule, unit, replace(s, oil_pressure=float(p))) for p in pressures)
        if told
        else (),
    )


def _axes(
    scenario: Scenario, pressures_bar: Sequence[float] | None, speeds_kmh: Sequence[float] | None
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Rising pressures [Pa] and speeds [m/s] without repeats; every value checked against the range of its key."""
    p = scenario.search.pressures if pressures_bar is None else [value * 1e5 for value in pressures_bar]
    v = scenario.search.speeds if speeds_kmh is None else [value / 3.6 for value in speeds_kmh]
    faults: list[str] = []
    for name, values in (("oil_pressure", p), ("speed", v)):
        if len(values) == 0:
            faults.append(f"{name}: no value given; allowed: one or more; try: leave it out to take those of the file")
        for value in values:
            try:
                scenario.with_settings(**{name: value})
            except ScenarioError as error:
                faults += error.faults
    if faults:
        raise ScenarioError(faults)
    return np.unique(np.asarray(p, dtype=np.float64)), np.unique(np.asarray(v, dtype=np.float64))


def _seeds(scenario: Scenario, seeds: int | Sequence[int] | None) -> tuple[int, ...]:
    if seeds is None:
        return scenario.search_seeds
    listed = tuple(scenario.seed + i for i in range(seeds)) if isinstance(seeds, int) else tuple(seeds)
    if not listed or min(listed) < 0:
        fault = "seeds: none or one below zero given; allowed: at least one, each 0 or more; try: 3"
        raise ScenarioError([fault])
    return tuple(dict.fromkeys(int(seed) for seed in listed))
