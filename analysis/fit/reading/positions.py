"""Places of readings from a receiver's log: latitudes and longitudes → metres along the way from reading to reading.

Only how far readings lie apart counts (soil strength goes together over a length), so the first of a group stands at 0.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

import numpy as np

from analysis.fit.reading.readings import Reading
from scenarios.format.csv_table import Finds
from scenarios.ground.measured.fixes import NO_FIX, apart

Place = tuple[float, float]  # latitude, longitude [degrees]


def sound_place(finds: Finds, line: int, place: Place, at: float) -> bool:
    """Whether the position of a line can be used (none is fine); what is wrong with it is noted."""
    given = [not math.isnan(value) for value in place]
    if not any(given):
        return True
    if not all(given):
        finds.add(line, "one of latitude_deg and longitude_deg", "both or none", "fill the other in")
    elif math.hypot(*place) < NO_FIX:
        finds.add(line, "latitude 0, longitude 0", "the place of the reading", "no fix: leave both empty")
    elif not math.isnan(at):
        finds.add(line, "at_m beside a latitude and longitude", "one of them", "leave one out")
    else:
        return True
    return False


def along_the_way(readings: Iterable[tuple[Reading, Place]]) -> Iterator[float]:
    """Place of every reading along the way [m]: its own `at`, or summed over a sphere from the one before it of the
    same kind, pressure, speed and depth setting; NaN where nothing is said.
    """
    before: dict[tuple[object, ...], tuple[Place, float]] = {}
    for reading, place in readings:
        if math.isnan(place[0]):
            yield reading.at
            continue
        group = (reading.what, repr(reading.oil_pressure), repr(reading.speed), reading.held)
        last, gone = before.get(group, (place, 0.0))
        step = apart(*(np.array([value]) for value in (*last, *place)))
        before[group] = (place, gone + float(step[0]))
        yield before[group][1]
