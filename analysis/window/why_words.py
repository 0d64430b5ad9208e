"""Why a pick and not its neighbours: sentences made from the numbers of the window."""

from __future__ import annotations

import numpy as np

from analysis.present.edge import bar, kmh
from analysis.window.grid import Window
from analysis.window.limits import checks, choosable, hindrance, meets, smallest_margin, stops
from analysis.window.pick import Pick
from scenarios.spec import Limits


def why(window: Window, pick: Pick) -> tuple[str, ...]:
    """Three sentences: which limit of the window binds going faster, going lower in pressure, going higher."""
    limits, i, j = window.limits, pick.i, pick.j
    return (
        f"Faster: {faster(window, pick)}{_here(window, pick)}.",
        _sideways(window, limits, i, j, -1),
        _sideways(window, limits, i, j, 1),
    )


def faster(window: Window, pick: Pick) -> str:
    """What stops the next higher speed, without a word in front: at the pressure that comes nearest there."""
    limits, i, j = window.limits, pick.i, pick.j
    if window.speeds.size == 1:
        return f"only {kmh(window.speeds[j]):.4g} km/h was tried"
    if j + 1 == window.speeds.size:
        return f"{kmh(window.speeds[j]):.4g} km/h is the fastest speed tried; faster was not looked at"
    speed = f"{kmh(window.speeds[j + 1]):.4g} km/h"
    if window.pressures.size == 1:
        return f"at {speed} {_at(window, limits, i, j + 1)}"
    best = _nearest_there(window, pick)
    return f"{speed} fails at every pressure tried; nearest is {_named(window, limits, best, j + 1)}"


def _nearest_there(window: Window, pick: Pick) -> int:
    """The pressure that comes nearest at the next higher speed; the picked one where none can be chosen."""
    able = choosable(window, window.limits)[:, pick.j + 1]
    room = smallest_margin(window, window.limits)[:, pick.j + 1]
    return int(np.where(able, room, -np.inf).argmax()) if able.any() else pick.i


def _here(window: Window, pick: Pick) -> str:
    """What stops the picked pressure at the next higher speed, where another comes nearer there."""
    if pick.j + 1 == window.speeds.size or _nearest_there(window, pick) == pick.i:
        return ""
    return f" ({_named(window, window.limits, pick.i, pick.j + 1)})"


def _named(window: Window, limits: Limits, i: int, j: int) -> str:
    """A pressure and what stops it."""
    return f"{bar(window.pressures[i]):.4g} bar: {stops(window, limits, i, j)}"


def _at(window: Window, limits: Limits, i: int, j: int) -> str:
    """A pressure and what keeps it from being chosen."""
    why = "cannot be chosen" if hindrance(window, limits, i, j) else "fails"
    return f"{bar(window.pressures[i]):.4g} bar {why}: {stops(window, limits, i, j)}"


def _sideways(window: Window, limits: Limits, i: int, j: int, step: int) -> str:
    """What stops the pressures below (step −1) or above (step 1) at the same speed."""
    way, end, along = ("Lower", "lowest", "down") if step < 0 else ("Higher", "highest", "up")
    rows = range(i + step, -1 if step < 0 else window.pressures.size, step)
    here = f"{bar(window.pressures[i]):.4g} bar"
    if window.pressures.size == 1:
        return f"{way}: only {here} was tried."
    if not rows:
        return f"{way}: {here} is the {end} pressure tried; {way.lower()} was not looked at."
    met = meets(window, limits)[:, j]
    said = []
    if met[i + step]:
        own, there = checks(window, limits, i, j)[0], checks(window, limits, i + step, j)[0]
        same = "no more" if there.margin >= own.margin else "less"
        said.append(
            f"{bar(window.pressures[i + step]):.4g} bar meets every limit too, with {same} room: {there.sentence()}, "
            f"{_percent(there.margin)} of the limit in hand against {_percent(own.margin)} at {here}"
        )
    fails = next((row for row in rows if not met[row]), None)
    if fails is not None:
        said.append(_at(window, limits, fails, j))
    elif len(rows) > 1:
        said.append(f"all pressures tried {along} to the {end} meet every limit")
    return f"{way}: {'; '.join(said)}."


def _percent(share: float) -> str:
    return f"{share * 100:.2g} %"
