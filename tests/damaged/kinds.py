"""All kinds of cases, and how often each is made."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from .case import Case
from .lines import line_case
from .sheets import sheet_case
from .texts import extreme_case, paddock_case, scenario_case

KINDS: dict[str, tuple[float, Callable[[np.random.Generator], Case]]] = {
    "scenario": (0.35, scenario_case),
    "extreme": (0.15, extreme_case),
    "paddock": (0.1, paddock_case),
    "sheet": (0.2, sheet_case),
    "line": (0.2, line_case),
}


def make(seed: int, number: int, kinds: tuple[str, ...] = ()) -> Case:
    """Case `number` of a seed: the same whenever and wherever it is made."""
    rng = np.random.default_rng([seed, number])
    names = [name for name in KINDS if not kinds or name in kinds]
    weights = np.array([KINDS[name][0] for name in names])
    return KINDS[names[int(rng.choice(len(names), p=weights / weights.sum()))]][1](rng)
