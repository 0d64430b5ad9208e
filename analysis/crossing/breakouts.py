"""Breakouts: a stone pushes the unit up until it digs less than half the set depth or the arm passes an angle."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.crossing import events as machine
from analysis.crossing.events import (
    BREAKOUT_COLUMNS,
    N_PINS,
    encounter_end,
    encounter_from,
    encounter_step,
    stone_over,
)
from analysis.crossing.loads import pin_squares
from analysis.crossing.spans import spacing
from sim.arithmetic.compiled import kernel
from sim.record import PINS, Run
from sim.track import Track
from sim.unit import ATMOSPHERE

ARM_ANGLE = math.radians(15.0)  # rise of the arm over its nominal angle that counts as a breakout (assumed)


@dataclass(frozen=True)
class Breakout:
    """One breakout; positions and lengths [m]."""

    position: float  # ground position of the disc at the first contact
    rise: float  # greatest height of the disc's lowest point over set depth, from the ground without the stone
    regain: float | None  # travel from the first contact until depth is back within the tolerance; None: never
    disc_peak: float  # largest force of the stone on the disc, between steps (`crossing.peaks`) [N]
    pin: str  # the pin that bears most
    pin_peak: float  # [N]
    pressure_max: float  # oil pressure at the accumulator, gauge [Pa]
    first: int  # step of the first contact, and the step after the last that belongs to it
    last: int


def breakouts(run: Run, tolerance: float, arm_angle: float = ARM_ANGLE) -> tuple[Breakout, ...]:
    """All breakouts of a run in order; `tolerance` of the depth and `arm_angle` over the nominal one [m, rad].

    Contacts with stones less than 0.30 m apart are one encounter. It is a breakout if, in contact or up to 0.30 m
    behind, depth falls from at least half the set depth to below it, or the arm rises past `arm_angle` over its
    nominal angle. It lasts until depth is back within the tolerance; stones met before that belong to it.
    """
    s, track = run.series, run.track
    touching = s["rock_force"] > 0.0
    if not touching.any():
        return ()
    travel = spacing(run)
    high = run.unit.main_links.angle_nominal + arm_angle
    r = machine.rules(travel, tolerance, run.unit.accumulator.volume, high)
    events = np.empty((np.count_nonzero(np.diff(touching)) + 2, BREAKOUT_COLUMNS))
    count = _find(
        r, s["distance"], s["rock_force"], s["depth"], run.settings.set_depth, s["arm_angle"], s["oil_pressure"],
        pin_squares(run).reshape(-1), stone_heights(track), track.x0, 1.0 / track.dx,
        machine.nothing_met(1), events,
    )  # fmt: skip
    return breakouts_from(events[:count], travel)


def stone_heights(track: Track) -> NDArray[np.float64]:
    """Height of the stones over the ground [m] on the track's grid, 0 where there is none."""
    return np.maximum(track.stone_top - track.ground, 0.0)


def breakouts_from(events: Iterable[NDArray[np.float64]], travel: float) -> tuple[Breakout, ...]:
    """Breakouts from rows of the machine's table of events, at a travel per step [m]."""
    return tuple(
        Breakout(
            position=float(start),
            rise=float(rise),
            regain=None if back < 0.0 else float(back - first) * travel,
            disc_peak=float(disc),
            pin=PINS[int(pin)],
            pin_peak=math.sqrt(square),
            pressure_max=float(pressure) - ATMOSPHERE,
            first=int(first),
            last=int(last),
        )
        for _, first, last, start, rise, back, disc, pressure, pin, square in events
    )


@kernel
def _find(r, x, rock, depth, set_depth, arm, pressure, squares, heights, x0, inverse_dx, state, events):
    """Follow one run through the machine → number of events written."""
    b = encounter_from(state, 0.0)
    count = 0
    n = rock.size
    for s in range(n):
        if rock[s] > 0.0 or b.phase > 0.5:
            b, count = encounter_step(
                b, float(s), r, 1, x[s], stone_over(heights, heights.size, x0, inverse_dx, x[s]), rock[s], depth[s],
                set_depth, arm[s], pressure[s], rock, s, 1, squares, s * N_PINS, N_PINS, 1, s, n - 1 - s, events,
                count,
            )  # fmt: skip
    return encounter_end(b, float(n), 1, events, count)
