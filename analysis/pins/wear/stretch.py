"""A stretch of row and what its pins and bushes go through, in sums that join.

Runs of several grounds, or of rows and passes of a paddock, follow one another; only sums are kept of them, so that
never more than one run is held at once. Cycles are counted on from run to run as in one history.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import reduce

import numpy as np
from numpy.typing import NDArray

from analysis.pins.bush import bush_sums
from analysis.pins.bush.bush_sums import MAIN, BushSums, balances, rates_of, reduced
from analysis.pins.bush.bushes import BushDuty, Travel, bushes_told
from analysis.pins.bush.couples import COUPLED
from analysis.pins.duty import gathered as gathering
from analysis.pins.duty.duty import Duty, duties
from analysis.pins.duty.gathered import STILL, Gathered, gathered
from analysis.pins.duty.strikes import Strikes, strikes
from analysis.pins.duty.strikes import joined as strikes_joined
from sim.record import PINS, Run
from sim.unit import Settings, Unit

FEWEST = 3  # runs of which a spread is told


@dataclass(frozen=True, eq=False, repr=False)
class Stretch:
    """What one unit goes through at one setting. coupled and ends: once, or for either side of a slope down."""

    unit: Unit
    settings: Settings
    runs: int
    over: Gathered
    coupled: tuple[dict[str, BushSums], ...]  # of pins that carry couples
    ends: tuple[dict[str, NDArray[np.float64]], ...]  # of main pins: `bush_sums.Reduced`
    strikes: Strikes  # of stones
    by_run: NDArray[np.float64]  # ∫F|dθ| per travel of every pin, (runs, 14) [N rad/m]

    @property
    def travel(self) -> Travel:
        """How far and how long it is."""
        return Travel(self.over.distance, self.over.duration)

    def duties(self) -> tuple[Duty, ...]:
        """What it does to every pin, in the order of PINS."""
        return duties(self.over)

    def bushes(self, alone: tuple[Duty, ...]) -> tuple[BushDuty, ...]:
        """What it does to the bushes of every pin; alone: `duties`."""
        pins = {name: self.unit.pins.of(name) for name in PINS}
        return bushes_told(pins, dict(zip(PINS, alone, strict=True)), self.coupled, self.travel)

    def known_within(self, name: str) -> float:
        """Half the 95 % interval of the mean of a pin's wear over runs, as a share of it: as if every run were drawn by
        itself (Student's t); NaN with fewer than `FEWEST` runs, or where nothing turns.
        """
        worn = self.by_run[:, PINS.index(name)]
        if self.runs < FEWEST or worn.mean() == 0.0:
            return math.nan
        from scipy.special import stdtrit  # noqa: PLC0415 (0.1 s, for several runs only)

        return float(stdtrit(self.runs - 1, 0.975) * worn.std(ddof=1) / math.sqrt(self.runs) / worn.mean())

    def worn_range(self, name: str) -> tuple[float, ...]:
        """∫F|dθ| of a main pin's worse bush per travel with all couples on lower or upper pins [N rad/m]; else none."""
        return tuple(
            float(worse) / self.over.distance for end in self.ends if name in end for worse in end[name].max(axis=1)
        )


def stretch_of(run: Run) -> Stretch:
    """All that pins and bushes go through over a run."""
    over, held = gathered(run), balances(run)
    still = [name for name, turned in zip(PINS, over.turned, strict=True) if turned <= STILL * over.distance]
    rates = rates_of(run, still)
    bushes = [reduced(run, one, rates) for one in held]
    return Stretch(
        run.unit, run.settings, 1, over, tuple(one.pins for one in bushes), tuple(one.ends for one in bushes),
        strikes(run), over.worn[None] / over.distance,
    )  # fmt: skip


def joined(stretches: Iterable[Stretch]) -> Stretch:
    """Stretches of one unit at one setting one after the other, the first one's settings kept."""
    return reduce(_join, stretches)


def stretch_over(runs: Iterable[Run]) -> Stretch:
    """Runs one after the other; taken one at a time."""
    return joined(stretch_of(run) for run in runs)


def _join(a: Stretch, b: Stretch) -> Stretch:
    return Stretch(
        a.unit, a.settings, a.runs + b.runs, gathering.joined((a.over, b.over)),
        tuple(
            {name: bush_sums.joined((one[name], other[name])) for name in COUPLED}
            for one, other in zip(a.coupled, b.coupled, strict=True)
        ),
        tuple(
            {name: one[name] + other[name] for name in MAIN} for one, other in zip(a.ends, b.ends, strict=True)
        ),
        strikes_joined((a.strikes, b.strikes)), np.concatenate([a.by_run, b.by_run]),
    )  # fmt: skip
