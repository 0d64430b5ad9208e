"""Wheel-off episodes: stretches of row without load on the gauge wheel, each with its cause."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.crossing import events as machine
from analysis.crossing.events import EPISODE_COLUMNS, wheel_end, wheel_from, wheel_step
from analysis.crossing.spans import spacing
from sim.arithmetic.compiled import kernel
from sim.record import Run

ROCK, AT_STOP, NO_CUSHION, TOO_HARD, THROWN = "rock", "at_stop", "no_cushion", "too_hard", "thrown"
CAUSES_IN_ORDER = (ROCK, AT_STOP, NO_CUSHION, TOO_HARD, THROWN)


@dataclass(frozen=True)
class Episode:
    """One wheel-off episode; lengths [m] are travel of the toolbar's origin, contact that was bridged included."""

    start: float  # ground position of the disc at its first step [m]
    length: float
    rise: float  # greatest set depth − depth [m]
    gap: float  # greatest clearance under the gauge wheel [m]
    shallow: float  # travel with the depth above (less than) set depth − tolerance [m]
    cause: str  # one of CAUSES_IN_ORDER
    first: int  # first step, and the step after the last
    last: int


def wheel_off_episodes(run: Run, tolerance: float) -> tuple[Episode, ...]:
    """All episodes of a run in order; `tolerance` of the depth [m].

    Gauge load zero over at least 0.10 m of travel; contact over less than 0.05 m in between is bridged first. The
    cause is the first that holds: a stone in it or up to 0.30 m before, the arm at a stop, no oil left in the
    accumulator, soil too hard on average (spare load), else thrown.
    """
    if not (run.series["gauge_load"] <= 0.0).any():
        return ()
    travel = spacing(run)
    r = machine.rules(travel, tolerance, run.unit.accumulator.volume, 0.0)
    s = run.series
    events = np.empty((int(s["depth"].size / r.least) + 2, EPISODE_COLUMNS))
    count = _find(
        r, s["distance"], s["gauge_load"], s["rock_force"], s["stop_force"], s["gas_volume"], s["spare_load"],
        run.settings.set_depth, s["depth"], s["lift_off"], machine.nothing_met(1), events,
    )  # fmt: skip
    return episodes_from(events[:count], travel)


def episodes_from(events: Iterable[NDArray[np.float64]], travel: float) -> tuple[Episode, ...]:
    """Episodes from rows of the machine's table of events, at a travel per step [m]."""
    return tuple(
        Episode(
            start=float(start),
            length=float(last - first) * travel,
            rise=float(rise),
            gap=float(gap),
            shallow=float(shallow) * travel,
            cause=CAUSES_IN_ORDER[int(cause)],
            first=int(first),
            last=int(last),
        )
        for _, first, last, start, rise, gap, shallow, cause in events
    )


@kernel
def _find(r, x, load, rock, stop, volume, spare, set_depth, depth, lift, state, events):
    """Follow one run through the machine → number of events written."""
    e = wheel_from(state, 0.0)
    count = 0
    for s in range(load.size):
        if load[s] <= 0.0 or rock[s] > 0.0 or e.open > 0.5:
            e, count = wheel_step(
                e, float(s), r, 1, x[s], load[s], rock[s], stop[s], volume[s], spare[s], set_depth - depth[s], lift[s],
                events, count,
            )  # fmt: skip
    return wheel_end(e, r, 1, events, count)
