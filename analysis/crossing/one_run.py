"""Everything that one run is measured by, gathered once."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.crossing.breakouts import Breakout, breakouts
from analysis.crossing.depth import Causes, DepthMeasures, causes, depth_measures
from analysis.crossing.episodes import Episode, wheel_off_episodes
from analysis.crossing.loads import Gas, PinLoad, WheelLoad, gas, pin_loads, stone_peak, wheel_load
from analysis.crossing.places import Places, places
from analysis.crossing.spans import travelled
from sim.record import Run


@dataclass(frozen=True)
class RunMeasures:
    """The measures of one run, SI units, and the run itself with its series."""

    run: Run
    distance: float  # [m]
    depth: DepthMeasures
    causes: Causes
    gauge: WheelLoad
    press: WheelLoad
    rock_peak: float  # [N]
    episodes: tuple[Episode, ...]
    breakouts: tuple[Breakout, ...]
    pins: dict[str, PinLoad]
    gas: Gas
    places: Places


def measure(run: Run, tolerance: float) -> RunMeasures:
    """All measures of a run; `tolerance` of the depth [m]."""
    return RunMeasures(
        run=run,
        distance=travelled(run),
        depth=depth_measures(run, tolerance),
        causes=causes(run),
        gauge=wheel_load(run, "gauge_load"),
        press=wheel_load(run, "press_load"),
        rock_peak=stone_peak(run),
        episodes=wheel_off_episodes(run, tolerance),
        breakouts=breakouts(run, tolerance),
        pins=pin_loads(run),
        gas=gas(run),
        places=places(run, tolerance),
    )
