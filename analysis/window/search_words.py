"""What `rowbench window --precharges … --depths …` tells beside the screen of the best window."""

from __future__ import annotations

import math

from analysis.present.edge import bar, kmh, mm
from analysis.present.sentences import SCREEN, changed, items, known, setting
from analysis.present.texts import number, paragraph, short, table
from analysis.window.gas_words import oil_by_precharge
from analysis.window.pick import Pick
from analysis.window.search import Searched, Tried


def searched_text(found: Searched) -> str:
    """Which precharge and depth the pick over all has, a line for each pair, and what the choice is worth."""
    best = found.best
    s = best.scenario.settings
    picked = isinstance(best.outcome, Pick)
    at = setting(best.outcome.oil_pressure, best.outcome.speed, SCREEN, " oil at ")
    pair = f"precharge {short(bar(s.precharge))} bar, set depth {short(mm(s.set_depth))} mm"
    said = f"pick over all: {pair}, {at}" if picked else f"no pick in any; nearest over all: {pair}, {at}"
    precharges = {one.scenario.settings.precharge for one in found.tried}
    depths = {one.scenario.settings.set_depth for one in found.tried}
    count = f"{len(precharges)} × {len(depths)} precharges and depths"
    rows = [_row(one, one is best) for one in found.tried]
    head = ("precharge", "depth", "oil, bar", "km/h", "on depth", "wheel off", "least room", "")
    lines = [
        *paragraph(f"Searched {count}: {said}."),
        *table(head, rows),
        *items(oil_by_precharge(found), _worth(found)),
    ]
    return "\n".join(lines)


def _row(one: Tried, best: bool) -> tuple[str, ...]:
    outcome, s = one.outcome, one.scenario.settings
    grids = (one.window.over_seeds(name) for name in ("on_depth_share", "wheel_off_share"))
    shares = [float(grid[outcome.i, outcome.j]) for grid in grids]
    nearest = min(outcome.checks, key=lambda check: check.margin)
    room = f"{_room(one)} {nearest.limit.words}" if math.isfinite(one.margin) else _room(one)
    return (
        f"{short(bar(s.precharge))} bar",
        f"{short(mm(s.set_depth))} mm",
        short(bar(outcome.oil_pressure)),
        short(kmh(outcome.speed)),
        *map(known, shares),
        room,
        _kind(one, best) + (" (warned)" if one.outcome.heeds else ""),
    )


def _kind(one: Tried, best: bool) -> str:
    picked = isinstance(one.outcome, Pick)
    if best:
        return "pick over all" if picked else "nearest over all"
    return "" if picked else "fails"


def _room(one: Tried) -> str:
    """Margin to the nearest limit, in words."""
    if one.margin == -math.inf:
        return "cannot be chosen"
    return "any" if one.margin == math.inf else changed(one.margin)


def _worth(found: Searched) -> str:
    """What the best pair gains over the file's own pair, where that was searched too."""
    best, own = found.best, found.scenario.settings
    same = [
        one
        for one in found.tried
        if (one.scenario.settings.precharge, one.scenario.settings.set_depth) == (own.precharge, own.set_depth)
    ]
    pair = f"precharge {short(bar(own.precharge))} bar and {short(mm(own.set_depth))} mm"
    if not same:
        return f"The file's own {pair} was not among them."
    if same[0] is best:
        return f"The file's own {pair} is the best of them."
    change = kmh(best.outcome.speed) - kmh(same[0].outcome.speed)
    room = f"least room {_room(best)} in place of {_room(same[0])}"
    way = "faster" if change > 0 else "slower"
    speed = f"{number(abs(change))} km/h {way}" if abs(change) >= 0.05 else "at the same speed"
    return f"Against the file's own {pair}: {speed}, {room}."
