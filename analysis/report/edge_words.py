"""One bar from safe to the edge: how much of what the nearest limit allows a setting uses up."""

from __future__ import annotations

import math

from analysis.present.sentences import capital
from analysis.present.texts import percent
from analysis.window.limits import Check
from analysis.window.pick import Nearest, Pick


def used(check: Check) -> float:
    """Share of what a limit allows that is used up: 0 far from it, 1 at it, more beyond it.

    Of a share that is to be had at least (on depth 0.9) it is what is missing of the whole over what may be missing.

    >>> from types import SimpleNamespace as S
    >>> at_most, at_least = S(least=False, unit="N"), S(least=True, unit="share")
    >>> used(Check(at_most, 1200.0, 900.0, 1, 0.25, True)), round(used(Check(at_least, 0.9, 0.91, 1, 0.01, True)), 6)
    (0.75, 0.9)
    """
    if not check.limit.least:
        return check.value / check.asked if check.asked > 0.0 else math.inf
    if check.limit.unit == "share" and check.asked < 1.0:
        return (1.0 - check.value) / (1.0 - check.asked)
    return check.asked / check.value if check.value > 0.0 else math.inf


def edge(found: Pick | Nearest) -> dict[str, str] | None:
    """Words and length of the bar for the limit with the least room; None where nothing was checked."""
    if not found.checks:
        return None
    check = min(found.checks, key=lambda one: one.margin)
    share = used(check)
    if not math.isfinite(share):
        return None
    way = f"{percent(share, 0)} of what it allows is used up" if share <= 1.0 else "beyond it"
    words = f"{capital(check.sentence())}: {way}"
    return {"words": f"Nearest limit: {check.sentence()}. {capital(way)}.", "label": words,
            "used": f"{100.0 * min(share, 1.0):.1f}"}  # fmt: skip
