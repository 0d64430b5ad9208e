"""How sure a pick is, in sentences: few for a first screen, all where someone asks for them."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence

from analysis.present.edge import bar, kmh
from analysis.present.sentences import capital, joined, sentence, setting, span
from analysis.present.texts import percent, plural, to_figures
from analysis.window.limits import Check
from analysis.window.robustness import Robustness, Spread, Trial, Tried
from analysis.window.sure.assumed import Assumed
from analysis.window.sure.outward import Found
from scenarios.doubt.doubtful import PLUS, Doubtful
from scenarios.doubt.keys import amount_si
from scenarios.format.edge_units import to_edge, unit_text

MOST_TOLD, MOST_NAMED = 2, 6  # values whose ends a first screen tells, and that are named as made up
FIT = "rowbench fit puts readings in their place"
OF_THE_FILE = re.compile(r"( of| times)? the file's$")


def first_lines(sure: Robustness, rests: Sequence[str] = ()) -> tuple[list[str], list[str]]:
    """What a first screen tells: sentences, and under the last of them the values that move the pick most.

    rests: what is told of what the pick rests on, where more is known than which values are assumed.
    """
    moving = sure.moving
    said = [room_sentence(sure.room, short=True), *(rests or [assumed_sentence(sure.assumed, short=True)])]
    said += [*beyond_notes(sure), moving_sentence(sure, short=True)]
    return _told(said), _told([short_sentence(sure, one) for one in moving[:MOST_TOLD]])


def all_lines(sure: Robustness, rests: Sequence[str] = ()) -> list[str]:
    """All that is known: what the first screen tells, the spread at the pick, and every value at both ends."""
    said = [room_sentence(sure.room), *(rests or [assumed_sentence(sure.assumed)]), spread_sentence(sure.spread)]
    if len(sure.spread.seeds) > 1:
        said.append(f"at the pick, over the grounds: {at_pick(sure)}")
    said += [*beyond_notes(sure), moving_sentence(sure)]
    for one in sure.moving:
        said += [end_sentence(sure, one, k) for k in range(2) if one.moves[k]]
    return _told(said + still_notes(sure))


def _told(texts: Iterable[str]) -> list[str]:
    """Texts as sentences; one that leads on to the next keeps its colon."""
    return [capital(text) if text.endswith(":") else sentence(text) for text in texts]


def room_sentence(room: Check, *, short: bool = False) -> str:
    """The limit with least room at the pick, and how much of it is in hand (short: not that)."""
    if short:
        return f"least room: {room.sentence()}"
    if math.isinf(room.margin):
        left = "met whatever the value"
    elif room.margin == 0.0:
        left = "nothing in hand"
    else:
        left = f"{room.margin * 100:.2g} % in hand"
    return f"room at the pick: {room.sentence()}: {left}"


def assumed_sentence(found: Assumed, *, short: bool = False) -> str:
    """That the pick rests on assumed values, which (short: how many), and what to measure first."""
    first = found.first
    if found.made_up and not found.stated:
        if short:
            return f"soil and unit are the library's, made up; {FIT}"
        text = "soil and unit are the library's, made up: the pick is as good as they are"
        return f"{text}. Your own: rowbench new; measure first: {first[0].words}" if first else text
    if not found.left:
        return "the pick is as good as the values of soil and unit in the file"
    count, left = len(found.left) + len(found.stated), len(found.left)
    if short:
        return f"{left} of {count} values of soil and unit {_is_are(left)} assumed; {FIT}"
    named = [one.words for one in found.left[:MOST_NAMED]]
    listed = f"{', '.join(named)} and {left - len(named)} more" if left > len(named) else joined(named)
    given = f"of {count} values of soil and unit that count, {len(found.stated) or 'none'} {_is_are(len(found.stated))}"
    text = f"{given} your own; made up, as the program has them: {listed}. The pick is as good as they are"
    return f"{text}: measure first {_measure(first[0])}, key {first[1]}" if first else text


def _is_are(count: int) -> str:
    return "is" if count == 1 else "are"


def _measure(one: Doubtful) -> str:
    return f"{one.words} ({one.measured})"


def spread_sentence(spread: Spread) -> str:
    """The picks of single grounds."""
    if len(spread.seeds) == 1:
        return f"one ground only (ground {spread.seeds[0]}): no spread to tell"
    found = [pick for pick in spread.picks if pick is not None]
    none = len(spread.picks) - len(found)
    if not found:
        return f"alone, none of the {none} grounds has a setting that meets every limit"
    speeds, pressures = sorted(kmh(p.speed) for p in found), sorted(bar(p.oil_pressure) for p in found)
    text = f"each of {len(found)} grounds alone: {_ends(pressures)} bar at {_ends(speeds)} km/h"
    return f"{text}; {none} without a setting" if none else text


def _ends(values: list[float]) -> str:
    return span(f"{values[0]:.4g}", f"{values[-1]:.4g}", "–")


def at_pick(sure: Robustness) -> str:
    """Shares at the pick from the lowest to the highest over the grounds."""
    on_depth, off = (span(*map(percent, sure.spread.at_pick[name])) for name in ("on_depth_share", "wheel_off_share"))
    return f"on depth {on_depth}, wheel off {off}"


def beyond_notes(sure: Robustness) -> list[str]:
    """That pressures beyond those searched do better, where they do; not beside a pick by chance."""
    best = sure.unchanged.pick
    if best is None or sure.unchanged.place == sure.pick or sure.by_chance:
        return []
    where = setting(best.oil_pressure, best.speed)
    better = (
        "meets every limit too, and is faster"
        if best.speed > sure.pick[1]
        else f"has more room ({best.room * 100:.2g} %)"
    )
    inside = sure.searched[0] <= best.oil_pressure <= sure.searched[-1]
    at = "between" if inside else "below" if best.oil_pressure < sure.searched[0] else "above"
    return [f"{where}, {at} the pressures searched, {better}"]


def moving_sentence(sure: Robustness, *, short: bool = False) -> str:
    """How many of the values tried move the pick; short: that some of them follow."""
    moving, count = sure.moving, len(sure.trials)
    more_tried = len(sure.pressures) > len(sure.searched)
    tried = f" (at {bar(sure.pressures[0]):.4g} to {bar(sure.pressures[-1]):.4g} bar)" if more_tried else ""
    if not moving:
        return f"no value of {count}, each tried low and high{tried}, moves the pick"
    kept = f"; kept, it fails a limit with {sure.failing}" if sure.failing else ""
    verb = "moves" if len(moving) == 1 else "move"
    told = f"{len(moving)} of {count} values, each tried low and high{tried}, {verb} the pick{kept}"
    if short:
        first = next((one.doubtful for one in moving if one.doubtful.measured), None)
        if first is None:
            return f"{len(moving)} of {count} values, tried low and high, {verb} the pick; most of all:"
        return f"{len(moving)} of {count} values {verb} the pick (measure first: {first.words}):"
    return f"{told}:"


def short_sentence(sure: Robustness, one: Trial) -> str:
    """Where a value leads, in short: "soil strength 0.7 to 1.3 times the file's: no setting to 50 bar at 8 km/h"."""
    told = [k for k in range(2) if one.moves[k]]
    words = [end_words(one, k) for k in range(2)]
    if len(told) == 1:
        return f"{one.doubtful.words} {words[told[0]]}: {_leads(sure, one, told[0])}"
    low = OF_THE_FILE.sub("", words[0]) if OF_THE_FILE.search(words[1]) else words[0]
    return f"{one.doubtful.words} {low} to {words[1]}: {_leads(sure, one, 0)} to {_leads(sure, one, 1)}"


def end_words(one: Trial, k: int) -> str:
    """An end of a value in words: k 0 the low one, 1 the high one."""
    tried = one.ends[k]
    if tried is not None and tried.cut:
        return value_text(one, tried.value)
    doubtful = one.doubtful
    if doubtful.way == PLUS:
        return doubtful.end_words(0.0, _amount_text(one))[k]
    return doubtful.end_words(float(f"{math.exp(one.reach * doubtful.power):.3g}"), "")[k]


def _amount_text(one: Trial) -> str:
    """How far a value may be off, in its file's unit: "10 mm", "0.02 per km/h"."""
    per_unit = amount_si(1.0, one.edge)
    edge = "degC apart" if one.edge == "degC" else one.edge
    return f"{to_figures(one.reach / per_unit)}{unit_text(edge)}"


def value_text(one: Trial, value: float) -> str:
    """A value in its file's unit: "0.84 MPa"."""
    return f"{to_figures(to_edge(value, one.edge))}{unit_text(one.edge)}"


def _tried(one: Trial, k: int) -> Tried:
    tried = one.ends[k]
    assert tried is not None
    return tried


def _leads(sure: Robustness, one: Trial, k: int) -> str:
    return leads(sure, _tried(one, k).found, why=False)


def leads(sure: Robustness, found: Found, *, why: bool = True) -> str:
    """The setting that a changed value leads to, or that there is none and by what, in short."""
    if found.pick is not None:
        where = setting(found.pick.oil_pressure, found.pick.speed)
        last = [f"{edge} tried" for edge in found.edges if edge != "slowest"]
        return f"{where} ({', '.join(last)})" if last else where
    assert found.nearest is not None
    tried = " tried" if {"lowest", "highest"} & set(found.edges) else ""
    slow = f" from {kmh(sure.speeds[0]):.4g} km/h up" if "slowest" in found.edges else ""
    if not why:
        return f"no setting{tried}{slow}"
    check = found.nearest.check
    by = (
        found.nearest.hindrance.partition(":")[0] or f"{check.limit.words} too {'low' if check.limit.least else 'high'}"
    )
    return f"no setting{tried}{slow} ({by})"


def end_sentence(sure: Robustness, one: Trial, k: int) -> str:
    """Where one end of a value leads, and how the pick then stands."""
    found = _tried(one, k).found
    here = f"{one.doubtful.words} {end_words(one, k)} ({value_text(one, _tried(one, k).value)})"
    if found.nearest is not None:
        where = setting(found.nearest.oil_pressure, found.nearest.speed)
        led = f"{leads(sure, found).partition(' (')[0]}; nearest is {where}, with {found.nearest.sentence}"
    else:
        led = leads(sure, found)
    kept = "the pick still meets every limit" if found.still_meets else f"the pick then fails: {found.kept.sentence}"
    return f"{here}: {led}; {kept}"


def still_notes(sure: Robustness) -> list[str]:
    """The values that move nothing, and those that could not be tried."""
    still = [one for one in sure.trials if not any(one.moves)]
    said = []
    if still:
        named = joined([one.doubtful.words for one in still])
        said.append(f"{plural(len(still), 'value')} move{'s' if len(still) == 1 else ''} nothing: {named}")
    if sure.left_out:
        said.append("not tried: " + joined([f"{one.words} ({why})" for one, why in sure.left_out]))
    return said
