"""Why a pick and not its neighbours: sentences made from the numbers of the window."""

from __future__ import annotations

import numpy as np

from analysis.present.edge import bar, kmh
from analysis.window.grid import Window
from analysis.window.limits import checks, choosable, meets, smallest_margin, stops
from analysis.window.pick import Pick
from scenarios.spec import Limits


def why(window: Window, pick: Pick) -> tuple[str, ...]:
    """Three sentences: which limit of the window binds going faster, going lower in pressure, going higher."""
    limits, i, j = window.limits, pick.i, pick.j
    return (_faster(window, limits, i, j), _sideways(window, limits, i, j, -1), _sideways(window, limits, i, j, 1))


def _faster(window: Window, limits: Limits, i: int, j: int) -> str:
    """What stops the next higher speed: at the picked pressure, and at the one that comes nearest there."""
    if j + 1 == window.speeds.size:
        return f"Faster: {kmh(window.speeds[j]):g} km/h is the fastest speed tried; faster was not looked at."
    start = f"Faster: at {kmh(window.speeds[j + 1]):g} km/h and {_at(window, limits, i, j + 1)}"
    if window.pressures.size == 1:
        return f"{start}."
    able = choosable(window, limits)[:, j + 1]
    best = int(np.where(able, smallest_margin(window, limits)[:, j + 1], -np.inf).argmax())
    if not able.any() or best == i:
        return f"{start}; no other pressure tried comes nearer to meeting every limit."
    return f"{start}; no other pressure tried meets every limit there, nearest is {_at(window, limits, best, j + 1)}."


def _at(window: Window, limits: Limits, i: int, j: int) -> str:
    """A pressure and what keeps it from being chosen."""
    return f"{bar(window.pressures[i]):g} bar, {stops(window, limits, i, j)}"


def _sideways(window: Window, limits: Limits, i: int, j: int, step: int) -> str:
    """What stops the pressures below (step −1) or above (step 1) at the same speed."""
    way, end = ("Lower", "lowest") if step < 0 else ("Higher", "highest")
    rows = range(i + step, -1 if step < 0 else window.pressures.size, step)
    if not rows:
        return f"{way}: {bar(window.pressures[i]):g} bar is the {end} pressure tried; beyond was not looked at."
    met = meets(window, limits)[:, j]
    said = []
    if met[i + step]:
        here, there = checks(window, limits, i, j)[0], checks(window, limits, i + step, j)[0]
        same = "no more" if there.margin >= here.margin else "less"
        said.append(
            f"{bar(window.pressures[i + step]):g} bar meets every limit too, with {same} room: {there.sentence()}, "
            f"{_percent(there.margin)} of the limit in hand against {_percent(here.margin)} at "
            f"{bar(window.pressures[i]):g} bar"
        )
    fails = next((row for row in rows if not met[row]), None)
    if fails is not None:
        said.append(f"at {_at(window, limits, fails, j)}")
    else:
        said.append(f"all pressures tried up to the {end} meet every limit")
    return f"{way}: {'; '.join(said)}."


def _percent(share: float) -> str:
    return f"{share * 100:.2g} %"
