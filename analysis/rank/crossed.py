"""One evaluation: a scenario's own setting crossed on its grounds, the depth set again, and what is measured on it."""

from __future__ import annotations

import threading
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

import numpy as np

from analysis.crossing.measures import MEASURES
from analysis.rank.design import Values
from analysis.rank.knobs import Refused, Varied
from analysis.rows.cells import Alike
from analysis.rows.crossings import Made, cross_together
from analysis.rows.together import Asked, Row
from scenarios.scenario import Scenario
from sim.march.rows import Case

HELD = 3  # sets of grounds that are held at once


class Ranked(NamedTuple):
    """A measure that values are ranked by: its name here, its words, how it is told (`analysis.crossing.measures`)."""

    name: str
    words: str
    unit: str  # of what is told
    factor: float  # SI → that unit


RANKED = (
    Ranked("on_depth_share", "on-depth share", "points", 100.0),
    Ranked("wheel_off_share", "wheel-off share", "points", 100.0),
    Ranked("depth_sd", "scatter of the depth", "mm", 1e3),
    Ranked("pin_peak", "peak pin load", "kN", 1e-3),
    Ranked("pin_rms", "mean pin load", "kN", 1e-3),
)
"""Over all grounds: shares and scatter in the mean, the peak the highest; the mean pin load is the root mean square of
that pin that has most, which wears by what it bears all day."""


@dataclass
class Tally:
    """Sets that could not be crossed, by reason; filled from several threads."""

    reasons: Counter[str] = field(default_factory=Counter)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def add(self, reason: str) -> None:
        """Count one."""
        with self._lock:
            self.reasons[reason] += 1

    @property
    def total(self) -> int:
        """How many."""
        return self.reasons.total()


class Uncrossed(Exception):
    """A set that cannot be crossed; `str()` says why."""


@dataclass(frozen=True)
class Evaluation:
    """The function that is asked for a block of points: (m, k) → (m, len(RANKED)), NaN where it cannot be crossed."""

    varied: Varied
    seeds: tuple[int, ...]
    tally: Tally

    def __call__(self, points: Values) -> Values:
        """Cross every point of a block, eight rows of any of them in a march; grounds that two share are laid once."""
        alike = Alike(self.seeds)
        found = np.full((len(points), len(RANKED)), np.nan)
        asked: dict[int, Asked] = {}
        for row, point in enumerate(points):
            try:
                scenario = self.varied.at(point)
            except Refused:
                self.tally.add("refused by the file's checks")
                continue
            grounds = alike.of(scenario)
            settings = replace(scenario.settings, setting="redone")
            asked[row] = Asked(scenario, grounds, [Row(k, Case(k, settings)) for k in range(len(grounds))])
            if len({id(one.laid) for one in asked.values()}) == HELD:
                self._cross(asked, found)
                asked.clear()
        self._cross(asked, found)
        return found

    def _cross(self, asked: dict[int, Asked], found: Values) -> None:
        """Cross what is asked for, by the numbers of its points, into `found`."""
        for row, crossed in zip(asked, cross_together(list(asked.values()), 1), strict=True):
            try:
                found[row] = measured(asked[row].scenario, crossed.values())
            except Uncrossed as error:
                self.tally.add(str(error))


def measured(scenario: Scenario, rows: Iterable[Made | str]) -> Values:
    """RANKED of a scenario's own setting from its rows over all grounds, (len(RANKED),). Raises Uncrossed."""
    settings = replace(scenario.settings, setting="redone")
    made = []
    for one in rows:
        if isinstance(one, str):
            raise Uncrossed(reason(one))
        if not one.measure(MEASURES["reached"]):
            raise Uncrossed("the set depth is not reached")
        if any(heed.barred for heed in one.heeds(scenario, settings)):
            raise Uncrossed("numbers of the crossing are not to be trusted")
        made.append(one)
    return np.array([_shares(made, "on_depth_share"), _shares(made, "wheel_off_share"), _shares(made, "error_sd"),
                     max(one.measure(MEASURES["pin_peak"]) for one in made), _pin_rms(made)])  # fmt: skip


def _shares(made: Sequence[Made], name: str) -> float:
    return float(np.mean([one.measure(MEASURES[name]) for one in made]))


def _pin_rms(made: Sequence[Made]) -> float:
    return float(np.sqrt(np.mean([one.value("pin_square_mean") for one in made], axis=0)).max())


def reason(text: str) -> str:
    """Why a crossing fails, without its figures, so that like goes with like."""
    if "cannot be set" in text:
        return "the depth cannot be set"
    if "change point" in text:
        return "the depth linkage comes near a change point"
    head = text.split(":", maxsplit=1)[0]
    return "".join("#" if c.isdigit() else c for c in head)[:80]
