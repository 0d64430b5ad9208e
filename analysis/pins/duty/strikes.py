"""Peaks of the pins' loads each time that the disc strikes a stone."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.events import AFTER
from analysis.crossing.peaks import BESIDE, peaks
from analysis.crossing.spans import spacing, travelled
from sim.record import PINS, Run


@dataclass(frozen=True, eq=False, repr=False)
class Strikes:
    """What the stones of a stretch do, in order of distance; pins in the order of PINS."""

    pins: NDArray[np.float64]  # largest load, between steps too (`analysis.crossing.peaks`), (strikes, 14) [N]
    disc: NDArray[np.float64]  # largest force of the stone on the disc, (strikes,) [N]
    stones: int  # on the stretch, those among them that the disc passes over
    distance: float  # [m]

    def of(self, pin: str) -> NDArray[np.float64]:
        """Peaks of one pin, (strikes,) [N]; "most loaded": of whichever pin bears most."""
        return self.pins.max(axis=1, initial=0.0) if pin == MOST else self.pins[:, PINS.index(pin)]


MOST = "most loaded"


class Spread(NamedTuple):
    """How the peaks of a pin spread over the strikes of a stretch [N]; NaN without any."""

    strikes: int
    middle: float  # half of the strikes stay below it
    tenth: float  # one strike in ten passes it
    highest: float


def spread(found: Strikes, pin: str) -> Spread:
    """Peaks of a pin, or of `MOST`, over all strikes."""
    values = found.of(pin)
    if not values.size:
        return Spread(0, math.nan, math.nan, math.nan)
    middle, tenth = np.percentile(values, (50.0, 90.0))
    return Spread(values.size, float(middle), float(tenth), float(values.max()))


def strikes(run: Run) -> Strikes:
    """Contacts with stones less than 0.30 m apart are one strike, which lasts until 0.30 m behind the last of them, as
    in `analysis.crossing.breakouts`.
    """
    touching = np.flatnonzero(run.series["rock_force"] > 0.0)
    after = int(AFTER / spacing(run) + 1e-9)
    begins = np.flatnonzero(np.diff(touching, prepend=-after - 2) > after)
    first = touching[begins]
    last = touching[np.append(begins[1:], touching.size) - 1] if touching.size else touching
    ends = np.minimum(last + after + 1, np.append(first[1:], run.series["rock_force"].size)[: first.size])
    force = run.series["rock_force"][:, None]
    pins = [np.sqrt(_highest(run, a, b)) for a, b in zip(first.tolist(), ends.tolist(), strict=True)]
    disc = [peaks(force, a, b)[0] for a, b in zip(first, ends, strict=True)]
    track = run.track
    inside = slice(round((track.x_from - track.x0) / track.dx), round((track.x_to - track.x0) / track.dx) + 1)
    number = track.stone_id[inside]
    stones = np.unique(number[number >= 0]).size if number.max(initial=-1) >= 0 else 0
    return Strikes(np.reshape(pins, (-1, len(PINS))), np.array(disc), stones, travelled(run))


def _highest(run: Run, first: int, last: int) -> NDArray[np.float64]:
    """Largest square of every pin's load from a step to another, which is not in it, (14,) [N²]."""
    low = max(first - BESIDE, 0)
    loads = run.pins[low : last + BESIDE]
    return peaks(loads[:, :, 0] ** 2 + loads[:, :, 1] ** 2, first - low, last - low)


def joined(found: Iterable[Strikes]) -> Strikes:
    """Strikes of stretches one after the other."""
    told = list(found)
    return Strikes(
        np.concatenate([one.pins for one in told]),
        np.concatenate([one.disc for one in told]),
        sum(one.stones for one in told),
        sum(one.distance for one in told),
    )


def strikes_over(runs: Iterable[Run]) -> Strikes:
    """The strikes of runs one after the other; taken one at a time."""
    return joined(strikes(run) for run in runs)
