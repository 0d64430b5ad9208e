"""The window: measures over a grid of pressures and speeds, on the same grounds throughout."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import MEASURES, Join
from analysis.crossing.poisson import rate
from analysis.present.edge import bar, kmh
from scenarios.spec import Limits
from sim.heeds import KINDS, Heed
from sim.hydraulics.working import Span

_OVER_SEEDS = {Join.HIGHEST: np.max, Join.LOWEST: np.min}  # all else: the mean


@dataclass(frozen=True, repr=False)
class Window:
    """Measures over (pressure, speed, seed).

    `grids[name]` has shape (pressures, speeds, seeds) for every measure of `analysis.crossing.measures.in_window`, SI;
    NaN where a crossing could not be made: `problems[i, j, k]` then says why. `heeds[i, j, k]`: what a run of that
    crossing would warn of, where there is something.
    Pressures and speeds rise.
    """

    scenario: str
    pressures: NDArray[np.float64]  # gauge [Pa], (pressures,)
    speeds: NDArray[np.float64]  # [m/s], (speeds,)
    seeds: tuple[int, ...]
    grids: Mapping[str, NDArray[np.float64]]
    downforce: NDArray[np.float64]  # [N], (pressures,)
    limits: Limits
    set_depth: float  # of every cell [m]
    problems: Mapping[tuple[int, int, int], str]
    notes: tuple[str, ...] = ()
    heeds: Mapping[tuple[int, int, int], tuple[Heed, ...]] = field(default_factory=dict)
    precharge: float | None = None  # gauge [Pa]; None: not known
    held_down: float | None = None  # largest downforce of a row that does not lift the toolbar [N]; None: not known
    suiting: tuple[Span, ...] = ()  # precharges that keep the limits at each pressure; (): not known

    def __repr__(self) -> str:
        p, v = self.pressures, self.speeds
        spans = f"{bar(p[0]):.4g} to {bar(p[-1]):.4g} bar, {kmh(v[0]):.4g} to {kmh(v[-1]):.4g} km/h"
        grounds = f"{len(self.seeds)} ground{'s' if len(self.seeds) > 1 else ''}"
        return f"{type(self).__name__} {self.scenario}: {p.size} × {v.size} settings ({spans}), {grounds}"

    def over_seeds(self, name: str) -> NDArray[np.float64]:
        """A grid over all seeds, shape (pressures, speeds): the mean; of peaks the highest. NaN if one is missing."""
        return np.asarray(_OVER_SEEDS.get(MEASURES[name].join, np.mean)(self.grids[name], axis=2))

    def per_km(self, name: str) -> NDArray[np.float64]:
        """A count ("wheel_off_episodes", "breakouts") per km of row over all seeds, (pressures, speeds)."""
        return self.grids[name].sum(axis=2) / (self.grids["distance"].sum(axis=2) / 1e3)

    def per_km_interval(self, name: str, i: int, j: int) -> tuple[float, float]:
        """Exact 95 % interval of that count per km in one cell."""
        count, length = self.grids[name][i, j].sum(), self.grids["distance"][i, j].sum() / 1e3
        found = rate(int(count), float(length))
        return found.low, found.high

    def heeds_at(self, i: int, j: int) -> tuple[Heed, ...]:
        """What to heed of a cell (pressure i, speed j): of each kind the worst of the seeds, in the order of KINDS.

        Where the seeds differ in it the text begins with the worst one.
        """
        found: dict[str, list[tuple[int, Heed]]] = {}
        for k, seed in enumerate(self.seeds):
            for heed in self.heeds.get((i, j, k), ()):
                found.setdefault(heed.kind, []).append((seed, heed))
        return tuple(self._worst(found[kind]) for kind in KINDS if kind in found)

    def _worst(self, of_seeds: list[tuple[int, Heed]]) -> Heed:
        """The worst of one kind."""
        seed, heed = max(of_seeds, key=lambda one: one[1].size)
        alike = len(of_seeds) == len(self.seeds) and len({one.text for _, one in of_seeds}) == 1
        return heed if alike else heed._replace(text=f"ground {seed}: {heed.text}")

    def trusted(self) -> NDArray[np.bool_]:
        """Cells whose numbers are to be trusted in every seed, (pressures, speeds)."""
        found = np.ones((self.pressures.size, self.speeds.size), dtype=np.bool_)
        for (i, j, _), heeds in self.heeds.items():
            if any(heed.barred for heed in heeds):
                found[i, j] = False
        return found

    def only_seed(self, k: int) -> Window:
        """The window of the k-th seed alone."""
        grids = {name: grid[:, :, k : k + 1] for name, grid in self.grids.items()}
        problems = {(i, j, 0): text for (i, j, n), text in self.problems.items() if n == k}
        heeds = {(i, j, 0): heeds for (i, j, n), heeds in self.heeds.items() if n == k}
        return replace(self, seeds=self.seeds[k : k + 1], grids=grids, problems=problems, heeds=heeds)
