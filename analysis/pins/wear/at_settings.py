"""The same pins at other pressures, speeds and on rougher ground: what a setting costs in wear."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.parallel import Progress
from analysis.pins.bush.bushes import bush_duties
from analysis.pins.bush.couples import COUPLED
from analysis.pins.duty.settings import Setting, over_settings
from analysis.pins.duty.strikes import MOST, Spread, spread
from analysis.pins.wear.life import PinLife, pin_lives
from analysis.pins.wear.stretch import Stretch, stretch_over
from analysis.pins.wear.work import Work
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.record import Run


class Cost(NamedTuple):
    """One change, and the wear of a pin with it over that without, per hectare."""

    what: str  # "pressure", "speed" or "ground"
    ratio: float


def costs(work: Work, run: Run, life: PinLife) -> tuple[Cost, ...]:
    """What 5 bar more, 1 km/h more and ground of the next class cost a pin that wears; those that can be crossed.

    run: the first of the work's crossings, as it is.
    """
    if life.years is None:
        return ()
    told = []
    own = _worn(run, life.name)
    for what, other in work.others.items():
        try:
            told.append(Cost(what, _worn(other(), life.name) / own))
        except SimulationError:
            continue
    return tuple(told)


def _worn(run: Run, name: str) -> float:
    return bush_duties(run, (name,))[0].worn


class AtSetting(NamedTuple):
    """One pin at a pressure and speed; texts say why one could not be crossed."""

    peak: float  # of the pin's load [N]
    equivalent: float  # [N]
    life: PinLife
    strikes: Spread  # of stones, on that pin
    hardest: Spread  # the same on whichever pin bears most


def at_settings(
    scenario: Scenario,
    seeds: Sequence[int],
    settings: Sequence[Setting],
    name: str,
    width: float,
    hectares: float | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> list[AtSetting | str]:
    """One pin at every setting, the depth set again there, over grounds one after the other; in the settings' order.

    A text in place of it says why it could not be crossed.
    """
    found = over_settings(scenario, seeds, settings, stretch_over, workers, progress)
    return [made if isinstance(made, str) else _at(made, name, width, hectares) for made in found]


def _at(made: Stretch, name: str, width: float, hectares: float | None) -> AtSetting:
    duties = made.duties()
    life = pin_lives(made, width, hectares, duties).named(name)
    duty = next(duty for duty in duties if duty.name == name)
    return AtSetting(duty.peak, duty.equivalent, life, spread(made.strikes, name), spread(made.strikes, MOST))


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
    """Cross the file's own ground at every pressure of its search and at three of its speeds, the depth set again."""
    pressures = np.unique([*scenario.search.pressures, scenario.settings.oil_pressure])
    speeds = _few([*scenario.search.speeds, scenario.settings.speed])
    tried = [Setting(float(p), float(v)) for p in pressures for v in speeds]
    found = at_settings(scenario, (scenario.seed,), tried, name, width, hectares, workers, progress)
    nothing = (float("nan"), float("nan"))
    years = [nothing if isinstance(made, str) else made.life.years or nothing for made in found]
    ends = np.array(years).reshape(pressures.size, speeds.size, 2)
    return LifeGrid(name, pressures, speeds, ends[:, :, 0], ends[:, :, 1])


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
