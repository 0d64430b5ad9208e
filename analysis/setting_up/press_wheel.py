"""The press wheel: what a notch of its spring puts on the closing zone, its spread with speed, and what it takes.

Every notch is crossed at every speed on the same grounds with the depth setting made again, so that depth is held and
the gauge wheel gives up what the press wheel takes: both stand on the same carrier.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.depth import on_depth_share
from analysis.crossing.loads import wheel_load
from analysis.parallel import Progress, run_all
from analysis.present.edge import bar, kmh
from analysis.rows.cells import Laid, lay
from scenarios.format.keys import SETTINGS_META
from scenarios.scenario import Scenario
from scenarios.spec import Limits
from sim.errors import SimulationError
from sim.run import simulate
from sim.unit import Unit

REACH = 3  # notches tried on either side of the file's own
LOWEST, HIGHEST = int(SETTINGS_META["press_notch"]["low"]), int(SETTINGS_META["press_notch"]["high"])
NAN = float("nan")


class Closing(NamedTuple):
    """One crossing: loads on press and gauge wheel [N] and shares of the way; NaN where it could not be made."""

    press_mean: float = NAN
    press_sd: float = NAN
    press_low: float = NAN  # 5 % point
    press_high: float = NAN  # 95 % point
    press_off: float = NAN
    gauge_mean: float = NAN
    gauge_off: float = NAN
    on_depth: float = NAN
    problem: str = ""


MEASURES = tuple(name for name in Closing._fields if name != "problem")


@dataclass(frozen=True)
class PressWheel:
    """Measures over (notch, speed): `grids[name]` has shape (notches, speeds) for every name in MEASURES.

    Over the seeds: means; the spread is that over all the ground of all seeds. NaN where a crossing is missing.
    """

    scenario: str
    oil_pressure: float  # gauge [Pa]
    notches: tuple[int, ...]
    speeds: NDArray[np.float64]  # [m/s], rising
    own_notch: int  # the file's
    own_speed: float
    seeds: tuple[int, ...]
    couple: float  # that one notch adds [N m]
    limits: Limits
    grids: dict[str, NDArray[np.float64]]
    problems: dict[tuple[int, int, int], str]

    @property
    def own(self) -> tuple[int, int]:
        """Indices of the file's own notch and speed."""
        return self.notches.index(self.own_notch), int(np.abs(self.speeds - self.own_speed).argmin())

    @property
    def per_notch(self) -> tuple[float, float]:
        """What one notch adds to the mean press load and to the mean gauge load at the file's speed [N], fitted."""
        j = self.own[1]
        slopes = []
        for name in ("press_mean", "gauge_mean"):
            values = self.grids[name][:, j]
            known = np.isfinite(values)
            steps = np.array(self.notches)[known]
            slopes.append(float(np.polyfit(steps, values[known], 1)[0]) if known.sum() > 1 else NAN)
        return slopes[0], slopes[1]

    def allowed(self) -> list[int]:
        """Notches at which the mean gauge load at the file's speed keeps within the file's limits."""
        loads = self.grids["gauge_mean"][:, self.own[1]]
        low, high = self.limits.gauge_load_min, self.limits.gauge_load_max
        return [notch for notch, load in zip(self.notches, loads, strict=True) if low <= load <= high]

    def to_dict(self) -> dict[str, Any]:
        """JSON form: grids as [notch][speed], None where a crossing could not be made."""
        keys = {
            "press_mean": "press_load_mean_N", "press_sd": "press_load_sd_N", "press_low": "press_load_p05_N",
            "press_high": "press_load_p95_N", "press_off": "press_off_share", "gauge_mean": "gauge_load_mean_N",
            "gauge_off": "wheel_off_share", "on_depth": "on_depth_share",
        }  # fmt: skip
        press, gauge = (value if np.isfinite(value) else None for value in self.per_notch)
        return {
            "scenario": self.scenario,
            "oil_pressure_bar": bar(self.oil_pressure),
            "notches": list(self.notches),
            "speeds_kmh": [kmh(v) for v in self.speeds],
            "own": {"notch": self.own_notch, "speed_kmh": kmh(self.own_speed)},
            "seeds": list(self.seeds),
            "notch_couple_Nm": self.couple,
            **{key: _numbers(self.grids[name]) for name, key in keys.items()},
            "press_load_per_notch_N": press,
            "gauge_load_per_notch_N": gauge,
            "notches_within_gauge_limits": self.allowed(),
            "reasons": {f"{i}.{j}.{k}": text for (i, j, k), text in sorted(self.problems.items())},
        }


def _numbers(grid: NDArray[np.float64]) -> list[Any]:
    return np.where(np.isfinite(grid), grid, None).tolist()  # type: ignore[call-overload]


def notches_to_try(unit: Unit, own: int) -> tuple[int, ...]:
    """Notches around the file's own that may be set and leave the spring some couple."""
    around = range(max(own - REACH, LOWEST), min(own + REACH, HIGHEST) + 1)
    press = unit.press_wheel
    return tuple(n for n in around if n == own or press.preload + n * press.notch >= 0.0)


def speeds_to_try(scenario: Scenario) -> tuple[float, ...]:
    """The slowest and the fastest of the file's search, and its own speed [m/s]."""
    tried = scenario.search.speeds
    return tuple(sorted({tried[0], scenario.settings.speed, tried[-1]}))


def press_wheel(
    scenario: Scenario,
    notches: Sequence[int] | None = None,
    speeds: Sequence[float] | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> PressWheel:
    """Cross the grounds of a scenario's search at every notch and speed [m/s]; the file's own are always among them."""
    s = scenario.settings
    n = tuple(sorted({*(notches or notches_to_try(scenario.unit, s.press_notch)), s.press_notch}))
    v = np.unique([*(speeds or speeds_to_try(scenario)), s.speed])
    laid = lay(scenario, scenario.search_seeds)
    jobs = [(i, j, k) for k in range(len(laid)) for i in range(len(n)) for j in range(v.size)]

    def job(cell: tuple[int, int, int]) -> Closing:
        i, j, k = cell
        return _cross(scenario, laid[k], n[i], float(v[j]))

    results = dict(zip(jobs, run_all(job, jobs, workers, progress), strict=True))
    shape = (len(n), v.size, len(laid))
    raw = {name: np.full(shape, np.nan) for name in MEASURES}
    for cell, found in results.items():
        for name in MEASURES:
            raw[name][cell] = getattr(found, name)
    grids = {name: grid.mean(axis=2) for name, grid in raw.items()}
    grids["press_sd"] = np.sqrt((raw["press_sd"] ** 2).mean(axis=2) + raw["press_mean"].var(axis=2))
    return PressWheel(
        scenario=scenario.name,
        oil_pressure=s.oil_pressure,
        notches=n,
        speeds=v,
        own_notch=s.press_notch,
        own_speed=s.speed,
        seeds=tuple(ground.seed for ground in laid),
        couple=scenario.unit.press_wheel.notch,
        limits=scenario.limits,
        grids=grids,
        problems={cell: found.problem for cell, found in results.items() if found.problem},
    )


def _cross(scenario: Scenario, ground: Laid, notch: int, speed: float) -> Closing:
    settings = replace(scenario.settings, press_notch=notch, speed=speed, setting="redone")
    try:
        run = simulate(scenario.unit, scenario.soil, ground.track, settings, tables=ground.tables)
    except SimulationError as error:
        return Closing(problem=str(error))
    press, gauge = wheel_load(run, "press_load"), wheel_load(run)
    return Closing(
        press.mean, press.sd, press.p05, press.p95, press.off_share, gauge.mean, gauge.off_share,
        on_depth_share(run, scenario.limits.depth_tolerance),
    )  # fmt: skip
