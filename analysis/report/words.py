"""Sentences of the page, from the numbers of the window and of what was found around it."""

from __future__ import annotations

import math

from analysis.present import texts
from analysis.present.edge import bar, kmh, mm
from analysis.report.report import Report
from analysis.window.gain import Use
from analysis.window.pick import Pick


def after_colon(text: str) -> str:
    """A text as a sentence: capital in front, full stop behind.

    >>> after_colon("three rows lift it")
    'Three rows lift it.'
    """
    text = text[:1].upper() + text[1:]
    return text if text.endswith(".") else f"{text}."


def depth_change(change: float) -> str:
    """How the depth setting moves [m], in words.

    >>> depth_change(0.0018), depth_change(-0.0018), depth_change(0.00001)
    ('1.8 mm deeper', '1.8 mm shallower', 'as it is')
    """
    size = mm(change)
    if not math.isfinite(size) or abs(size) < 0.05:
        return "as it is"
    return f"{texts.number(abs(size))} mm {'deeper' if size > 0 else 'shallower'}"


def sentences(made: Report) -> list[str]:
    """The pick and why: what to set; what stops going faster; what stops less and more pressure."""
    found = made.advice.outcome
    if not isinstance(found, Pick):
        return [after_colon(found.sentence()), *(after_colon(text) for text in found.helps[:2])]
    window = made.advice.window
    share = float(window.over_seeds("on_depth_share")[found.i, found.j])
    first = (
        f"{made.headline()[:-1]}: the fastest speed at which some pressure meets every limit, with "
        f"{texts.percent(share)} of the way on depth."
    )
    faster, lower, higher = (text.rstrip(".") for text in found.why)
    return [first, f"{faster}.", f"{lower}; {higher[:1].lower()}{higher[1:]}."]


def buys(made: Report) -> list[tuple[str, str, str]]:
    """Rows of the table of pick and present setting: (what, pick, present); empty where there is no pick."""
    gain = made.advice.gain
    if gain is None:
        return []
    pick, present = gain.pick, gain.present
    return [
        ("oil pressure and speed", _where(pick), _where(present)),
        ("on depth", _share(pick.on_depth_share), _share(present.on_depth_share)),
        ("gauge wheel off", _share(pick.wheel_off_share), _share(present.wheel_off_share)),
        ("hectares an hour", texts.number(pick.hectares_per_hour, 2), texts.number(present.hectares_per_hour, 2)),
    ]


def _where(use: Use) -> str:
    return f"{texts.short(bar(use.oil_pressure))} bar, {texts.short(kmh(use.speed))} km/h"


def _share(value: float | None) -> str:
    return "–" if value is None or not math.isfinite(value) else texts.percent(value)


def sure(made: Report, *, short: bool = False) -> list[str]:
    """How sure the pick is: seeds alone, spread over them, and the pick with soil and ground changed.

    short: of the changes only those under which the pick no longer meets every limit.
    """
    known = made.advice.robustness
    if known is None:
        return []
    said = [after_colon(known.spread.sentence())]
    if len(made.advice.window.seeds) > 1:
        low, high = known.spread.at_pick["on_depth_share"]
        off_low, off_high = known.spread.at_pick["wheel_off_share"]
        said.append(
            f"At the pick, over the grounds: on depth {_span(low, high)}, wheel off {_span(off_low, off_high)}."
        )
    return said + [after_colon(variant.sentence()) for variant in known.variants
                   if not short or variant.still_meets is False]  # fmt: skip


def _span(low: float, high: float) -> str:
    ends = texts.percent(low), texts.percent(high)
    return ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}"
