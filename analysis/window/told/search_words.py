"""What `rowbench window --precharges … --depths …` tells before the screen of the best window."""

from __future__ import annotations

import math

from analysis.present.edge import bar, kmh, mm
from analysis.present.sentences import SCREEN, changed, items, known, setting
from analysis.present.texts import number, paragraph, short, table
from analysis.window.feature.at_feature import at_cell
from analysis.window.feature.feature_words import slot_span
from analysis.window.pick import Pick
from analysis.window.search import Searched, Tried, Wanted
from analysis.window.sentences import LEAST, depth_words
from analysis.window.told.gas_words import oil_by_precharge

SHALLOWEST, DEEPEST, BESIDE = 5.0, 150.0, 5.0  # [mm]: ends of what may be asked for, and how far the example goes


def searched_text(found: Searched) -> str:
    """Which depths are wanted, a line for each pair, the pick over all, and what it is worth against the file's own."""
    precharges = {one.scenario.settings.precharge for one in found.tried}
    depths = {one.scenario.settings.set_depth for one in found.tried}
    counts = [f"{len(values)} {name}" for values, name in ((precharges, "precharges"), (depths, "set depths"))
              if len(values) > 1]  # fmt: skip
    what = " × ".join(counts) or "one precharge and set depth"
    about = [*(_wanted(found) if len(depths) > 1 else []), *(_warned(found))]
    suits = [oil_by_precharge(found)] if len(precharges) > 1 else []
    return "\n".join(
        [
            *paragraph(" ".join([f"Searched {what}.", *about])),
            *_table(found, len(precharges) > 1, len(depths) > 1),
            *items(_best(found), *_elsewhere(found), *_worth(found), *suits),
        ]
    )


def _wanted(found: Searched) -> list[str]:
    """Which depths may be picked, and how to say others."""
    own = mm(found.scenario.settings.set_depth)
    others = ["Other depths are for information, never the pick."] if not all(one.wanted for one in found.tried) else []
    if found.wanted.source != "file":
        return [f"Depth: {wanted_words(found.wanted)} {_stated(found.wanted)}.", *others]
    added = ", added to those asked for" if found.added else ""
    wide = f"{short(max(SHALLOWEST, own - BESIDE))}:{short(min(DEEPEST, own + BESIDE))}"
    return [
        f"Depth: {short(own)} mm is wanted (the file's set depth{added}); to let the search choose, say --depth-range "
        f"{wide}.",
        *others,
    ]


def _stated(wanted: Wanted) -> str:
    verb = "is" if wanted.low_mm == wanted.high_mm else "are"
    source = "--depth-range" if wanted.source == "option" else "the file's limits"
    return f"{verb} wanted ({source})"


def wanted_words(wanted: Wanted) -> str:
    """The depths that may be picked, in words."""
    low, high = wanted.low_mm, wanted.high_mm
    if low is not None and high is not None:
        return f"{short(low)} mm" if low == high else f"{short(low)} to {short(high)} mm"
    return f"{short(low)} mm and more" if low is not None else f"up to {short(high or 0.0)} mm"


def _warned(found: Searched) -> list[str]:
    return ["* has warnings."] if any(one.outcome.heeds for one in found.tried) else []


def _table(found: Searched, precharges: bool, depths: bool) -> list[str]:
    """A line for each pair; precharge and depth only where several were tried."""
    head = ["", *(["gas bar"] if precharges else []), *(["depth mm"] if depths else []), "oil bar", "km/h",
            "slot" if found.scenario.limits.on_feature else "on depth", "room",
            *([] if precharges and depths else [""])]  # fmt: skip
    return table(head, [_row(one, found.best, precharges, depths) for one in found.tried])


def _row(one: Tried, best: Tried, precharges: bool, depths: bool) -> list[str]:
    outcome, s = one.outcome, one.scenario.settings
    came_of = known(float(one.window.over_seeds("on_depth_share")[outcome.i, outcome.j]))
    if one.window.limits.on_feature:
        at = at_cell(one.window, s.set_depth, outcome.i, outcome.j)
        came_of = slot_span(at) if math.isfinite(at.deepest) else "–"
    nearest = min(outcome.checks, key=lambda check: check.margin)
    words = nearest.limit.words if math.isfinite(one.margin) else ""
    return [
        _kind(one, one is best) + ("*" if outcome.heeds else ""),
        *([short(bar(s.precharge))] if precharges else []),
        *([short(mm(s.set_depth))] if depths else []),
        short(bar(outcome.oil_pressure)),
        short(kmh(outcome.speed)),
        came_of,
        _room(one, "none"),
        *([] if precharges and depths else [words]),
    ]


def _kind(one: Tried, best: bool) -> str:
    if not isinstance(one.outcome, Pick):
        return "fails"
    if not one.wanted:
        return "not wanted"
    if not best:
        return ""
    return "pick" if one.scenario.uncertain is None else "best"  # what to set in it is picked by the chance


def _room(one: Tried, hindered: str = "cannot be chosen") -> str:
    """Margin to the nearest limit, in words."""
    if one.margin == -math.inf:
        return hindered
    return "any" if one.margin == math.inf else changed(one.margin)


def _where(one: Tried) -> str:
    """Precharge, set depth, pressure and speed of a pair's setting."""
    s = one.scenario.settings
    at = setting(one.outcome.oil_pressure, one.outcome.speed, SCREEN, " oil at ")
    return f"precharge {short(bar(s.precharge))} bar, {depth_words(s.set_depth)}, {at}"


def _best(found: Searched) -> str:
    if isinstance(found.best.outcome, Pick):
        if found.scenario.uncertain is not None:  # pressure and speed in it are picked by the chance, told below
            s = found.best.scenario.settings
            pair = f"precharge {short(bar(s.precharge))} bar, {depth_words(s.set_depth)}"
            return f"Best with every value as fitted: {pair}. What to set with it, by the chance, stands below."
        return f"Pick over all: {_where(found.best)}."
    return (
        f"No pick: nothing tried at a depth that is wanted meets every limit. Over all: {_where(found.best)} {LEAST}."
    )


def _elsewhere(found: Searched) -> list[str]:
    """Where no setting does at a wanted depth: the fastest that would at another."""
    others = [one for one in found.tried if not one.wanted and isinstance(one.outcome, Pick)]
    if isinstance(found.best.outcome, Pick) or not others:
        return []
    own = found.scenario.settings.set_depth
    best = min(others, key=lambda one: (abs(one.scenario.settings.set_depth - own), -one.outcome.speed))
    return [f"At a depth that is not wanted some setting would: {_where(best)}."]


def _worth(found: Searched) -> list[str]:
    """What the best pair gains over the file's own pair, where that was searched too."""
    best, own = found.best, found.scenario.settings
    same = [
        one
        for one in found.tried
        if (one.scenario.settings.precharge, one.scenario.settings.set_depth) == (own.precharge, own.set_depth)
    ]
    if sum(one.wanted for one in found.tried) == 1:
        return []
    pair = f"precharge {short(bar(own.precharge))} bar and {depth_words(own.set_depth)}"
    if not same:
        return [f"The file's own {pair} was not among them."]
    if same[0] is best:
        return [f"The file's own {pair} is the best of them."] if isinstance(best.outcome, Pick) else []
    if not isinstance(same[0].outcome, Pick):
        return [f"With the file's own {pair} nothing tried meets every limit."]
    if not isinstance(best.outcome, Pick):
        return []
    change = kmh(best.outcome.speed) - kmh(same[0].outcome.speed)
    room = f"least room {_room(best)} in place of {_room(same[0])}"
    way = "faster" if change > 0 else "slower"
    speed = f"{number(abs(change))} km/h {way}" if abs(change) >= 0.05 else "at the same speed"
    return [f"Against the file's own {pair}: {speed}, {room}."]
