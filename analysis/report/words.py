"""Sentences of the page, from the numbers of the window and of what was found around it."""

from __future__ import annotations

import math
from typing import Any

from analysis.crossing.place_words import metres
from analysis.present.edge import bar, kgf, kmh, mm
from analysis.present.sentences import SCREEN, by_mm, capital, known, sentence, setting
from analysis.present.texts import number, percent, short
from analysis.report.report import Report
from analysis.window.doubt.words import assumed_words, chance_words, cost_words, fitted_words, reasons
from analysis.window.feature.feature_words import compared, slot_span
from analysis.window.gain import Use
from analysis.window.help_words import helps
from analysis.window.pick import Nearest, Pick
from analysis.window.robustness import Robustness, Trial
from analysis.window.sentences import (
    LEAST,
    asked_chance,
    headline,
    nearest_sentence,
    pressure_edge,
    speed_edge,
)
from analysis.window.sure.words import (
    assumed_sentence,
    at_pick,
    beyond_notes,
    end_words,
    leads,
    moving_sentence,
    room_sentence,
    spread_sentence,
    still_notes,
)


def depth_change(change: float) -> str:
    """How the depth setting moves [m], in words.

    >>> depth_change(0.0018), depth_change(-0.0018), depth_change(0.00001)
    ('1.8 mm deeper', '1.8 mm shallower', 'as it is')
    """
    size = mm(change)
    if not math.isfinite(size) or abs(size) < 0.05:
        return "as it is"
    return by_mm(change)


def choice_words(found: Pick | Nearest) -> dict[str, Any]:
    """The pick, or the setting that fails least, piece by piece as the templates name them."""
    return {
        "picked": isinstance(found, Pick),
        "least_words": LEAST,
        "beside": "" if isinstance(found, Pick) else f", which {LEAST}",
        "pressure": short(bar(found.oil_pressure)),
        "pressure_edge": pressure_edge(found),
        "downforce": number(kgf(found.downforce), 0),
        "speed": short(kmh(found.speed)),
        "speed_edge": speed_edge(found),
        "set_depth": short(mm(found.set_depth)),
        "change": depth_change(found.setting_change),
    }


def sentences(made: Report) -> list[str]:
    """The pick and why: what to set; what stops going faster; what stops less and more pressure."""
    found, window = made.advice.outcome, made.advice.window
    if not isinstance(found, Pick):
        return [sentence(text) for text in (nearest_sentence(found), *helps(window, found)[:2])]
    doubt = made.advice.doubt
    fastest = "the fastest speed tried at which some pressure meets every limit"
    if doubt is not None and doubt.decides:
        chance = chance_words(doubt.chance, found.i, found.j)
        fastest += f" with a chance of {asked_chance(doubt.confidence)}; here it is {chance}"
    share = float(window.over_seeds("on_depth_share")[found.i, found.j])
    first = f"{headline(found)}: {fastest}, with {percent(share)} of the way on depth."
    gain = made.advice.gain
    if gain is not None and gain.pick.at is not None:
        at = gain.pick.at
        slot = f"a slot of {slot_span(at)} and {metres(at.off_depth)} off depth at one place"
        first = f"{headline(found)}: {fastest}, with {slot}."
    faster, lower, higher = (text.rstrip(".") for text in reasons(window, found, made.advice.doubt))
    cost = "" if doubt is None or not doubt.decides else cost_words(doubt)
    return [first, *([sentence(cost)] if cost else []), f"{faster}.", f"{lower}; {higher[:1].lower()}{higher[1:]}."]


def buys(made: Report) -> list[tuple[str, str, str]]:
    """Rows of the table of pick and present setting: (what, pick, present); empty where there is no pick."""
    gain = made.advice.gain
    if gain is None:
        return []
    pick, present = gain.pick, gain.present
    if pick.at is not None:
        tolerance = made.scenario.limits.depth_tolerance
        return [
            ("oil pressure and speed", _where(pick), _where(present)),
            *compared(pick, present, tolerance),
            ("hectares an hour", number(pick.hectares_per_hour, 2), number(present.hectares_per_hour, 2)),
        ]
    return [
        ("oil pressure and speed", _where(pick), _where(present)),
        ("on depth", known(pick.on_depth_share), known(present.on_depth_share)),
        ("gauge wheel off", known(pick.wheel_off_share), known(present.wheel_off_share)),
        ("hectares an hour", number(pick.hectares_per_hour, 2), number(present.hectares_per_hour, 2)),
    ]


def _where(use: Use) -> str:
    return setting(use.oil_pressure, use.speed, SCREEN, ", ")


def sure(made: Report) -> list[str]:
    """How sure the pick is: its room, what is assumed, grounds alone, and the values that move it most."""
    found = made.advice.robustness
    if found is None:
        return []
    said = [room_sentence(found.room), *_rests(made, found), spread_sentence(found.spread)]
    if len(made.advice.window.seeds) > 1:
        said.append(f"at the pick, over the grounds: {at_pick(found)}")
    return [sentence(text) for text in (*said, *beyond_notes(found), *still_notes(found))]


def _rests(made: Report, found: Robustness) -> list[str]:
    """What the pick rests on: values left in doubt by readings, or assumed ones and the chance with them."""
    doubt = made.advice.doubt
    if doubt is None:
        return [assumed_sentence(found.assumed)]
    if doubt.decides:
        return [fitted_words(doubt)]
    return [assumed_sentence(found.assumed), assumed_words(doubt, found.assumed)]


def moved(made: Report) -> dict[str, Any]:
    """The table of values that move the pick: its heading, and a row for every end that does; none where none does."""
    found = made.advice.robustness
    if found is None:
        return {"says": "", "rows": []}
    rows = [_end(found, one, k) for one in found.moving for k in range(2) if one.moves[k]]
    return {"says": capital(moving_sentence(found)).rstrip(":."), "rows": rows}


def _end(found: Robustness, one: Trial, k: int) -> dict[str, str]:
    """One end of a value: what it is, the setting it leads to, how fast of the fastest tried, and the pick if kept."""
    tried = one.ends[k]
    assert tried is not None
    led = tried.found
    fast = 0.0 if led.pick is None else led.pick.speed / found.speeds[-1]
    return {
        "what": f"{capital(one.doubtful.words)}: {end_words(one, k)}",
        "leads": leads(found, led),
        "share": f"{100.0 * fast:.0f}",
        "kept": "meets every limit" if led.still_meets else f"fails: {led.kept.sentence}",
    }
