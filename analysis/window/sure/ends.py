"""A scenario with one value in doubt at an end of its range, and the others where they then most likely are."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from scenarios.doubt.belief import RANGE, Belief
from scenarios.doubt.doubtful import BY_NAME
from scenarios.doubt.varied import with_values, within
from scenarios.scenario import Scenario


class End(NamedTuple):
    """One end of a range."""

    value: float  # [SI]
    scenario: Scenario
    cut: bool = False  # the key's own range ends before the value's


def ends(scenario: Scenario, held: Belief, name: str) -> tuple[End | None, End | None]:
    """The scenario with a value of `held` at the low and at the high end of what it leaves in doubt (95 %).

    None where that is the file's own value. Where values go together the others go along by their mean given this one:
    standard normal numbers z with correlations R have E[z_j | z_k = t] = R_jk t, since z_j − R_jk z_k and z_k do not
    go together. A range is cut where the key's own range ends.
    """
    return _end(scenario, held, name, -RANGE), _end(scenario, held, name, RANGE)


def _end(scenario: Scenario, held: Belief, name: str, t: float) -> End | None:
    k = held.names.index(name)
    along = held.correlation[:, k] != 0.0
    values = held.from_z(held.correlation[:, k] * t)
    asked = float(values[k])
    value = within(BY_NAME[name], asked)
    if value == held.centre[k]:
        return None
    moved = {held.names[j]: float(values[j]) for j in np.flatnonzero(along)}
    return End(value, with_values(scenario, moved), value != asked)
