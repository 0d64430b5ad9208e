"""What is left of a march: measures of every row and section, and how sections are put together."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.breakouts import Breakout, breakouts_from
from analysis.crossing.episodes import Episode, episodes_from
from analysis.rows.sums import COUNTS, EXTREMES, MOMENTS, N_PINS, PIN_PEAKS, PIN_SUMS, RECORD, WITH_HIGHEST
from sim.heeds import Met
from sim.record import CAUSES, DepthSetting
from sim.unit import ATMOSPHERE
from sim.worn import Knocks

Floats = NDArray[np.float64]


class Histogram(NamedTuple):
    """Bins of one width; what lies beyond is counted at either end."""

    low: float
    width: float
    bins: int


_MET = (
    "pressure_max",
    "rock_peak",
    "gas_coldest",
    "gas_hottest",
    *WITH_HIGHEST,
    *WITH_HIGHEST.values(),
)
ERROR_BINS = Histogram(-0.150, 0.0005, 500)  # depth error [m]
GAUGE_BINS = Histogram(1e-9, 25.0, 400)  # gauge load [N]; zero lies below the first bin


@dataclass(frozen=True)
class Reduced:
    """Measures by section and row, SI units.

    `values[name]` has shape (sections, rows): COUNTS in steps; of each of MOMENTS `name_mean` and `name_m2` (sum of
    squared deviations from the mean), and of each cause `name_with_error` (sum of products of the deviations of that
    part and of the depth error); pressures absolute [Pa], rock_peak [N]; gas_coldest and gas_hottest [K];
    squash_change_max, the gauge wheel's over that at the setting, and press_squash_max [m], and the steps of both from
    bounds[0] on, squash_change_step and press_squash_step; pin_square_mean [N²] and pin_peak [N] have shape (sections,
    14, rows) in the order of `sim.record.PINS`. Histograms count steps, (sections, bins + 2, rows), or (1, bins + 2,
    rows) over all sections, or are None.
    """

    bounds: NDArray[np.int64]  # (sections + 1,) first step of each section, counted from the start of the march
    travel: float  # per step [m]
    set_depth: Floats  # (rows,) [m]
    values: Mapping[str, Floats]
    found_episodes: tuple[Floats, ...]  # by row, tables of the event machine; their steps count from bounds[0]
    found_breakouts: tuple[Floats, ...]
    energy_share: Floats  # (rows,) energy left over on the whole way, as `sim.record.Energy.residual_share`
    error_counts: NDArray[np.int32] | None = None
    gauge_counts: NDArray[np.int32] | None = None
    knocks: tuple[tuple[Knocks, ...], ...] = ()  # of worn pins by row, on the whole way; none without wear

    @cached_property
    def episodes(self) -> tuple[tuple[Episode, ...], ...]:
        """Wheel-off episodes by row."""
        return tuple(episodes_from(rows, self.travel) for rows in self.found_episodes)

    @cached_property
    def breakouts(self) -> tuple[tuple[Breakout, ...], ...]:
        """Breakouts by row."""
        return tuple(breakouts_from(rows, self.travel) for rows in self.found_breakouts)

    @property
    def steps(self) -> NDArray[np.int64]:
        """Steps of each section, (sections,)."""
        return np.diff(self.bounds)

    @property
    def length(self) -> Floats:
        """Length of each section [m], (sections,)."""
        return np.asarray(self.steps * self.travel, dtype=np.float64)

    def share(self, name: str) -> Floats:
        """One of COUNTS as a share of the travel, (sections, rows)."""
        return self.values[name] / self.steps[:, None]

    def sd(self, name: str) -> Floats:
        """Population standard deviation of one of MOMENTS, (sections, rows)."""
        return np.sqrt(self.values[f"{name}_m2"] / self.steps[:, None])

    def share_of_variance(self, cause: str) -> Floats:
        """cov(part, error)/var(error) of one of the five causes, (sections, rows); NaN where the error is constant."""
        with np.errstate(invalid="ignore", divide="ignore"):
            return self.values[f"{cause}_with_error"] / self.values["error_m2"]

    def met(self, row: int, setting: DepthSetting, x_from: float, speed: float) -> Met:
        """What the crossing of a row at a speed [m/s] came to, over all sections, which begin at x_from [m]."""
        value = {name: float(values[row]) for name, values in self._met.items()}
        return Met(
            pressure=value["pressure_max"] - ATMOSPHERE,
            coldest=value["gas_coldest"],
            hottest=value["gas_hottest"],
            gauge_squash=value["squash_change_max"] + setting.squash,
            gauge_at=x_from + value["squash_change_step"] * self.travel,
            press_squash=value["press_squash_max"],
            press_at=x_from + value["press_squash_step"] * self.travel,
            knock=value["rock_peak"],
            step=self.travel / speed,
            energy_share=float(self.energy_share[row]),
            knocks=self.knocks[row] if self.knocks else (),
        )

    @cached_property
    def _met(self) -> dict[str, Floats]:
        """What `met` is made of, over all sections, by name: (rows,) each."""
        return {name: self._joined(name)[0] for name in _MET if name in self.values}

    def whole(self) -> Reduced:
        """All sections as one."""
        if self.steps.size == 1:
            return self
        joined = {name: self._joined(name) for name in self.values}
        counts = [None if c is None else c.sum(axis=0, keepdims=True) for c in (self.error_counts, self.gauge_counts)]
        return replace(self, bounds=self.bounds[[0, -1]], values=joined, error_counts=counts[0], gauge_counts=counts[1])

    def _joined(self, name: str) -> Floats:
        """One measure over all sections (moments: Chan, Golub & LeVeque 1983)."""
        value = self.values[name]
        if name in COUNTS:
            return value.sum(axis=0, keepdims=True)
        if name == "pin_peak":
            return value.max(axis=0, keepdims=True)
        if name in EXTREMES:
            return np.asarray(EXTREMES[name](value, axis=0, keepdims=True))
        if name in WITH_HIGHEST:
            where = self.values[WITH_HIGHEST[name]].argmax(axis=0)
            return np.take_along_axis(value, where[None, :], axis=0)
        if name.endswith("_mean"):
            return self._average(value)
        first = name.removesuffix("_m2").removesuffix("_with_error")
        second = "error" if name.endswith("_with_error") else first
        a, b = (self.values[f"{part}_mean"] for part in (first, second))
        between = (a - self._average(a)) * (b - self._average(b)) * self.steps[:, None]
        return (value + between).sum(axis=0, keepdims=True)

    def _average(self, value: Floats) -> Floats:
        weights = (self.steps / self.steps.sum()).reshape(-1, *[1] * (value.ndim - 1))
        return (weights * value).sum(axis=0, keepdims=True)

    def percentiles(self, name: str, shares: tuple[float, ...]) -> Floats:
        """Percentiles [%] of "error" [m] or "gauge_load" [N] from the histograms → (shares, histograms, rows).

        Interpolated between order statistics as numpy does, each taken as the middle of its bin: off by half a bin at
        most (0.25 mm, 12.5 N). Beyond the histogram its end stands. ValueError where no histogram was kept.
        """
        bins, counts = {
            "error": (ERROR_BINS, self.error_counts),
            "gauge_load": (GAUGE_BINS, self.gauge_counts),
        }[name]
        if counts is None:
            raise ValueError(f"percentiles of {name}: no histogram was kept; reduce with histograms")
        middles = bins.low + bins.width * (np.arange(bins.bins + 2) - 0.5)
        middles[0], middles[-1] = bins.low, bins.low + bins.width * bins.bins
        if name == "gauge_load":
            middles[0] = 0.0
        below = counts.cumsum(axis=1)
        found = np.empty((len(shares), counts.shape[0], counts.shape[2]))
        for k, share in enumerate(shares):
            place = share / 100.0 * (below[:, -1, 0] - 1)
            low = np.floor(place)
            values = [middles[(below <= n[:, None, None]).sum(axis=1)] for n in (low, np.ceil(place))]
            found[k] = values[0] + (place - low)[:, None] * (values[1] - values[0])
        return found


def values_of(records: Floats, steps: NDArray[np.int64], rows: int) -> dict[str, Floats]:
    """Measures from records (sections, len(RECORD), 8) of `analysis.rows.sums`; see `Reduced.values`."""
    records, n = records[:, :, :rows], steps[:, None]

    def kept(name: str) -> Floats:
        return records[:, RECORD.index(name)]

    found = {name: kept(name) for name in (*COUNTS, *EXTREMES, *WITH_HIGHEST)}
    for name in MOMENTS:
        total = kept(f"{name}_sum")
        found[f"{name}_mean"] = kept(f"{name}_from") + total / n
        found[f"{name}_m2"] = np.maximum(kept(f"{name}_square") - total**2 / n, 0.0)
    for cause in CAUSES:
        found[f"{cause}_with_error"] = kept(f"{cause}_with_error") - kept(f"{cause}_sum") * kept("error_sum") / n
    found["pin_square_mean"] = records[:, PIN_SUMS : PIN_SUMS + N_PINS] / steps[:, None, None]
    found["pin_peak"] = np.sqrt(records[:, PIN_PEAKS : PIN_PEAKS + N_PINS])
    return {name: np.ascontiguousarray(value) for name, value in found.items()}
