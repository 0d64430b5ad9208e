"""Everything that the first screen of a window tells, gathered from a scenario and its window."""

from __future__ import annotations

from dataclasses import dataclass, replace

from analysis.parallel import Progress
from analysis.stones.strike import StoneLoads, stone_loads
from analysis.window.doubt.pick import Doubt, in_doubt
from analysis.window.gain import Gain, gain
from analysis.window.grid import Window
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.robustness import Robustness, changes_to_try, robustness
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
    doubt: Doubt | None = None  # the chance that all limits are met; None: no pick, or not asked for

    def __repr__(self) -> str:
        return f"Advice on {self.window.scenario}\n  {self.outcome}"


def advise(
    scenario: Scenario,
    window: Window,
    workers: int | None = None,
    progress: Progress | None = None,
    *,
    sure: bool = True,
    doubted: Doubt | None = None,
    first: Advice | None = None,
) -> Advice:
    """The pick of a window and all that is told beside it.

    With [uncertain] in the file the pick is that by chance (`analysis.window.doubt.pick`; doubted: where it is known
    already). `sure` False leaves out what is told of how sure it is: the picks with single values changed, and, where
    the chance does not decide, the chance. first: what was found of the same window with `sure` False, not to be found
    again. progress(parts done, all): of all that.
    """
    doubt, parts = None, _Parts(progress)
    if doubted is not None:
        doubt = doubted
    elif sure or scenario.uncertain is not None:
        doubt = in_doubt(scenario, window, workers, parts.part(changes_to_try(scenario) if sure else 0))
    outcome = choose(window) if doubt is None else doubt.outcome
    picked = isinstance(outcome, Pick)
    found = None
    if sure and (picked or (doubt is not None and doubt.decides)):
        found = robustness(scenario, window, outcome, workers, parts.part(0))
    if first is not None and first.outcome == outcome:
        return replace(first, robustness=found, doubt=doubt)
    loads = stone_loads(scenario, outcome.oil_pressure, outcome.speed, workers)
    bought = gain(scenario, window, outcome, workers) if isinstance(outcome, Pick) else None
    return Advice(window, outcome, loads, weight(scenario, outcome.downforce), bought, found, doubt)


class _Parts:
    """Progress of one thing after another, told as progress over all."""

    def __init__(self, progress: Progress | None) -> None:
        self.progress, self.before = progress, 0

    def part(self, after: int) -> Progress | None:
        """Progress of the next; after: how much comes behind it."""
        if self.progress is None:
            return None
        told, before = self.progress, self.before

        def tell(done: int, total: int) -> None:
            self.before = before + total
            told(before + done, before + total + after)

        return tell
