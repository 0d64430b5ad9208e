"""Sentences on a pick and what stands beside it, shared by the screen, the page, the paddock and the document."""

from __future__ import annotations

import math
from collections.abc import Iterable

from analysis.present.edge import bar, kgf, kmh
from analysis.present.sentences import setting, span
from analysis.window.grid import Window
from analysis.window.limits import asked_text, given, not_checked
from analysis.window.pick import Nearest, Pick
from analysis.window.robustness import Spread, Variant
from analysis.window.weight import LEAST_SHARE, Weight
from scenarios.spec import Limits
from sim.heeds import KINDS

ELSEWHERE_TOLD = ("not_reached", "precharge", "shared", "short_step")  # kinds that need no count over the settings


def headline(choice: Pick | Nearest, where: str = "", *, tried: bool = False) -> str:
    """What to set, or that no setting does and which comes nearest.

    where: the setting in words, with its downforce if left out; tried: only the settings tried are spoken of.
    """
    place = where or setting(choice.oil_pressure, choice.speed, force=choice.downforce)
    if isinstance(choice, Pick):
        return f"Set {place}"
    return f"No setting {'tried meets' if tried else 'meets'} every limit; {place} comes nearest"


def nearest_sentence(found: Nearest) -> str:
    """Which limit fails least, and where."""
    where = setting(found.oil_pressure, found.speed)
    if found.hindrance:
        return f"no setting can be chosen; nearest is {where}: {found.hindrance}"
    said = " and ".join(check.sentence() for check in found.failing)
    return f"no setting meets every limit; nearest is {where}, which fails with {said}"


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
    return [f"not checked, for want of a limit: {', '.join(unchecked)}"] if unchecked else []


def caution_notes(window: Window, choice: Pick | Nearest, warnings: Iterable[str]) -> list[str]:
    """What to heed about a window, each once: limits left out, warnings of the scenario and of settings other than the
    one chosen, crossings not made.
    """
    notes = [*unchecked_notes(window.limits), *warnings, *window.notes, *choice.notes, *elsewhere_notes(window, choice)]
    if window.problems:
        first = next(iter(sorted(window.problems.items())))[1]
        notes.append(f"{len(window.problems)} crossings could not be made; the first: {first}")
    return list(dict.fromkeys(notes))


def variant_sentence(variant: Variant) -> str:
    """What a change does to the pick."""
    if not variant.applies:
        return f"{variant.words}: {variant.note}"
    kept = "the pick still meets every limit" if variant.still_meets else f"the pick then fails with {variant.fails}"
    if variant.pick is None:
        return f"{variant.words}: no setting meets every limit; {kept}"
    return f"{variant.words}: {setting(variant.pick.oil_pressure, variant.pick.speed)}; {kept}"


def spread_sentence(spread: Spread) -> str:
    """The picks of single seeds."""
    if len(spread.seeds) == 1:
        return f"one ground only (seed {spread.seeds[0]}): no spread to tell"
    found = [pick for pick in spread.picks if pick is not None]
    none = len(spread.picks) - len(found)
    if not found:
        return f"alone, none of the {none} seeds has a setting that meets every limit"
    speeds, pressures = sorted(kmh(p.speed) for p in found), sorted(bar(p.oil_pressure) for p in found)
    text = f"each of {len(found)} seeds alone: {_ends(pressures)} bar at {_ends(speeds)} km/h"
    return f"{text}; {none} without a setting" if none else text


def _ends(values: list[float]) -> str:
    return span(f"{values[0]:g}", f"{values[-1]:g}", "–")


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
