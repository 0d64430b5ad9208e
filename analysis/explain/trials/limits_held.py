"""Which limits a crossing keeps and which it breaks, over the whole of its ground."""

from __future__ import annotations

from typing import Any, NamedTuple

from analysis.crossing.measures import EDGES, MEASURES
from analysis.crossing.one_run import measure
from analysis.window.limits import Limit, given
from scenarios.scenario import Scenario
from sim.record import Run


class Held(NamedTuple):
    """One limit held against one crossing; value and limit in SI."""

    limit: Limit
    value: float
    asked: float

    @property
    def met(self) -> bool:
        """Whether it is met."""
        return self.value >= self.asked if self.limit.least else self.value <= self.asked

    def to_dict(self) -> dict[str, Any]:
        """JSON form."""
        form = EDGES[self.limit.unit]
        return {"limit": self.limit.key, "value": form.one(self.value), "asked": form.one(self.asked), "met": self.met}


def held(run: Run, scenario: Scenario) -> tuple[Held, ...]:
    """The limits that the scenario gives, without those on counts per km: one crossing is too little for them."""
    measures = measure(run, scenario.limits.depth_tolerance)
    found = []
    for limit, asked in given(scenario.limits):
        of = MEASURES[limit.measure]
        if limit.unit == "km":
            continue
        if of.run is not None:
            found.append(Held(limit, float(of.run(measures)), asked))
        elif of.setting is not None:
            found.append(Held(limit, float(of.of_setting(run)), asked))
    return tuple(found)


def broken(found: tuple[Held, ...]) -> frozenset[str]:
    """Names of the limits that are not met."""
    return frozenset(h.limit.name for h in found if not h.met)
