"""The chance that a paddock's settings meet all limits, from what its sample gave with each set of values in doubt."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import Join, in_window
from analysis.paddock.doubt.estimate import estimated
from analysis.paddock.doubt.sampled import Sampled
from analysis.paddock.table import PaddockTable
from analysis.window.doubt.chance import Chance
from analysis.window.doubt.pick import Doubt, choose_sure
from analysis.window.grid import Window
from analysis.window.limits import meets
from analysis.window.pick import Nearest, Pick
from scenarios.spec import Limits

WHOLE = 0  # number of the whole among the regions; zone k (0: the rest) is region k + 1

Values = NDArray[np.float64]


def regions_of(table: PaddockTable) -> tuple[int | None, ...]:
    """The whole and every zone, as `PaddockTable.window` takes them."""
    return (None, *range(len(table.zone_names)))


def values_of(window: Window, j: int) -> Values:
    """Measures at a speed, (pressures, measures); no on-depth share where the numbers are not to be trusted."""
    found = np.stack([window.grids[m.name][:, j, 0] for m in in_window()], axis=1)
    at = [m.name for m in in_window()].index("on_depth_share")
    found[~window.trusted()[:, j], at] = np.nan
    return found


def met_by(table: PaddockTable, window: Window, found: Values, j: int, region: int = WHOLE) -> NDArray[np.bool_]:
    """Which pressures meet all limits at speed j with which set, (sets, pressures).

    window: that of the region, with the limits; found: of `Sampled.found`, the sets that are there.
    """
    known, limits = values_of(window, j), window.limits
    column = _column(window, j)
    own, *others = (of_region(table, values, region) for values in found)
    sets = [meets(_with(column, estimated(known, own, other)), limits)[:, 0] for other in others]
    return np.array(sets, dtype=np.bool_).reshape(len(sets), table.pressures.size)


def of_region(table: PaddockTable, values: Values, region: int) -> Values:
    """What a sample says of the whole or of a zone, (pressures, measures), from its values by region.

    Means over the whole are those of the zones by the zones' areas in the paddock, of which a sample may hold other
    shares (post-stratification; Cochran, from memory).
    """
    if region != WHOLE:
        return np.asarray(values[region])
    area = np.array([np.sum(table.weight, where=table.zone == n) for n in range(len(table.zone_names))])
    there = area > 0.0
    shares = area[there] / area[there].sum()
    means = np.array([m.join in (Join.MEAN, Join.OVER_SET_DEPTH) for m in in_window()])
    found = np.array(values[WHOLE])
    found[:, means] = np.tensordot(shares, values[1:][there], axes=1)[:, means]
    return found


def _column(window: Window, j: int) -> Window:
    """A window's speed j alone."""
    heeds = {(i, 0, k): heeds for (i, n, k), heeds in window.heeds.items() if n == j}
    problems = {(i, 0, k): text for (i, n, k), text in window.problems.items() if n == j}
    return replace(
        window, speeds=window.speeds[j : j + 1], heeds=heeds, problems=problems,
        grids={name: grid[:, j : j + 1] for name, grid in window.grids.items()},
    )  # fmt: skip


def _with(column: Window, values: Values) -> Window:
    grids = {m.name: values[:, k, None, None] for k, m in enumerate(in_window())}
    return replace(column, grids={**column.grids, **grids})


def chance_of(table: PaddockTable, sampled: Sampled, limits: Limits, region: int = WHOLE) -> Chance:
    """Which sets meet all limits of the whole or of a zone, at the speeds that were looked at."""
    shape = (table.pressures.size, table.speeds.size)
    met = np.zeros((sampled.sets, *shape), dtype=np.bool_)
    looked = np.zeros(shape, dtype=np.bool_)
    window = table.window(limits, regions_of(table)[region])
    for j, found in sampled.found.items():
        looked[:, j] = True
        met[:, :, j] = met_by(table, window, found, j, region)
    return Chance(met, looked, sampled.held, sampled.values)


def in_doubt(table: PaddockTable, limits: Limits, known: Pick | Nearest) -> Doubt | None:
    """What the doubt makes of the choice for the whole paddock; None where nothing was in doubt.

    None too where the speed that is chosen now was not looked at: its limits have changed since.
    """
    sampled = table.doubt
    if sampled is None or known.j not in sampled.found:
        return None
    chance = chance_of(table, sampled, limits)
    sure = choose_sure(table.window(limits), chance, known)
    return Doubt(chance, limits.confidence, known, sure, decides=True, readings=sampled.readings)
