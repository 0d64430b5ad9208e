"""All kinds of cases, and how often each is made."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .case import Case
from .extremes import extreme_case, paddock_extreme_case
from .lines import line_case
from .readings import readings_case
from .results import parts_case, result_case
from .sheets import plan_case, sheet_case
from .texts import paddock_case, scenario_case

KINDS: dict[str, tuple[float, Callable[[np.random.Generator], Case]]] = {
    "scenario": (0.23, scenario_case), "extreme": (0.15, extreme_case), "paddock": (0.1, paddock_case),
    "paddock-extreme": (0.05, paddock_extreme_case), "sheet": (0.12, sheet_case), "plan": (0.05, plan_case),
    "line": (0.13, line_case), "result": (0.12, result_case), "passes": (0.03, parts_case),
    "readings": (0.02, readings_case),
}  # fmt: skip
"""Word of --kinds → share of all cases, and what makes one."""


def make(seed: int, number: int, kinds: tuple[str, ...] = ()) -> Case:
    """Case `number` of a seed: the same whenever and wherever it is made."""
    rng = np.random.default_rng([seed, number])
    names = [name for name in KINDS if not kinds or name in kinds]
    weights = np.array([KINDS[name][0] for name in names])
    return KINDS[names[int(rng.choice(len(names), p=weights / weights.sum()))]][1](rng)
