"""The window: measures over a grid of pressures and speeds, on the same grounds throughout."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import MEASURES, Join
from analysis.crossing.poisson import rate
from analysis.present.edge import bar, kmh
from scenarios.spec import Limits

_OVER_SEEDS = {Join.HIGHEST: np.max, Join.LOWEST: np.min}  # all else: the mean


@dataclass(frozen=True, repr=False)
class Window:
    """Measures over (pressure, speed, seed).

    `grids[name]` has shape (pressures, speeds, seeds) for every measure of `analysis.crossing.measures.in_window`, SI;
    NaN where a crossing could not be made: `problems[i, j, k]` then says why.
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

    def __repr__(self) -> str:
        p, v = self.pressures, self.speeds
        spans = f"{bar(p[0]):g} to {bar(p[-1]):g} bar, {kmh(v[0]):g} to {kmh(v[-1]):g} km/h"
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

    def only_seed(self, k: int) -> Window:
        """The window of the k-th seed alone."""
        grids = {name: grid[:, :, k : k + 1] for name, grid in self.grids.items()}
        problems = {(i, j, 0): text for (i, j, n), text in self.problems.items() if n == k}
        return replace(self, seeds=self.seeds[k : k + 1], grids=grids, problems=problems)
