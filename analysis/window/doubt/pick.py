"""The pick where values are in doubt, by the chance that all limits are met.

The rule: the highest speed at which some pressure meets every limit with a chance of at least `confidence`; at that
speed the pressure with the highest chance; ties go to the one with most room when every value is the file's own, then
to the lower pressure. With nothing in doubt every chance is 0 or 1 and this is the rule of `analysis.window.pick`.
The highest of several chances that were found with the same few sets is a little too high: by less than the interval
that is told beside it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from analysis.parallel import Progress
from analysis.window.doubt.chance import Chance, down_from, needed, whole_grid
from analysis.window.grid import Window
from analysis.window.limits import smallest_margin
from analysis.window.pick import SAME, Nearest, Pick, choose, nearest_at, pick_at
from scenarios.scenario import Scenario


@dataclass(frozen=True, repr=False, eq=False)
class Doubt:
    """A window's chance, and what comes of it.

    known: the pick with every value as the file has it; sure: by chance, a Nearest where no setting looked at has
    `confidence` (it is then that with the highest chance); decides: whether the values were measured, so that `sure` is
    what to set.
    """

    chance: Chance
    confidence: float
    known: Pick | Nearest
    sure: Pick | Nearest
    decides: bool
    readings: int = 0  # that values were fitted to

    @property
    def outcome(self) -> Pick | Nearest:
        """What is told to be set, or that nothing is."""
        return self.sure if self.decides else self.known

    @property
    def lost(self) -> bool:
        """Whether what is in doubt costs speed, or the pick, against every value known."""
        if not isinstance(self.known, Pick):
            return False
        return isinstance(self.sure, Nearest) or self.sure.speed < self.known.speed


def in_doubt(
    scenario: Scenario,
    window: Window,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Doubt | None:
    """A window under what its file leaves in doubt; None where values are assumed and there is no pick to doubt.

    With [uncertain] every cell is looked at and the chance decides. Without it the pick is the file's own; its chance,
    and which slower speed would have `confidence`, is then told beside it.
    """
    known, confidence = choose(window), window.limits.confidence
    if scenario.uncertain is not None:
        chance = whole_grid(scenario, window, known.checks[0].seed, workers, progress)
    elif isinstance(known, Pick):
        chance = down_from(scenario, window, known, workers, progress)
    else:
        return None
    sure = choose_sure(window, chance, known)
    if scenario.uncertain is None:
        return Doubt(chance, confidence, known, sure, decides=False)
    return Doubt(chance, confidence, known, sure, decides=True, readings=scenario.uncertain.readings)


def choose_sure(window: Window, chance: Chance, known: Pick | Nearest) -> Pick | Nearest:
    """The pick by the rule at the top of this file; else the setting with the highest chance, which is not to be set.

    Where nothing is in doubt it is `known`, bit for bit.
    """
    if not chance.held.names:
        return known
    limits = window.limits
    good = np.where(chance.looked, chance.met.sum(axis=0), -1)
    enough = good >= needed(limits.confidence, chance.sets)
    if not enough.any():
        most = np.argwhere(good == good.max())
        j = int(most[:, 1].max())
    else:
        j = int(np.flatnonzero(enough.any(axis=0))[-1])
    rows = np.flatnonzero(good[:, j] == good[:, j].max())
    room = smallest_margin(window, limits)[rows, j]
    i = int(rows[np.flatnonzero(room >= room.max() - SAME)[0]])
    share = float(chance.grid[i, j])
    if enough.any():
        return replace(pick_at(window, limits, i, j, known.notes), chance=share)
    return replace(nearest_at(window, limits, i, j, known.notes), chance=share, confidence=limits.confidence)
