"""What a stretch of row does to each pin in plane: load, cycles, sliding."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from analysis.pins.duty.gathered import STILL, Gathered, gathered, gathered_over
from analysis.pins.duty.worst import Worst, worst_of_all
from scenarios.ground.stone_field import HECTARE
from scenarios.spec import Machine
from sim.record import PINS, Run

WELDED, SMOOTH = 3.0, 5.0
"""Slopes m of N = C·R^−m: welded steel, and plain or machined steel without welds (common practice, from memory)."""


@dataclass(frozen=True)
class Duty:
    """One pin over a stretch. Loads are the size of its reaction unless said otherwise; travel is that of the row.

    Cycles are those of the load's component in the worst direction (`gathered` says which signal is counted and why).
    Pins whose parts do not turn against each other (the crank's; a depth linkage parallel to the main links) slide 0.
    """

    name: str
    peak: float  # [N]
    rms: float  # [N]
    mean: float  # [N]
    sliding: float  # mean |relative rotation rate| / speed [rad per m of travel]
    mean_load_times_sliding: float  # ∫F|dθ| per travel, what Archard's wear needs [N rad per m of travel]
    rate_rms: float  # of the relative rotation [rad/s]
    equivalent: float  # the range that once per metre of travel does the damage of all cycles [N]
    cycles_per_m: float  # cycles with a range of at least 10 N [1/m of travel]
    direction: float  # of the worst component, from the second-named part's own line, 0…π counter-clockwise [rad]
    slope: float  # m of the damage n·R^m behind `equivalent` and `direction`
    distance: float  # travel behind all this [m]


def travel_per_hectare(machine: Machine) -> float:
    """Travel of each row on a hectare that the whole machine seeds [m]: 10⁴ m² over its working width."""
    return HECTARE / machine.width


def duty(run: Run, slope: float = WELDED) -> tuple[Duty, ...]:
    """What a run does to its pins, in the order of PINS; slope m of the damage n·R^m [1]."""
    return duties(gathered(run), slope)


def duty_of(runs: Iterable[Run], slope: float = WELDED) -> tuple[Duty, ...]:
    """The same over runs that one unit makes one after the other (rows, passes, grounds)."""
    return duties(gathered_over(runs), slope)


def duties(over: Gathered, slope: float = WELDED) -> tuple[Duty, ...]:
    """What a stretch does to the pins, in the order of PINS; slope m of the damage n·R^m [1]."""
    return tuple(_duty(over, i, most, slope) for i, most in enumerate(worst_of_all(over, slope)))


def _duty(over: Gathered, i: int, most: Worst, slope: float) -> Duty:
    turns = float(over.turned[i] > STILL * over.distance)
    return Duty(
        name=PINS[i],
        peak=float(over.peak[i]),
        rms=math.sqrt(over.square[i] / over.duration),
        mean=float(over.size[i] / over.duration),
        sliding=turns * float(over.turned[i] / over.distance),
        mean_load_times_sliding=turns * float(over.worn[i] / over.distance),
        rate_rms=turns * math.sqrt(over.turned_square[i] / over.duration),
        equivalent=most.equivalent,
        cycles_per_m=most.cycles_per_m,
        direction=most.direction,
        slope=slope,
        distance=over.distance,
    )
