"""Sentences on a pick and what stands beside it, shared by the screen, the page, the paddock and the document."""

from __future__ import annotations

import math
from collections.abc import Iterable

from analysis.present.edge import bar, kgf, kmh, mm
from analysis.present.sentences import setting
from analysis.present.texts import percent, short
from analysis.window.grid import Window
from analysis.window.limits import asked_text, given, not_checked
from analysis.window.pick import Nearest, Pick
from analysis.window.weight import LEAST_SHARE, Weight
from scenarios.spec import Limits
from sim.heeds import KINDS

NOTHING = "No setting to use"  # over all that is told where no setting tried is to be set
LEAST = "fails least (not to be set)"  # beside the setting that is told there
_AT_PRESSURE = {
    "lowest_pressure": "the lowest tried",
    "highest_pressure": "the highest tried; higher was not looked at",
}
_AT_SPEED = {"lowest_speed": "the slowest tried", "highest_speed": "the fastest tried; faster was not looked at"}
_AT_PRECHARGE = {"lowest_precharge": "the lowest tried", "highest_precharge": "the highest tried"}
ELSEWHERE_TOLD = ("not_reached", "precharge", "shared", "short_step")  # kinds that need no count over the settings


def headline(choice: Pick | Nearest, where: str = "") -> str:
    """What to set, or that no setting tried is to be set.

    where: the setting in words; with its downforce and set depth if left out.
    """
    if isinstance(choice, Pick):
        return f"Set {where or full_setting(choice)}"
    return f"{NOTHING}: none of those tried {_misses(choice)}"


def asked_chance(confidence: float) -> str:
    """The chance that is asked for, in words.

    >>> asked_chance(0.8), asked_chance(0.999)
    ('80 %', '99.9 %')
    """
    return f"{confidence * 100.0:.3g} %"


def _misses(found: Nearest) -> str:
    """What none of the settings tried does."""
    if found.confidence is not None:
        return f"meets every limit with a chance of {asked_chance(found.confidence)}"
    return "can be chosen" if found.hindrance else "meets every limit"


def full_setting(choice: Pick | Nearest) -> str:
    """A setting with what it presses on a row and its set depth."""
    return f"{setting(choice.oil_pressure, choice.speed, force=choice.downforce)}, {depth_words(choice.set_depth)}"


def depth_words(set_depth: float) -> str:
    """A set depth [m] in words.

    >>> depth_words(0.04), depth_words(0.0375)
    ('set depth 40 mm', 'set depth 37.5 mm')
    """
    return f"set depth {short(mm(set_depth))} mm"


def pressure_edge(choice: Pick | Nearest) -> str:
    """That its pressure is the lowest or the highest tried, "" where it is neither."""
    return "".join(text for name, text in _AT_PRESSURE.items() if name in choice.at_edge)


def speed_edge(choice: Pick | Nearest) -> str:
    """That its speed is the slowest or the fastest tried, "" where it is neither."""
    return "".join(text for name, text in _AT_SPEED.items() if name in choice.at_edge)


def precharge_edge(choice: Pick | Nearest) -> str:
    """That its precharge is the lowest or the highest tried, "" where it is neither."""
    return "".join(text for name, text in _AT_PRECHARGE.items() if name in choice.at_edge)


def edge_notes(choice: Pick | Nearest) -> list[str]:
    """At which ends of the search a choice lies."""
    ends = ((bar(choice.oil_pressure), "bar", pressure_edge(choice)), (kmh(choice.speed), "km/h", speed_edge(choice)))
    return [f"{short(value)} {unit} is {text}" for value, unit, text in ends if text]


def failing_text(found: Nearest) -> str:
    """What a setting fails with, and how far it is off."""
    if found.confidence is not None and found.chance is not None:
        return f"its chance of {percent(found.chance, 0)} is the highest"
    return found.hindrance or " and ".join(check.sentence() for check in found.failing)


def nearest_sentence(found: Nearest) -> str:
    """That none of the settings tried is to be set, and what the one fails with that fails least."""
    where = setting(found.oil_pressure, found.speed)
    return f"no setting tried {_misses(found)}, so none is to be set; {where} fails least: {failing_text(found)}"


def warning_notes(choice: Pick | Nearest) -> list[str]:
    """What to heed at a setting; of one that is not picked without what keeps it from being set, told already."""
    told = {"not_reached", "precharge"} if isinstance(choice, Nearest) else set()
    return [heed.text for heed in choice.heeds if heed.kind not in told]


def elsewhere_notes(window: Window, choice: Pick | Nearest) -> list[str]:
    """At how many of the other settings there is something to heed, kind by kind; none where there is nothing."""
    found: dict[str, set[tuple[int, int]]] = {}
    barred = set()
    for (i, j, _), heeds in window.heeds.items():
        for heed in heeds:
            if (i, j) != (choice.i, choice.j) and heed.kind not in ELSEWHERE_TOLD:
                found.setdefault(heed.kind, set()).add((i, j))
                barred |= {heed.kind} if heed.barred else set()
    if not found:
        return []
    others = window.pressures.size * window.speeds.size - 1
    said = [f"{KINDS[k]} at {len(found[k])}{', never picked' if k in barred else ''}" for k in KINDS if k in found]
    many = f"{others} other settings" if others > 1 else "other setting"
    return [f"of the {many}: {'; '.join(said)}"]


def limit_words(limits: Limits) -> list[str]:
    """The limits that are checked, one by one."""
    return [asked_text(limit, asked) for limit, asked in given(limits)]


def unchecked_notes(limits: Limits) -> list[str]:
    """Which limits are not checked; none: all are."""
    unchecked = not_checked(limits)
    return [f"not checked (no limit given): {', '.join(unchecked)}"] if unchecked else []


def caution_notes(window: Window, choice: Pick | Nearest, warnings: Iterable[str]) -> list[str]:
    """What to heed about a window, each once: limits left out, warnings of the scenario and of settings other than the
    one chosen, crossings not made.
    """
    notes = [*unchecked_notes(window.limits), *warnings, *window.notes, *choice.notes, *elsewhere_notes(window, choice)]
    if window.problems:
        first = next(iter(sorted(window.problems.items())))[1]
        notes.append(f"{len(window.problems)} crossings could not be made; the first: {first}")
    return list(dict.fromkeys(notes))


def weight_sentence(weight: Weight) -> str:
    """Rows × downforce against the weight."""
    share = weight.remaining_share
    left = f"{share * 100:.0f} % of the weight stays on its wheels" if share > 0.0 else "none is left on its wheels"
    return (
        f"{weight.rows} rows × {kgf(weight.downforce):.0f} kgf = {kgf(weight.lift):.0f} kgf against "
        f"{kgf(weight.weight):.0f} kg on the toolbar: {left}"
    )


def weight_warning(weight: Weight) -> str:
    """What to heed, "" if enough weight is left."""
    share = weight.remaining_share
    if weight.enough:
        return ""
    if share <= 0.0:
        return (
            f"{weight.rows} rows lift {kgf(weight.lift):.0f} kgf, more than the {kgf(weight.weight):.0f} kg on the "
            "toolbar: it would be lifted and the downforce not reached; add mass or set less pressure"
        )
    return (
        f"only {math.floor(share * 1000) / 10:g} % of the weight stays on the toolbar's wheels, under "
        f"{LEAST_SHARE * 100:.0f} % (assumed): add mass or set less pressure"
    )
