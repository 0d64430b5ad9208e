"""Which value the doubt about the pick's room goes with most, in fields drawn from what is believed."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scenarios.doubt.doubtful import DOUBTFUL, Doubtful

Vector = NDArray[np.float64]


@dataclass(frozen=True)
class Largest:
    """A value in doubt, and the share of the room's variance (of ranks) that goes with it."""

    doubtful: Doubtful
    share: float


def shares(values: Vector, room: Vector) -> Vector:
    """Share of the room's variance that goes with each value, (names,): the squared rank correlation (Spearman).

    values (fields, names), room (fields,). Of ranks, since a room falls without end where a limit is left behind. By
    chance alone a share comes to about 1/fields. Values that go together share what is common, so that the sum may
    pass 1.
    """
    if len(room) < 3 or np.ptp(room) == 0.0:
        return np.zeros(values.shape[1])
    ranks = np.argsort(np.argsort(np.column_stack([room, values]), axis=0), axis=0).astype(np.float64)
    ranks -= ranks.mean(axis=0)
    return np.asarray((ranks[:, 1:].T @ ranks[:, 0]) ** 2 / np.sum(ranks**2, axis=0)[1:] / np.sum(ranks[:, 0] ** 2))


def largest(names: tuple[str, ...], values: Vector, room: Vector) -> Largest | None:
    """The value with the largest share among those whose room is known (finite); None where there is none."""
    known = np.isfinite(room)
    if not names or known.sum() < 3:
        return None
    found = shares(values[known], room[known])
    k = int(found.argmax())
    return Largest(next(one for one in DOUBTFUL if one.name == names[k]), float(found[k]))
