"""What would help where no setting meets every limit: from the cells around the nearest one."""

from __future__ import annotations

import math

import numpy as np

from analysis.present.edge import bar, kmh
from analysis.present.sentences import capital, sentence, setting
from analysis.window.grid import Window
from analysis.window.limits import (
    Check,
    apart,
    asked_text,
    checks,
    choosable,
    differing,
    eased_text,
    ground_notes,
    lifting,
    margins,
    worst,
)
from analysis.window.pick import Nearest
from analysis.window.told.gas_words import gas_fails, gas_help
from scenarios.spec import Limits

NOISE = 1e-3  # margins that differ by less do not show a trend
LOOK = (
    "Look at the ground where the warning says: an edge that no wheel rolls over, or a slip in a measured profile? "
    "Search again without it."
)
_WAYS = (("slower", 0, -1), ("faster", 0, 1), ("lower pressure", -1, 0), ("higher pressure", 1, 0))


def helps(window: Window, nearest: Nearest) -> tuple[str, ...]:
    """Sentences: neighbouring settings that help the limit that fails worst, edges worth passing, limits to loosen.

    Where the nearest setting cannot be chosen for another reason than its limits: of a wheel pressed beyond its law
    what to look at, of a toolbar that would be lifted how much heavier it has to be, else none.
    """
    limits, i, j, failing = window.limits, nearest.i, nearest.j, list(nearest.failing)
    if any(heed.barred and heed.kind.endswith("_lost") for heed in nearest.heeds):
        return (LOOK,)
    if nearest.hindrance and lifting(window)[i]:
        return (_heavier(window, i),)
    if nearest.hindrance or not failing:
        return ()
    said = [sentence(note) for note in ground_notes(window, limits)]
    for way, di, dj in _WAYS:
        said.append(_neighbour(window, limits, (i, j), (i + di, j + dj), way, failing[0]))
        said.append(_edge(window, limits, (i, j), (di, dj), way, failing[0]))
    said = [text for text in (gas_help(window, nearest), *said) if text]
    said += [_lone(window, limits, check) for check in failing if check.limit.unit != "km" or not said]
    if not gas_fails(nearest):  # what a vessel bears is not eased to meet a limit
        said.append(_ease(window, i, j, failing))
    return tuple(text for text in said if text)


def _heavier(window: Window, i: int) -> str:
    """What it takes to hold the rows down at the pressure with number i."""
    assert window.held_down is not None  # something is lifted
    share = math.ceil(float(window.downforce[i]) / window.held_down * 100.0) / 100.0
    return (
        f"It takes a toolbar {share:g} times as heavy (mass_kg in [unit.toolbar]), fewer rows (rows in [machine]), or "
        f"less oil pressure than the {bar(window.pressures[i]):.4g} bar where the search begins."
    )


def _place(window: Window, i: int, j: int) -> str:
    """A setting in words."""
    return setting(window.pressures[i], window.speeds[j])


def _inside(window: Window, i: int, j: int) -> bool:
    return 0 <= i < window.pressures.size and 0 <= j < window.speeds.size


def _neighbour(
    window: Window, limits: Limits, here: tuple[int, int], there: tuple[int, int], way: str, check: Check
) -> str:
    """A step to a neighbour that helps the failing limit, and what stands against it there."""
    if not _inside(window, *there) or not choosable(window, limits)[there]:
        return ""
    room = margins(window, limits)[check.limit.name]
    if not room[there] > room[here] + NOISE:
        return ""
    values = worst(window, check.limit)
    before, after = differing(float(values[here]), float(values[there]), check.limit.unit)
    against = [other for other in checks(window, limits, *there) if not other.met]
    but = f", but there {against[0].sentence()}" if against else ""
    return f"{way.capitalize()} ({_place(window, *there)}): {check.limit.words} from {before} to {after}{but}."


def _edge(window: Window, limits: Limits, here: tuple[int, int], way: tuple[int, int], name: str, check: Check) -> str:
    """Where the nearest setting lies at the edge of the search and the failing limit still improves towards it."""
    beyond = (here[0] + way[0], here[1] + way[1])
    inward = (here[0] - way[0], here[1] - way[1])
    if _inside(window, *beyond) or not _inside(window, *inward):
        return ""
    room = margins(window, limits)[check.limit.name]
    if not (math.isfinite(room[inward]) and room[here] > room[inward] + NOISE):
        return ""
    edge = f"{kmh(window.speeds[here[1]]):.4g} km/h" if way[1] else f"{bar(window.pressures[here[0]]):.4g} bar"
    return f"{name.capitalize()} than {edge}, where the search ends: {check.limit.words} still improves that way."


def _lone(window: Window, limits: Limits, check: Check) -> str:
    """Where a failing limit is met at all, whatever the others do; or that it is met nowhere."""
    room = np.where(choosable(window, limits), margins(window, limits)[check.limit.name], -np.inf)
    kind = capital(asked_text(check.limit, check.asked))
    if not (room >= 0.0).any():
        i, j = divmod(int(room.argmax()), room.shape[1])
        best, _ = apart(float(worst(window, check.limit)[i, j]), check.asked, check.limit.unit)
        return f"{kind} is met nowhere in this search; best is {best} ({_place(window, i, j)})."
    i, j = (int(n) for n in max(np.argwhere(room >= 0.0), key=lambda cell: (cell[1], room[tuple(cell)])))
    other = [c for c in checks(window, limits, i, j) if not c.met]
    against = f", but there {other[0].sentence()}" if other else ""
    return f"{kind} is met up to {kmh(window.speeds[j]):.4g} km/h ({_place(window, i, j)}){against}."


def _ease(window: Window, i: int, j: int, failing: list[Check]) -> str:
    """What the limits would have to be for the nearest setting to meet them."""
    eased = [f"{c.limit.words} {eased_text(c.value, c.limit)}" for c in failing if math.isfinite(c.value)]
    return f"{_place(window, i, j)} would do if the limits were: {', '.join(eased)}." if eased else ""
