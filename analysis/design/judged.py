"""One design judged: crossed on its grounds at its own setting, what it is worth, and by how much it fails a limit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from analysis.crossing.measures import MEASURES, in_window
from analysis.design.free import Space
from analysis.parallel import Progress, run_together
from analysis.rank.crossed import Uncrossed, reason
from analysis.rank.design import Values
from analysis.rank.knobs import Refused
from analysis.rows.cells import Crossing, Laid, lay
from analysis.rows.crossings import Made, cross_together
from analysis.rows.together import Asked, Row
from analysis.window.cross_grid import assemble
from analysis.window.limits import checks, choosable, hindrance, smallest_margin
from scenarios.doubt.varied import lie_alike
from scenarios.scenario import Scenario
from sim.hydraulics.working import keeps
from sim.march.rows import Case

UNCROSSED, BARRED = 10.0, 5.0  # how far those fail that cannot be crossed, or chosen: more than any share of a limit
UNCHECKED = float("nan")
PART = 8  # designs that are judged together: on three grounds they fill three marches


class Worth(NamedTuple):
    """What a design is worth: hectares an hour, on-depth share of the worst ground, mean load of the pin with most [N]
    (root mean square over all grounds); its peak [N]; wheel-off share of the worst ground; mean load on the press wheel
    [N], which no limit holds.
    """

    hectares: float
    on_depth: float
    pin: float
    pin_peak: float
    wheel_off: float
    press: float


@dataclass(frozen=True, eq=False)
class Judged:
    """A point and what came of it. short: by how much it fails, 0 where it meets every limit; why: what it fails."""

    point: Values
    worth: Worth | None  # None: could not be crossed
    short: float
    why: str = ""

    @property
    def meets(self) -> bool:
        """Whether every limit is met."""
        return self.worth is not None and self.short == 0.0

    @property
    def aims(self) -> Values:
        """What is made small, (3,): each hectares, on-depth share with a minus, and the load."""
        assert self.worth is not None
        return np.array([-self.worth.hectares, -self.worth.on_depth, self.worth.pin])


@dataclass(frozen=True, eq=False)
class Judge:
    """Judges points of a space on some grounds."""

    space: Space
    laid: tuple[Laid, ...]

    @classmethod
    def on(cls, space: Space, seeds: Sequence[int]) -> Judge:
        """On grounds of the scenario by their numbers."""
        return cls(space, lay(space.scenario, tuple(seeds)))

    def all(
        self, points: Sequence[Values], workers: int | None, progress: Progress | None = None
    ) -> list[Judged]:  # fmt: skip
        """Points judged, in their order; the same for any number of workers. progress(points, all), nearly.

        Those at like speeds go together, the slowest first, which take longest. Raises KeyboardInterrupt.
        """
        order = sorted(range(len(points)), key=lambda i: self.space.speed(points[i]))
        found = dict(
            zip(order, run_together(self.together, [points[i] for i in order], PART, workers, progress), strict=True)
        )
        return [found[i] for i in range(len(points))]

    def one(self, point: Values) -> Judged:
        """One point."""
        return self.together([point])[0]

    def together(self, points: list[Values]) -> list[Judged]:
        """A few points, whose rows share marches; each is judged as it is alone, bit for bit."""
        found: dict[int, Judged] = {}
        asked: dict[int, Asked] = {}
        for i, point in enumerate(points):
            try:
                asked[i] = self._asked(self.space.at(point))
            except Refused as error:
                found[i] = Judged(point, None, UNCROSSED, f"refused: {error}")
            except Uncrossed as error:
                found[i] = Judged(point, None, UNCROSSED, str(error))
        for i, crossed in zip(asked, cross_together(list(asked.values()), 1), strict=True):
            try:
                found[i] = self._judged(points[i], asked[i], crossed.values())
            except Uncrossed as error:
                found[i] = Judged(points[i], None, UNCROSSED, str(error))
        return [found[i] for i in range(len(points))]

    def _asked(self, scenario: Scenario) -> Asked:
        """What is to be crossed. Raises Uncrossed for what is known before any crossing."""
        settings = scenario.settings
        if not keeps(scenario.limits.gas_rule, scenario.unit, settings):
            raise Uncrossed("the precharge rule (precharge_share_max, gas_squeeze_max)")
        seeds = tuple(ground.seed for ground in self.laid)
        laid = self.laid if lie_alike(self.space.scenario, scenario) else lay(scenario, seeds)
        return Asked(scenario, laid, [Row(k, Case(k, settings)) for k in range(len(laid))])

    def _judged(self, point: Values, asked: Asked, rows: Iterable[Made | str]) -> Judged:
        """What came of a point. Raises Uncrossed."""
        scenario, laid, settings = asked.scenario, tuple(asked.laid), asked.scenario.settings
        made: list[Made] = []
        for one in rows:
            if isinstance(one, str):
                raise Uncrossed(reason(one))
            made.append(one)
        results = {}
        for k, one in enumerate(made):
            values = {m.name: UNCHECKED if m.unchanged else one.measure(m) for m in in_window()}
            results[0, 0, k] = Crossing(values, heeds=one.heeds(scenario, settings))
        p, v = np.array([settings.oil_pressure]), np.array([settings.speed])
        window = assemble(scenario, p, v, laid, results, told=False)
        short, why = 0.0, ""
        if not choosable(window, window.limits)[0, 0]:
            short, why = BARRED, hindrance(window, window.limits, 0, 0)
        elif (room := float(smallest_margin(window, window.limits)[0, 0])) < 0.0:
            short, why = -room, checks(window, window.limits, 0, 0)[0].sentence()
        squares = np.mean([one.value("pin_square_mean") for one in made], axis=0)
        worth = Worth(
            scenario.machine.hectares_per_hour(settings.speed),
            float(window.grids["on_depth_share"].min()),
            float(np.sqrt(squares.max())),
            float(window.grids["pin_peak"].max()),
            float(window.grids["wheel_off_share"].max()),
            float(np.mean([one.measure(MEASURES["press_load_mean"]) for one in made])),
        )
        return Judged(point, worth, short, why)
