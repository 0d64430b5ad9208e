"""Rows of a pass crossed one by one with everything recorded: what a whole pass marches in lanes and only sums up."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from analysis.paddock.passes.crossing import rolling_bar
from scenarios.paddock.paddock import Paddock
from scenarios.paddock.rows import Lanes
from sim.record import Run
from sim.run import march_steps, simulate, start_position
from sim.step import choose_step
from sim.toolbar.path import PATH_STEP
from sim.toolbar.roll import row_paths
from sim.track import Track
from sim.unit import Settings

SLACK = 0.5  # ground that is laid beyond what the toolbar's wheels reach [m]


def row_runs(paddock: Paddock, number: int, rows: Sequence[int], settings: Settings) -> Iterator[Run]:
    """Some rows (from 0) of a pass (from 0) at one setting, carried by the machine's toolbar as in the whole pass.

    One at a time, so that never more than one is held. Raises SimulationError where a row cannot be crossed.
    """
    lanes = Lanes(paddock, number)
    first = math.floor(lanes.start / lanes.dx)
    count = math.ceil((lanes.length + lanes.ahead) / lanes.dx) + 1 - first
    rolled: NDArray[np.float64] | None = None
    for row in rows:
        laid = lanes.row_ground(first, count, [row])
        track = Track(
            first * lanes.dx, lanes.dx, laid.ground[0], laid.stone_top[0], laid.stone_id[0], laid.strength[0], 0.0,
            lanes.length, paddock.stones.contact,
        )  # fmt: skip
        if rolled is None and settings.toolbar == "carried":
            rolled = _rolled(paddock, lanes, settings, track)
        path = None if rolled is None else row_paths(rolled, lanes.rows[[row]])[0]
        yield simulate(paddock.unit, paddock.soil, track, settings, bar=path)


def _rolled(paddock: Paddock, lanes: Lanes, settings: Settings, track: Track) -> NDArray[np.float64]:
    """Motion of the toolbar over the pass, (nodes, 9); track: of any of its rows."""
    unit, dx = paddock.unit, lanes.dx
    step = choose_step(unit, paddock.soil, paddock.stones.contact, settings).seconds
    steps = march_steps(track, settings.speed, step)
    x_start = start_position(unit, 0.0)
    bar = rolling_bar(paddock, settings.speed, step, x_start)
    every = round(PATH_STEP / dx)  # so that the wheels' paths have the same points as in the whole pass
    end = x_start + (steps + 1) * settings.speed * step
    low = math.floor((x_start + bar.wheel_x.min() - bar.radius - SLACK) / PATH_STEP) * every
    high = math.ceil((end + bar.wheel_x.max() + bar.radius + SLACK) / dx)
    return bar.nodes(lanes.wheel_heights(low, high - low), low * dx, dx, 2 * steps + 1)
