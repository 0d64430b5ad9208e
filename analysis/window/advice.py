"""Everything that the first screen of a window tells, gathered from a scenario and its window."""

from __future__ import annotations

from dataclasses import dataclass

from analysis.parallel import Progress
from analysis.stones.strike import StoneLoads, stone_loads
from analysis.window.gain import Gain, gain
from analysis.window.grid import Window
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.robustness import Robustness, robustness
from analysis.window.weight import Weight, weight
from scenarios.scenario import Scenario


@dataclass(frozen=True, repr=False)
class Advice:
    """A window, its pick (or what comes nearest) and all that is told beside it.

    Stones and weight are those of the pick, or of the nearest setting where there is none.
    """

    window: Window
    outcome: Pick | Nearest
    stones: StoneLoads
    weight: Weight
    gain: Gain | None = None  # None: no pick
    robustness: Robustness | None = None  # None: no pick, or not asked for

    def __repr__(self) -> str:
        return f"Advice on {self.window.scenario}\n  {self.outcome}"


def advise(
    scenario: Scenario,
    window: Window,
    workers: int | None = None,
    progress: Progress | None = None,
    *,
    sure: bool = True,
) -> Advice:
    """The pick of a window and all that is told beside it.

    `sure` False leaves out the picks with values of soil and unit changed, which take up to four times a window;
    progress(done, all) counts those changes.
    """
    outcome = choose(window)
    loads = stone_loads(scenario, outcome.oil_pressure, outcome.speed, workers)
    lifted = weight(scenario, outcome.downforce)
    if isinstance(outcome, Nearest):
        return Advice(window, outcome, loads, lifted)
    return Advice(
        window,
        outcome,
        loads,
        lifted,
        gain(scenario, window, outcome, workers),
        robustness(scenario, window, outcome, workers, progress) if sure else None,
    )
