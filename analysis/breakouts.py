"""Breakouts: a stone pushes the unit up until it digs less than half the set depth or the arm passes an angle."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from analysis.loads import worst_pin
from analysis.spans import ROUNDING, bridged, spacing, stretches
from sim.record import Run
from sim.unit import ATMOSPHERE

ARM_ANGLE = math.radians(15.0)  # rise of the arm over its nominal angle that counts as a breakout (assumed)
AFTER = 0.30  # what happens this far behind the last contact still counts as the stone's doing [m] (assumed)


@dataclass(frozen=True)
class Breakout:
    """One breakout; positions and lengths [m]."""

    position: float  # ground position of the disc at the first contact
    rise: float  # greatest height of the disc's lowest point over set depth, from the ground without the stone
    regain: float | None  # travel from the first contact until depth is back within the tolerance; None: never
    disc_peak: float  # largest force of the stone on the disc [N]
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
    touching = run.series["rock_force"] > 0.0
    if not touching.any():
        return ()
    travel = spacing(run)
    after = int(AFTER / travel + ROUNDING)
    starts, ends = bridged(*stretches(touching), travel, AFTER)
    stops = np.minimum(ends + after, touching.size)
    stone_height = _stone_height(run)
    found, i = [], 0
    while i < starts.size:
        first, stop, i = int(starts[i]), int(stops[i]), i + 1
        if not _breaks_out(run, first, stop, arm_angle):
            continue
        back = _back_at_depth(run, first, stop, tolerance)
        while i < starts.size and (back is None or starts[i] < back):
            stop, i = int(stops[i]), i + 1
            back = _back_at_depth(run, first, stop, tolerance)
        found.append(_breakout(run, first, stop, back, stone_height))
    return tuple(found)


def _breaks_out(run: Run, first: int, stop: int, arm_angle: float) -> bool:
    """Whether depth falls below half the set depth, or the arm passes its angle, between two steps."""
    depth, arm = run.series["depth"][first:stop], run.series["arm_angle"][first:stop]
    half = 0.5 * run.settings.set_depth
    high = run.unit.main_links.angle_nominal + arm_angle
    return bool((depth[0] >= half and depth.min() < half) or (arm[0] <= high and arm.max() > high))


def _back_at_depth(run: Run, first: int, stop: int, tolerance: float) -> int | None:
    """The step behind the shallowest one at which depth is within the tolerance again; None: not in this run."""
    depth = run.series["depth"]
    trough = first + int(depth[first:stop].argmin())
    back = depth[trough:] >= run.settings.set_depth - tolerance
    step = int(back.argmax())
    return trough + step if back[step] else None


def _stone_height(run: Run) -> NDArray[np.float64]:
    """Height of the stones over the ground [m] on the track's grid, 0 where there is none."""
    return np.maximum(run.track.stone_top - run.track.ground, 0.0)


def _breakout(run: Run, first: int, stop: int, back: int | None, stone_height: NDArray[np.float64]) -> Breakout:
    s, track = run.series, run.track
    last = s["depth"].size if back is None else max(stop, back + 1)
    here = slice(first, last)
    cell = (s["distance"][here] - track.x0) / track.dx
    i = cell.astype(np.intp)
    lift = stone_height[i] + (cell - i) * (stone_height[i + 1] - stone_height[i])
    pin, pin_peak = worst_pin(run, first, last)
    return Breakout(
        position=float(s["distance"][first]),
        rise=float((run.settings.set_depth - s["depth"][here] + lift).max()),
        regain=None if back is None else (back - first) * spacing(run),
        disc_peak=float(s["rock_force"][here].max()),
        pin=pin,
        pin_peak=pin_peak,
        pressure_max=float(s["oil_pressure"][here].max()) - ATMOSPHERE,
        first=first,
        last=last,
    )
