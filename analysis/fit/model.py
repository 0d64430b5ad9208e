"""From a vector of unknowns to what the readings should be: crossings and statics of a trial, on the same grounds.

Everything that a trial needs is one object here, `Model`, whose `predict` is a plain function of x; several trials run
side by side on threads, and no number depends on how many.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from analysis.fit.expected.crossed import Cell, Grounds, Wanted, cross, grounds_of
from analysis.fit.expected.of_depth import MeanDepth, ScatterOfDepth
from analysis.fit.expected.of_length import MeanLoad, Pull, ScatterOfLoad, WheelOff
from analysis.fit.expected.of_standing import Scale, cone_parts, scale_load
from analysis.fit.expected.statistic import Statistic
from analysis.fit.expected.texture import Texture, texture
from analysis.fit.expected.view import View
from analysis.fit.reading.groups import Group, groups_of
from analysis.fit.reading.readings import Reading
from analysis.fit.unknowns import Trial, Unknowns, unknowns
from analysis.parallel import counted, run_together
from analysis.rows.cells import Laid
from scenarios.doubt.varied import lie_alike
from scenarios.scenario import Scenario
from sim.errors import SimulationError

Vector = NDArray[np.float64]

PART = 4  # trials that are crossed together
KEPT = 8  # sets of grounds that are kept, the last ones
FEW = 3  # digs from which their scatter counts

_OF_LENGTH: dict[str, type[Statistic]] = {
    "wheel_off_share": WheelOff, "gauge_load_N": MeanLoad, "gauge_load_cv": ScatterOfLoad, "draught_N": Pull,
}  # fmt: skip


def statistics_of(groups: Sequence[Group]) -> tuple[Statistic, ...]:
    """What stands for groups of readings, in their order."""
    found: list[Statistic] = []
    for group in groups:
        if group.kind.name == "depth_mm":
            found.append(MeanDepth(group))
            if group.freedom >= FEW:
                found.append(ScatterOfDepth(group))
        elif group.kind.name == "penetrometer_MPa":
            found += cone_parts(group)
        elif group.kind.name == "scale_kg":
            found.append(Scale(group))
        else:
            found.append(_OF_LENGTH[group.kind.name](group))
    return tuple(found)


@dataclass(frozen=True, eq=False)
class Model:
    """Readings with all that predicts them."""

    unknowns: Unknowns
    statistics: tuple[Statistic, ...]
    grounds: Grounds
    workers: int | None = None
    tell: Callable[[int], None] = field(default=lambda count: None)  # trials made, as they are made
    _laid: list[tuple[Scenario, tuple[Laid, ...]]] = field(default_factory=list)
    _lock: threading.Lock = field(default_factory=threading.Lock)
    _seen: dict[bytes, View | None] = field(default_factory=dict)  # trials crossed; None: cannot be

    @property
    def cells(self) -> tuple[Cell, ...]:
        """What is crossed."""
        return tuple(dict.fromkeys(s.group.cell for s in self.statistics if s.group.cell is not None))

    @property
    def observed(self) -> Vector:
        """The readings' numbers, (statistics,)."""
        return np.array([s.observed for s in self.statistics])

    def view(self, x: Vector, grounds: Grounds | None = None) -> View:
        """A trial crossed, on other grounds than the model's where they are given. Raises SimulationError."""
        (made,) = self._views([x], grounds)
        if isinstance(made, SimulationError):
            raise made
        return made

    def _views(self, xs: Sequence[Vector], grounds: Grounds | None = None) -> list[View | SimulationError]:
        """A few trials, whose rows share marches; an error for one that cannot be crossed."""
        made: list[View | SimulationError] = []
        wanted: list[Wanted] = []
        for x in xs:
            try:
                one = self._wanted(self.unknowns.trial(x), grounds)
                weighed = dict.fromkeys(s.weighed for s in self.statistics if isinstance(s, Scale))
                loads = {place: scale_load(one.trial, place) for place in weighed}
            except SimulationError as error:
                made.append(error)
            else:
                wanted.append(one)
                made.append(View(one.trial, {}, {}, self.grounds.metres(one.trial.scenario), loads))
        crossed = iter(cross(wanted))
        for i, view in enumerate(made):
            if isinstance(view, View):
                found = next(crossed)
                made[i] = found if isinstance(found, SimulationError) else replace(view, crossed=found)
        return made

    def _wanted(self, trial: Trial, grounds: Grounds | None) -> Wanted:
        cells = self.cells
        pulled = frozenset(s.group.cell for s in self.statistics if isinstance(s, Pull) and s.group.cell is not None)
        laid: tuple[Laid, ...] = ()
        if cells:
            laid = self.laid(trial.scenario) if grounds is None else grounds.lay(trial.scenario)
        return Wanted(trial, cells, laid, pulled)

    def laid(self, scenario: Scenario) -> tuple[Laid, ...]:
        """Grounds under a trial's values; those that were laid before where they are the same."""
        with self._lock:
            for known, laid in self._laid:
                if lie_alike(known, scenario):
                    return laid
        made = self.grounds.lay(scenario)
        with self._lock:
            self._laid.append((scenario, made))
            del self._laid[:-KEPT]
        return made

    def textured(self, x: Vector) -> View:
        """A trial crossed on wider grounds, with the texture of every cell. Raises SimulationError."""
        seen = self.view(x, self.grounds.wider)
        laid = self.laid(seen.trial.scenario)[:2] if seen.crossed else ()
        dug = dict.fromkeys(s.group.cell for s in self.statistics if s.group.kind.name == "depth_mm")
        textures: dict[Cell, Texture] = {}
        for cell in dug:
            if cell is not None:
                textures[cell] = texture(seen.trial, cell, laid)
        return replace(seen, textures=textures)

    def predictions(self, seen: View, like: View) -> Vector:
        """What the readings' numbers should be, (statistics,); textures are those of `like`."""
        whole = replace(seen, textures=like.textures)
        return np.array([s.predict(whole) for s in self.statistics])

    def views(self, xs: Sequence[Vector]) -> list[View | None]:
        """Several trials crossed, remembered; None where one cannot be."""

        def together(some: list[Vector]) -> list[View | None]:
            return [view if isinstance(view, View) else None for view in self._views(some)]

        new = {x.tobytes(): x for x in xs if x.tobytes() not in self._seen}
        made = run_together(together, list(new.values()), PART, self.workers, counted(self.tell))
        self._seen.update(zip(new, made, strict=True))
        return [self._seen[x.tobytes()] for x in xs]

    def predict_all(self, xs: Sequence[Vector], like: View) -> list[Vector | None]:
        """Predictions of several vectors; None where a crossing of one cannot be made."""
        return [None if seen is None else self.predictions(seen, like) for seen in self.views(xs)]


def model_of(
    scenario: Scenario,
    readings: Sequence[Reading],
    workers: int | None = None,
    tell: Callable[[int], None] | None = None,
    grounds: Grounds | None = None,
) -> Model:
    """The model of readings. Raises ScenarioError where the unit's depth linkage cannot be set."""
    held = tuple(dict.fromkeys(r.held for r in readings if r.kind.crosses))
    cone = any(r.what == "penetrometer_MPa" for r in readings)
    statistics = statistics_of(groups_of(readings))
    found = unknowns(scenario, held, cone)
    return Model(found, statistics, grounds or grounds_of(scenario), workers, tell or (lambda count: None))
