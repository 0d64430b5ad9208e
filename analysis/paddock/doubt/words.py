"""The chance that a paddock's setting meets every limit, in sentences."""

from __future__ import annotations

from analysis.paddock.summary import Summary
from analysis.present.sentences import joined
from analysis.present.texts import percent, plural
from analysis.window.doubt.pick import Doubt
from analysis.window.doubt.words import asked_words, chance_words, cost_words, fitted_words
from analysis.window.sentences import asked_chance


def chance_sentences(doubt: Doubt, tightest: str) -> str:
    """Of a pick: its chance, what that is asked to be, what the doubt costs, the tightest limit as fitted."""
    found = doubt.outcome
    cost = cost_words(doubt)
    said = (
        f"It meets every limit with a chance of {chance_words(doubt.chance, found.i, found.j)}; {asked_words(doubt)}. "
        f"With the values as fitted the tightest is {tightest}."
    )
    return f"{said} {cost[0].upper()}{cost[1:]}." if cost else said


def lost_words(doubt: Doubt) -> str:
    """Behind the highest chance that there is: what would be set were everything known."""
    cost = cost_words(doubt)
    return f"; {cost}, so what is in doubt costs the pick" if cost else ""


def zone_chance(chance: float | None) -> str:
    """Behind the setting of a zone: the chance that every limit is met there.

    >>> zone_chance(0.84), zone_chance(None)
    (' (chance 84 %)', '')
    """
    return "" if chance is None else f" (chance {percent(chance, 0)})"


def zone_chances(summary: Summary) -> str:
    """Of zones set by themselves: their chances; "" where nothing is in doubt."""
    known = [(zone.name, zone.chance) for zone in summary.zones if zone.chance is not None]
    if not known or len(known) < len(summary.zones):
        return ""
    told = joined([f"{percent(chance, 0)} in {name}" for name, chance in known])
    least = min(chance for _, chance in known)
    asked = asked_chance(summary.limits.confidence)
    short = "" if least >= summary.limits.confidence else f", where {asked} is asked"
    return f"With the values as fitted every limit is so met; by what is in doubt with a chance of {told}{short}"


def doubt_notes(summary: Summary) -> list[str]:
    """What the chance rests on; or that it is not known at this setting."""
    sampled, doubt = summary.table.doubt, summary.doubt
    if sampled is None:
        return []
    if doubt is None:
        return [
            "the chance at this setting was not looked at: the limits have changed since the paddock was computed; "
            "compute it again to another --out"
        ]
    there = f"{plural(len(sampled.rows), 'row')} of {plural(len(sampled.passes), 'pass', 'passes')}"
    return [f"{fitted_words(doubt)}; what other values would do was crossed on {there}, and put upon the whole"]
