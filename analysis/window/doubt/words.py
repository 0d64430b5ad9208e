"""The chance that all limits are met, in sentences."""

from __future__ import annotations

import numpy as np

from analysis.present.edge import bar, kmh
from analysis.present.sentences import SCREEN, setting
from analysis.present.texts import percent, plural
from analysis.window.doubt.chance import Chance
from analysis.window.doubt.pick import Doubt
from analysis.window.grid import Window
from analysis.window.limits import stops
from analysis.window.pick import Nearest, Pick
from analysis.window.robustness import Robustness, Trial
from analysis.window.sentences import asked_chance
from analysis.window.sure.assumed import Assumed
from analysis.window.why_words import why


def chance_words(chance: Chance, i: int, j: int, sets: str = "sets of values") -> str:
    """The chance of a cell with how many sets it is from; of all or none of them only a bound."""
    good, n = chance.good(i, j), chance.sets
    if good == n:
        return f"above {percent(chance.interval(i, j)[0], 0)} (all of {n} {sets})"
    if good == 0:
        return f"below {percent(chance.interval(i, j)[1], 0)} (none of {n} {sets})"
    return f"{percent(good / n, 0)} ({good} of {n} {sets})"


def _of(chance: str) -> str:
    """A chance behind that word: "of 84 % (…)", "above 89 % (…)"."""
    return f"of {chance}" if chance[0].isdigit() else chance


def asked_words(doubt: Doubt) -> str:
    """The chance that is asked for."""
    return f"{asked_chance(doubt.confidence)} is asked"


def set_words(doubt: Doubt, found: Pick | Nearest) -> str:
    """The chance of a pick in a line under what to set."""
    return f"{chance_words(doubt.chance, found.i, found.j)} that every limit is met; {asked_words(doubt)}"


def faster_words(doubt: Doubt, window: Window, found: Pick | Nearest) -> str:
    """What the next higher speed's best chance is, without a word in front."""
    j = found.j + 1
    good = doubt.chance.met[:, :, j].sum(axis=0)
    i = int(good.argmax())
    best = chance_words(doubt.chance, i, j)
    return f"{kmh(window.speeds[j]):.4g} km/h has at most {best}, at {bar(window.pressures[i]):.4g} bar"


def reasons(window: Window, pick: Pick, doubt: Doubt | None) -> tuple[str, ...]:
    """Three sentences: what stops going faster, lower in pressure, higher; by the chance where that decides."""
    if doubt is None or not doubt.decides or pick.chance is None:
        return why(window, pick)
    if pick.j + 1 == window.speeds.size:
        faster = f"{kmh(window.speeds[pick.j]):.4g} km/h is the fastest speed tried; faster was not looked at"
    else:
        faster = f"{faster_words(doubt, window, pick)}; {asked_words(doubt)}"
    return f"Faster: {faster}.", _beside(doubt, window, pick, -1), _beside(doubt, window, pick, 1)


def _beside(doubt: Doubt, window: Window, pick: Pick, step: int) -> str:
    """The chance of the next pressure below (step −1) or above (step 1) at the same speed."""
    way, end = ("Lower", "lowest") if step < 0 else ("Higher", "highest")
    i = pick.i + step
    if not 0 <= i < window.pressures.size:
        here = f"{bar(window.pressures[pick.i]):.4g} bar"
        return f"{way}: {here} is the {end} pressure tried; {way.lower()} was not looked at."
    if not doubt.chance.good(i, pick.j):
        said = f"none of {doubt.chance.sets} sets of values meets every limit"
        return (
            f"{way}: at {bar(window.pressures[i]):.4g} bar {said}; as fitted: "
            f"{stops(window, window.limits, i, pick.j)}."
        )
    there = chance_words(doubt.chance, i, pick.j)
    even = " too" if doubt.chance.good(i, pick.j) == doubt.chance.good(pick.i, pick.j) else ""
    return f"{way}: {bar(window.pressures[i]):.4g} bar has {there}{even}."


def cost_words(doubt: Doubt) -> str:
    """What the doubt costs, "" where nothing."""
    known, sure = doubt.known, doubt.sure
    if not isinstance(known, Pick) or not doubt.lost:
        return ""
    place = "" if isinstance(sure, Nearest) else f" in place of {kmh(sure.speed):.4g}"
    return f"with everything known: {kmh(known.speed):.4g} km/h{place}"


def assumed_words(doubt: Doubt, found: Assumed) -> str:
    """Of a pick whose values are assumed: that they are, its chance, which slower speed has that asked for."""
    known, sure = doubt.known, doubt.sure
    here, asked = chance_words(doubt.chance, known.i, known.j, "sets"), asked_chance(doubt.confidence)
    said = f"{_lead(found)}: a chance {_of(here)} that every limit is met"
    if not isinstance(sure, Pick):
        return f"{said}; no slower speed has {asked}" if known.j else f"{said}; {asked} is asked"
    if (sure.i, sure.j) == (known.i, known.j):
        return said
    where = setting(sure.oil_pressure, sure.speed, SCREEN)
    return f"{said}; safer: {where}, {chance_words(doubt.chance, sure.i, sure.j, 'sets')}"


def _lead(found: Assumed) -> str:
    """Whose the values of soil and unit are."""
    count, left = len(found.left) + len(found.stated), len(found.left)
    if found.made_up and not found.stated:
        return "soil and unit are the library's, made up (your own: rowbench fit)"
    if not left:
        return "soil and unit are your values, not fitted yet (rowbench fit)"
    return f"{left} of {count} values of soil and unit are assumed (your own: rowbench fit)"


def fitted_words(doubt: Doubt) -> str:
    """What a pick rests on whose values were fitted."""
    held, readings = doubt.chance.held, doubt.readings
    assumed = len(held.names) - sum(held.measured)
    more = f"; {plural(assumed, 'more value')} in doubt as [prior] has it" if assumed else ""
    return f"{plural(sum(held.measured), 'value')} in doubt as far as {plural(readings, 'reading')} left it{more}"


def nothing_words(doubt: Doubt) -> str:
    """That no setting has the chance asked for, and the highest."""
    sure = doubt.sure
    said = f"the highest is {chance_words(doubt.chance, sure.i, sure.j)}"
    cost = cost_words(doubt)
    told = f"; {cost}, so what is in doubt costs the pick" if cost else ""
    none = f"none of those tried meets every limit with a chance of {asked_chance(doubt.confidence)}"
    return f"{none}, so none is to be set; {said}{told}"


def measure_words(sure: Robustness | None) -> str:
    """What to measure first: of the values that move the pick most the first that can be; "" where none can."""
    first = first_measured(sure)
    if first is None:
        return ""
    return f"measure {first.doubtful.words} ({first.doubtful.measured}): of what can be measured it moves the pick most"


def first_measured(sure: Robustness | None) -> Trial | None:
    """Of the values that move the pick most the first that its user can measure."""
    moving = () if sure is None else sure.moving
    return next((one for one in moving if one.doubtful.measured), None)


def detail_sentences(doubt: Doubt, window: Window) -> list[str]:
    """All of it: of what the chance is, its interval, every speed's best."""
    chance, found = doubt.chance, doubt.outcome
    low, high = (percent(end, 0) for end in chance.interval(found.i, found.j))
    table = "[uncertain]" if any(chance.held.measured) else "[prior]"
    here = chance_words(chance, found.i, found.j)
    said = [
        f"{plural(chance.sets, 'set')} of the {plural(len(chance.held.names), 'value')} in doubt ({table} in the file) "
        f"drawn (--draws), each crossed at the same pressures, speeds and grounds: {here} here, from {low} to {high} "
        "with other sets (19 of 20 times)"
    ]
    best = []
    for j in np.flatnonzero(chance.looked.any(axis=0)):
        good = chance.met[:, :, j].sum(axis=0)
        i = int(good.argmax())
        share = percent(good[i] / chance.sets, 0)
        best.append(f"{kmh(window.speeds[j]):.4g} km/h {share} ({bar(window.pressures[i]):.4g})")
    said.append(f"best chance of each speed looked at (its pressure, bar): {', '.join(best)}")
    cost = cost_words(doubt)
    return [*said, *([cost] if cost and doubt.decides else [])]
