"""The window: a scenario crossed at every pressure and speed of a grid, on the same grounds throughout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.poisson import rate
from analysis.parallel import Progress
from analysis.present.edge import bar, kmh
from analysis.rows.cells import Crossing, Laid, lay
from analysis.rows.crossings import Cell, cross_all
from analysis.window.limits import LIMITS, meets, not_checked
from scenarios.format.errors import ScenarioError
from scenarios.scenario import Scenario
from scenarios.spec import Limits
from sim.model import downforce

GRIDS = tuple(name for name in Crossing._fields if name != "problem")
PEAKS = ("pin_peak", "pressure_max", "rock_peak")  # over the seeds: the highest; all else: the mean

# JSON key of a grid · measure · factor from SI
_JSON = (
    ("on_depth_share", "on_depth_share", 1.0),
    ("on_depth_share_unchanged_setting", "on_depth_share_unchanged_setting", 1.0),
    ("error_sd_mm", "error_sd", 1e3),
    ("depth_mean_mm", "depth_mean", 1e3),
    ("wheel_off_share", "wheel_off_share", 1.0),
    ("gauge_load_mean_N", "gauge_load_mean", 1.0),
    ("wheel_off_per_km", "wheel_off_episodes", None),
    ("breakouts_per_km", "breakouts", None),
    ("pin_peak_N", "pin_peak", 1.0),
    ("pressure_max_bar", "pressure_max", 1e-5),
)


@dataclass(frozen=True)
class Window:
    """Measures over (pressure, speed, seed).

    `grids[name]` has shape (pressures, speeds, seeds) for every name in GRIDS (fields of
    `analysis.rows.cells.Crossing`, SI); NaN where a crossing could not be made: `problems[i, j, k]` then says why.
    Pressures and speeds rise.
    """

    scenario: str
    pressures: NDArray[np.float64]  # gauge [Pa], (pressures,)
    speeds: NDArray[np.float64]  # [m/s], (speeds,)
    seeds: tuple[int, ...]
    grids: Mapping[str, NDArray[np.float64]]
    downforce: NDArray[np.float64]  # [N], (pressures,)
    limits: Limits
    problems: Mapping[tuple[int, int, int], str]
    notes: tuple[str, ...] = ()

    def over_seeds(self, name: str) -> NDArray[np.float64]:
        """A grid over all seeds, shape (pressures, speeds): the mean; of peaks the highest. NaN if one is missing."""
        grid = self.grids[name]
        return grid.max(axis=2) if name in PEAKS else grid.mean(axis=2)

    def per_km(self, name: str) -> NDArray[np.float64]:
        """A count ("wheel_off_episodes", "breakouts") per km of row over all seeds, (pressures, speeds)."""
        return self.grids[name].sum(axis=2) / (self.grids["distance"].sum(axis=2) / 1e3)

    def per_km_interval(self, name: str, i: int, j: int) -> tuple[float, float]:
        """Exact 95 % interval of that count per km in one cell."""
        count, length = self.grids[name][i, j].sum(), self.grids["distance"][i, j].sum() / 1e3
        found = rate(int(count), float(length))
        return found.low, found.high

    def meets_limits(self) -> NDArray[np.bool_]:
        """Cells that meet every limit in every seed, (pressures, speeds)."""
        return meets(self, self.limits)

    def only_seed(self, k: int) -> Window:
        """The window of the k-th seed alone."""
        grids = {name: grid[:, :, k : k + 1] for name, grid in self.grids.items()}
        problems = {(i, j, 0): text for (i, j, n), text in self.problems.items() if n == k}
        return replace(self, seeds=self.seeds[k : k + 1], grids=grids, problems=problems)

    def to_dict(self) -> dict[str, Any]:
        """JSON form: axes, grids over all seeds as [pressure][speed], the limits, and all seeds under `by_seed`.

        Grids: mean over the seeds, peaks the highest, counts those of all seeds together; `by_seed` holds the same
        names as [pressure][speed][seed]. None where a crossing could not be made; `reasons` then says why.
        """
        grids = {key: _numbers(self.per_km(name) if f is None else self.over_seeds(name) * f) for key, name, f in _JSON}
        km = self.grids["distance"] / 1e3
        seeds = {key: _numbers(self.grids[name] / km if f is None else self.grids[name] * f) for key, name, f in _JSON}
        return {
            "pressures_bar": [bar(p) for p in self.pressures],
            "speeds_kmh": [kmh(v) for v in self.speeds],
            **grids,
            "meets_limits": self.meets_limits().tolist(),
            "limits": limits_dict(self.limits),
            "seeds": list(self.seeds),
            "by_seed": seeds,
            "reasons": {f"{i}.{j}.{k}": text for (i, j, k), text in sorted(self.problems.items())},
            "notes": list(self.notes),
        }


def _numbers(grid: NDArray[np.float64]) -> list[Any]:
    """A grid as nested lists of floats, None for NaN."""
    return np.where(np.isfinite(grid), grid, None).tolist()  # type: ignore[call-overload]


def limits_dict(limits: Limits) -> dict[str, Any]:
    """The limits in edge units by the keys of a scenario file; None and named under `not_checked` where not given."""
    found: dict[str, Any] = {"depth_tolerance_mm": limits.depth_tolerance * 1e3}
    for limit in LIMITS:
        value = getattr(limits, limit.name)
        found[limit.key] = None if value is None else (bar(value) if limit.unit == "bar" else value)
    highest = limits.max_oil_pressure
    found["max_oil_pressure_bar"] = None if highest is None else bar(highest)
    return {**found, "not_checked": not_checked(limits)}


def search(
    scenario: Scenario,
    pressures_bar: Sequence[float] | None = None,
    speeds_kmh: Sequence[float] | None = None,
    seeds: int | Sequence[int] | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
    *,
    unchanged: bool = True,
) -> Window:
    """Cross a scenario at every pressure [bar] and speed [km/h] on the same grounds → Window.

    Depth setting redone in every cell, and (`unchanged`) once more left as made at the reference. Pressures, speeds
    and seeds left out are those of the file; a whole number of seeds counts on from the scenario's own. `workers`
    threads (None: one a core; the result is the same bit for bit); progress(done, total) after every cell and seed.
    A crossing that fails leaves its reason in `problems`. Raises ScenarioError for values out of range, all at once.
    """
    p, v = _axes(scenario, pressures_bar, speeds_kmh)
    laid = lay(scenario, _seeds(scenario, seeds))
    jobs = [(i, j, k) for k in range(len(laid)) for j in range(v.size) for i in range(p.size)]

    cells = [
        Cell(replace(scenario.settings, oil_pressure=float(p[i]), speed=float(v[j])), ground=k) for i, j, k in jobs
    ]
    crossings = cross_all(scenario, laid, cells, unchanged, workers, progress)
    return assemble(scenario, p, v, laid, dict(zip(jobs, crossings, strict=True)))


def assemble(
    scenario: Scenario,
    pressures: NDArray[np.float64],
    speeds: NDArray[np.float64],
    laid: tuple[Laid, ...],
    results: Mapping[tuple[int, int, int], Crossing],
) -> Window:
    """A Window from crossings by (pressure, speed, seed) index; a missing one counts as not made."""
    shape = (pressures.size, speeds.size, len(laid))
    grids = {name: np.full(shape, np.nan) for name in GRIDS}
    for cell, crossing in results.items():
        for name in GRIDS:
            grids[name][cell] = getattr(crossing, name)
    wanted = scenario.search_seeds if len(laid) == 1 and scenario.search.seeds > 1 else ()
    notes = (f"all seeds give the same ground: crossed once, as seed {laid[0].seed}",) if wanted else ()
    return Window(
        scenario=scenario.name,
        pressures=pressures,
        speeds=speeds,
        seeds=tuple(ground.seed for ground in laid),
        grids=grids,
        downforce=np.array([downforce(scenario.unit, float(p)) for p in pressures]),
        limits=scenario.limits,
        problems={cell: crossing.problem for cell, crossing in results.items() if crossing.problem},
        notes=notes,
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
