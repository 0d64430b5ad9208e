"""Sentences on what stones do to pins: how hard a strike is at a setting, how often a hectare passes a load."""

from __future__ import annotations

import math
from collections.abc import Sequence

from analysis.pins.duty.duty_words import struck_words
from analysis.pins.duty.extremes import Passing
from analysis.pins.duty.settings import Setting
from analysis.pins.duty.strikes import Spread
from analysis.present.edge import bar, kmh
from analysis.present.sentences import items, sentence, span
from analysis.present.texts import number, paragraph, percent, plural, table

RARE = 5.0  # of fewer than so many a hectare the chance of one is told


def spread_lines(pin: str, told: Sequence[tuple[Setting, Spread | str]]) -> list[str]:
    """A table of the peaks of a strike by pressure and speed; a text in place of a spread says why there is none."""
    rows = [(f"{bar(at.oil_pressure):.4g} bar, {kmh(at.speed):.4g} km/h", *_cells(found)) for at, found in told]
    head = ("peak load in kN", "strikes", "half stay below", "1 in 10 over", "highest")
    return [f"What a strike of a stone brings on {struck_words(pin)}", *table(head, rows)]


def _cells(found: Spread | str) -> tuple[str, ...]:
    if isinstance(found, str) or not found.strikes:
        return ("none", "", "", "")
    return (str(found.strikes), *(number(load / 1e3) for load in found[1:]))


def passing_sentence(made: Passing) -> str:
    """How often a pin passes a load on a hectare, and how sure that is."""
    what = f"{struck_words(made.pin)} over {made.limit / 1e3:g} kN"
    if made.reason:
        return sentence(f"{what}: not told, {made.reason}")
    seen = f"{made.passed or 'none'} of {plural(made.strikes, 'strike')} passed it"
    of_all = f"of {_few(made.stones_per_hectare)} stones under the rows of a hectare"
    text = f"{what}: {seen}; {of_all} {_expected(made)}{_chance(made)}"
    if made.tail is not None:
        text += f" (carried on from the {made.tail.excesses.size} hardest strikes{_end(made)})"
    text += f"; {made.note}" if made.note else ""
    return sentence(f"{text}; at a contact stiffness of {made.stiffness / 1e6:g} MN/m, which nobody knows well")


def passing_lines(made: Sequence[Passing]) -> list[str]:
    """How often a pin passes a load on a hectare, by contact stiffness: a table under its heading, notes below."""
    one = made[0]
    stones = f"of {_few(one.stones_per_hectare)} under the rows of a hectare"
    head = paragraph(
        f"Stones that bring more than {one.limit / 1e3:g} kN on {struck_words(one.pin)}, {stones}", indent=2
    )
    rows = [
        (
            f"{p.stiffness / 1e6:g} MN/m", f"{p.passed} of {p.strikes}", p.reason or _few(p.expected),
            "" if p.reason else span(_few(p.low), _few(p.high)),
        )
        for p in made
    ]  # fmt: skip
    columns = ("contact stiffness", "strikes over", "expected", "19 cases in 20")
    notes = dict.fromkeys(p.note for p in made if p.note)
    return [*head, *table(columns, rows), *items(*map(sentence, notes))]


def _expected(made: Passing) -> str:
    few, least, most = _few(made.expected), _few(made.low), _few(made.high)
    if made.expected < 0.005:
        return f"none is to be expected, up to {most} cannot be ruled out"
    return f"some {few} are to be expected, {span(least, most)} in 19 cases of 20"


def _chance(made: Passing) -> str:
    """The chance of one or more, where they are few."""
    if made.expected >= RARE:
        return ""
    _, low, high = made.chance
    if low < 0.05 and high > 0.95:  # says nothing
        return ""
    return f"; chance of one or more {span(percent(low, 0), percent(high, 0))}"


def _end(made: Passing) -> str:
    if made.tail is None or not math.isfinite(made.tail.end) or made.tail.end > 2.0 * made.limit:
        return ""
    return f", which level off at {made.tail.end / 1e3:.3g} kN"


def _few(value: float) -> str:
    """A number of stones, in two figures.

    >>> _few(9.72), _few(44.4), _few(8000.0), _few(0.004), _few(255.0)
    ('9.7', '44', '8000', '0', '260')
    """
    if value < 0.005:
        return "0"
    return f"{value:.2g}" if value < 10.0 else f"{float(f'{value:.2g}'):.0f}"
