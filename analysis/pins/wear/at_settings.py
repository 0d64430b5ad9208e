"""The same pins at other pressures, speeds and on rougher ground: what a setting costs in wear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.parallel import Progress, run_all
from analysis.pins.bush.bushes import BushDuty, bush_duties
from analysis.pins.bush.couples import COUPLED
from analysis.pins.wear.life import PinLife, farm, life_of
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import Run
from sim.run import simulate

MORE_PRESSURE, MORE_SPEED, ROUGHER = 5e5, 1.0 / 3.6, 4.0  # [Pa], [m/s]; of the roughness' density: one class
HIGHEST = 250e5  # oil pressure that may be set [Pa]


class Cost(NamedTuple):
    """One change, and the wear of a pin with it over that without, per hectare."""

    what: str  # "pressure", "speed" or "ground"
    ratio: float


def costs(scenario: Scenario, life: PinLife) -> tuple[Cost, ...]:
    """What 5 bar more, 1 km/h more and ground of the next class cost a pin that wears; those that can be crossed."""
    if life.years is None:
        return ()
    s = scenario.settings
    tried = {
        "pressure": replace(scenario, settings=replace(s, oil_pressure=s.oil_pressure + MORE_PRESSURE)),
        "speed": replace(scenario, settings=replace(s, speed=s.speed + MORE_SPEED)),
    }
    if s.oil_pressure + MORE_PRESSURE > HIGHEST:
        del tried["pressure"]
    if scenario.ground.roughness is not None and scenario.profile is None:
        tried["ground"] = scenario.with_roughness_scaled(ROUGHER)
    told = []
    for what, other in tried.items():
        try:
            told.append(Cost(what, _worn(other, life.name).worn / life.duty.worn))
        except SimulationError:
            continue
    return tuple(told)


def _worn(scenario: Scenario, name: str) -> BushDuty:
    return bush_duties(_crossed(scenario), (name,))[0]


def _crossed(scenario: Scenario) -> Run:
    return simulate(scenario.unit, scenario.soil, scenario.track(), scenario.settings)


@dataclass(frozen=True)
class LifeGrid:
    """Life of one pin over pressures and speeds [years], (pressures, speeds); NaN where it could not be crossed."""

    name: str
    pressures: NDArray[np.float64]  # gauge [Pa]
    speeds: NDArray[np.float64]  # [m/s]
    low: NDArray[np.float64]
    high: NDArray[np.float64]

    @property
    def middle(self) -> NDArray[np.float64]:
        """Middle of the range, by ratio."""
        return np.sqrt(self.low * self.high)


def life_grid(
    scenario: Scenario,
    name: str,
    width: float,
    hectares: float | None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> LifeGrid:
    """Cross the file's own ground at every pressure of its search and at three of its speeds."""
    pressures = np.unique([*scenario.search.pressures, scenario.settings.oil_pressure])
    speeds = _few([*scenario.search.speeds, scenario.settings.speed])
    track = scenario.track()

    def job(at: tuple[float, float]) -> tuple[float, float]:
        settings = replace(scenario.settings, oil_pressure=at[0], speed=at[1])
        try:
            run = simulate(scenario.unit, scenario.soil, track, settings)
        except SimulationError:
            return float("nan"), float("nan")
        duty = bush_duties(run, (name,))[0]
        years = life_of(duty, (duty.worn, duty.worn), farm(width, run.unit, settings, hectares), run).years
        return (float("nan"), float("nan")) if years is None else years

    jobs = [(float(p), float(v)) for p in pressures for v in speeds]
    made = np.array(run_all(job, jobs, workers, progress)).reshape(pressures.size, speeds.size, 2)
    return LifeGrid(name, pressures, speeds, made[:, :, 0], made[:, :, 1])


def _few(values: Sequence[float]) -> NDArray[np.float64]:
    """Slowest, middle and fastest of some speeds."""
    tried = np.unique(values)
    return np.unique(tried[[0, tried.size // 2, -1]])


@dataclass(frozen=True)
class SpanLine:
    """Bush pressure of the worse bush of one pin over spans; `spans` empty for a pin that carries no couple.

    low, high: all couples on the other pins of the main links, all on these.
    """

    name: str
    spans: NDArray[np.float64]  # [m]
    peak: NDArray[np.float64]  # [Pa]
    mean: NDArray[np.float64]
    low: NDArray[np.float64]  # of the mean
    high: NDArray[np.float64]
    own: float  # the pin's own span [m]


def span_line(run: Run, name: str, n: int = 25) -> SpanLine:
    """Pressures of a pin's worse bush with other spans, from one length of its bush to four times its own span."""
    pin = run.unit.pins.of(name)
    if name not in COUPLED:
        none = np.empty(0)
        return SpanLine(name, none, none, none, none, none, pin.span)
    spans = np.geomspace(pin.length, 4.0 * max(pin.span, pin.length), n)
    by_share = {
        share: [
            bush_duties(run, (name,), upper_share=share, pins={name: replace(pin, span=float(at))})[0] for at in spans
        ]
        for share in (None, 0.0, 1.0)
    }
    mean = {share: np.array([duty.pressure_mean for duty in duties]) for share, duties in by_share.items()}
    peak = np.array([duty.pressure_peak for duty in by_share[None]])
    ends = np.sort([mean[0.0], mean[1.0]], axis=0)
    return SpanLine(name, spans, peak, mean[None], ends[0], ends[1], pin.span)
