"""What a sample of a paddock gave with each set of values in doubt: kept in the result, checked where it is read."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.crossing.measures import in_window
from analysis.present.edge import finite
from analysis.storage.paddock_inputs import Sizes
from analysis.storage.stored_values import Unfit, items, number, text, whole
from scenarios.doubt.belief import Belief
from scenarios.doubt.doubtful import BY_NAME

MOST_SETS, FAR = 1000, 1e18
WHERE = "inputs/doubt"
KEYS = (
    "names",
    "centre",
    "sd",
    "correlation",
    "measured",
    "readings",
    "values",
    "passes",
    "rows",
    "measures",
    "speeds",
)

Values = NDArray[np.float64]


@dataclass(frozen=True, repr=False, eq=False)
class Sampled:
    """Measures of a sample, SI units.

    values: sets drawn from what is believed, (sets, n); passes, rows: the sample, from 0; found[j]: at the speed of
    number j, (1 + sets, regions, pressures, measures): first with the file's own values, then with each set; regions:
    the whole and then the zones by number (0: the rest); measures in the order of `names_of_measures`; NaN where a row
    could not be crossed or there is nothing of a zone.
    """

    held: Belief
    readings: int
    values: Values
    passes: tuple[int, ...]
    rows: tuple[int, ...]
    found: Mapping[int, Values]

    @property
    def sets(self) -> int:
        """Number of sets."""
        return len(self.values)

    def document(self) -> dict[str, Any]:
        """For JSON; `checked_sampled` turns it round."""
        held = self.held
        return {
            "names": list(held.names), "centre": held.centre.tolist(), "sd": held.sd.tolist(),
            "correlation": held.correlation.tolist(), "measured": list(held.measured), "readings": self.readings,
            "values": self.values.tolist(), "passes": list(self.passes), "rows": list(self.rows),
            "measures": list(names_of_measures()),
            "speeds": [{"speed": j, "found": _plain(found)} for j, found in sorted(self.found.items())],
        }  # fmt: skip


def names_of_measures() -> tuple[str, ...]:
    """The measures of a window, in order."""
    return tuple(m.name for m in in_window())


def _plain(values: Values) -> Any:
    """Nested lists with None in the place of NaN."""
    if values.ndim > 1:
        return [_plain(part) for part in values]
    return [finite(float(v)) for v in values]


def checked_sampled(found: Any, sizes: Sizes, zones: int) -> Sampled:
    """From `Sampled.document` by way of JSON. Raises Unfit for the first thing that is not that of a paddock."""
    if not isinstance(found, Mapping) or set(found) != set(KEYS):
        raise Unfit(WHERE, "other groups", ", ".join(KEYS))
    names = tuple(text(one, f"{WHERE}: names", 100) for one in items(found["names"], f"{WHERE}: names", len(BY_NAME)))
    if not names or set(names) - set(BY_NAME) or len(set(names)) != len(names):
        raise Unfit(f"{WHERE}: names", "other names, none or one twice", "values in doubt")
    if tuple(items(found["measures"], f"{WHERE}: measures")) != names_of_measures():
        raise Unfit(f"{WHERE}: measures", "other measures", "those that this version keeps")
    n = len(names)
    measured = items(found["measured"], f"{WHERE}: measured", n)
    if len(measured) != n or not all(isinstance(one, bool) for one in measured):
        raise Unfit(f"{WHERE}: measured", "other than yes or no", "one for each name")
    values = items(found["values"], f"{WHERE}: values", MOST_SETS)
    held = Belief(
        names, tuple(BY_NAME[name].way for name in names), _numbers(found["centre"], "centre", (n,)),
        _numbers(found["sd"], "sd", (n,)), _numbers(found["correlation"], "correlation", (n, n)), tuple(measured),
    )  # fmt: skip
    speeds: dict[int, Values] = {}
    pressures = _pressures(sizes, found["speeds"])
    shape = (1 + len(values), 2 + zones, pressures, len(names_of_measures()))
    for one in found["speeds"]:
        j = whole(one["speed"], f"{WHERE}: speeds", 0, sizes.settings // pressures - 1)
        speeds[j] = _numbers(one["found"], "speeds", shape, gaps=True)
    return Sampled(
        held, whole(found["readings"], f"{WHERE}: readings", 0, 10**6),
        _numbers(values, "values", (len(values), n)),
        _places(found["passes"], "passes", sizes.passes), _places(found["rows"], "rows", sizes.rows), speeds,
    )  # fmt: skip


def _pressures(sizes: Sizes, speeds: Any) -> int:
    """How many pressures there are, by what stands in the first speed. Raises Unfit where it is no such list."""
    where = f"{WHERE}: speeds"
    listed = items(speeds, where)
    if not listed or not all(isinstance(one, Mapping) and set(one) == {"speed", "found"} for one in listed):
        raise Unfit(where, "other groups", "speed and found of one speed or more")
    try:
        count = len(listed[0]["found"][0][0])
    except (TypeError, IndexError, KeyError):
        count = 0
    if not count or sizes.settings % count:
        raise Unfit(where, f"{count} pressures", "those that were tried")
    return count


def _places(value: Any, what: str, count: int) -> tuple[int, ...]:
    found = [whole(one, f"{WHERE}: {what}", 0, count - 1) for one in items(value, f"{WHERE}: {what}", count)]
    if not found:
        raise Unfit(f"{WHERE}: {what}", "none", "one or more")
    return tuple(found)


def _numbers(value: Any, what: str, shape: Sequence[int], *, gaps: bool = False) -> Values:
    """Nested lists of one shape as numbers. Raises Unfit."""
    where = f"{WHERE}: {what}"
    if not shape:
        return np.array(math.nan if gaps and value is None else number(value, where, -FAR, FAR))
    listed = items(value, where)
    if len(listed) != shape[0]:
        raise Unfit(where, f"{len(listed)} of them", f"{shape[0]}")
    return np.array([_numbers(one, what, shape[1:], gaps=gaps) for one in listed]).reshape(shape)
