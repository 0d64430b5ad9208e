"""Pressures × speeds: which meet every limit, and which to pick."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, fields
from functools import cached_property
from typing import TYPE_CHECKING, Any

from analysis.door.arrays import window_dataset
from analysis.door.ready import ready
from analysis.parallel import Progress
from analysis.window import grid
from analysis.window.advice import Advice, advise
from analysis.window.advice_document import advice_document
from analysis.window.cross_grid import search
from analysis.window.doubt.chance import Chance
from analysis.window.doubt.pick import Doubt, in_doubt
from analysis.window.doubt.words import reasons
from analysis.window.help_words import helps
from analysis.window.pick import Nearest, Pick, choose
from analysis.window.told.detail_words import detailed_text
from analysis.window.words import window_text
from scenarios import scenario as plain

if TYPE_CHECKING:
    from matplotlib.figure import Figure
    from xarray import Dataset


@dataclass(frozen=True, repr=False)
class Window(grid.Window):
    """Measures over (pressure, speed, seed), SI units: `grids[name]`, `pressures` [Pa], `speeds` [m/s], `seeds`."""

    crossed: plain.Scenario = field(kw_only=True)
    workers: int | None = field(default=None, kw_only=True, compare=False)

    def __repr__(self) -> str:
        return f"{super().__repr__()}\n  {self._outcome}"

    @cached_property
    def _doubted(self) -> Doubt | None:
        """Where values were fitted ([uncertain] in the file): the chance of every cell, which decides the pick."""
        if self.crossed.uncertain is None:
            return None
        ready(rows=True)
        return in_doubt(self.crossed, self, self.workers)

    @property
    def _outcome(self) -> Pick | Nearest:
        return self._known if self._doubted is None else self._doubted.outcome

    @cached_property
    def _known(self) -> Pick | Nearest:
        return choose(self)

    @property
    def chance(self) -> Chance | None:
        """The chance that all limits are met, as `chance.grid` over (pressures, speeds); None without a pick to doubt.

        Crosses the ground again with `draws` sets of values. Where values were fitted it decides the pick; where they
        are assumed it is looked at from the pick's speed down to the first that has `confidence`.
        """
        doubt = self._doubted or self.advice.doubt
        return None if doubt is None else doubt.chance

    @property
    def pick(self) -> Pick | None:
        """What to set: the highest speed at which some pressure meets every limit; None where none does.

        Where values were fitted ([uncertain] in the file) with a chance of at least `confidence`.
        """
        return self._outcome if isinstance(self._outcome, Pick) else None

    @property
    def nearest(self) -> Nearest | None:
        """Where no setting meets every limit: the one that fails least, not to be set; None where there is a pick."""
        return self._outcome if isinstance(self._outcome, Nearest) else None

    @property
    def why(self) -> tuple[str, ...]:
        """Sentences: what stops going faster, lower and higher from the pick; without one, what would help."""
        found = self._outcome
        return reasons(self, found, self._doubted) if isinstance(found, Pick) else helps(self, found)

    @cached_property
    def advice(self) -> Advice:
        """All that is told beside the pick: what it buys, how sure it is, stones, weight.

        Crosses the ground again with sets of values in doubt, and with each of some twenty values low and high: up to
        eight times as long as the window took, with values that were fitted up to twenty times.
        """
        ready()
        return advise(self.crossed, self, self.workers, doubted=self._doubted)

    def summary(self) -> dict[str, Any]:
        """The document that `rowbench window --json` prints (without its own times); computes `advice`."""
        return {**advice_document(self.advice), "scenario_warnings": list(self.crossed.warnings)}

    def text(self, *, details: bool = False) -> str:
        """The screen of `rowbench window`, or the whole one of `--details`; computes `advice`."""
        return (detailed_text if details else window_text)(self.advice, self.crossed)

    def figure(self) -> Figure:
        """Map of the share on depth over speed and oil pressure, with the border of every limit and the pick.

        Where values were fitted: of the chance that all limits are met.
        """
        if self._doubted is not None:
            from analysis.window.doubt.figure_chance import chance_figure  # noqa: PLC0415

            return chance_figure(self, self._doubted, self.crossed)
        from analysis.window.figure import window_figure  # noqa: PLC0415

        return window_figure(self, self._outcome, self.crossed)

    def to_xarray(self) -> Dataset:
        """Every grid over (oil_pressure_bar, speed_kmh, seed): those axes in the file's units, the measures in SI.

        Units stand in the attributes `units` after the CF conventions. Raises ImportError where xarray is not
        installed.
        """
        return window_dataset(self, self.crossed)


def window(
    scenario: plain.Scenario,
    *,
    pressures_bar: Sequence[float] | None = None,
    speeds_kmh: Sequence[float] | None = None,
    seeds: int | Sequence[int] | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Window:
    """Cross a scenario at every oil pressure [bar] and speed [km/h] on the same grounds, depth set again in each.

    What is left out is as in the file. seeds: how many grounds, counted on from the scenario's own, or which.
    workers: threads (None: one a core; the numbers are the same). progress(done, all): called after each crossing.
    A crossing that cannot be made is NaN and has its reason in `problems`. Raises ScenarioError for values that are
    not allowed, all at once.
    """
    ready(rows=True)
    made = search(scenario, pressures_bar, speeds_kmh, seeds, workers, progress)
    values = {item.name: getattr(made, item.name) for item in fields(grid.Window)}
    return Window(**values, crossed=scenario, workers=workers)
