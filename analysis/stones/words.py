"""Sentences on stones: loads of a strike, how fast a stone may be met, how often a hectare passes a limit."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from analysis.present.edge import bar, kmh, mm
from analysis.present.sentences import items, joined, sentence, setting, span
from analysis.present.texts import percent
from analysis.stones.per_hectare import Chance, count_interval
from analysis.stones.speed import SPEEDS, Fastest, Limit, Part, StoneSpeed
from analysis.stones.strike import LENGTH, PROUD, StoneLoads

PARTS: dict[Part, str] = {"disc": "the force on the disc", "pin": "the load on the most loaded pin"}


def met_text(found: Iterable[tuple[StoneSpeed, Chance]], at: str = "") -> str:
    """How fast over a stone and how often on a hectare, limit by limit. at: at which setting, for the heading."""
    said = [sentence(text) for fastest, chance in found for text in (speed_sentence(fastest), chance_sentence(chance))]
    return "\n".join([f"How fast over a stone{at}", *items(*said)])


def loads_sentence(found: StoneLoads) -> str:
    """The range of peaks at a pressure and speed."""
    if found.reason:
        return f"stone {mm(PROUD):g} mm proud: not crossed, {found.reason}"
    low, high = min(found.disc_peaks) / 1e3, max(found.disc_peaks) / 1e3
    pin = found.pins[max(range(len(found.pins)), key=lambda n: found.pin_peaks[n])]
    text = (
        f"{_stone(PROUD, f'{LENGTH:g}')}, {setting(found.oil_pressure, found.speed, join=', ')}: "
        f"disc {low:.1f}–{high:.1f} kN, most loaded pin "
        f"({pin}) {min(found.pin_peaks) / 1e3:.1f}–{max(found.pin_peaks) / 1e3:.1f} kN for a contact stiffness of "
        f"{min(found.stiffnesses) / 1e6:g}–{max(found.stiffnesses) / 1e6:g} MN/m"
    )
    return text + _giving_way("it", found.give_way, found.stiffnesses, found.gives_way)


def _giving_way(what: str, force: float, stiffnesses: Sequence[float], gives_way: Sequence[bool]) -> str:
    """That a stone gives way, and with which stiffness where it does not with all."""
    if not any(gives_way):
        return ""
    of = [f"{k / 1e6:g}" for k, gave in zip(stiffnesses, gives_way, strict=True) if gave]
    at = "" if all(gives_way) else f" for {' and '.join(of)} MN/m"
    return f"; {what} gives way at {force / 1e3:g} kN upwards{at}"


def _stone(proud: float, length: str) -> str:
    return f"a stone {mm(proud):g} mm proud and {length} m long, flat ground, level toolbar"


def speed_sentence(found: StoneSpeed) -> str:
    """How fast at the stiffest and at the softest contact."""
    stone = f"{_stone(found.proud, f'{found.length:.3g}')}, {bar(found.oil_pressure):.4g} bar"
    limit = found.limit
    text = f"{stone}: {PARTS[limit.part]} stays within {limit.force / 1e3:g} kN {_speeds(found)}"
    made = found.found
    return text + _giving_way(
        "at these speeds the stone", found.give_way, [f.stiffness for f in made], [f.gives_way for f in made]
    )


def _speeds(made: StoneSpeed) -> str:
    slow = min(made.found, key=lambda f: f.speed or 0.0)
    quick = max(made.found, key=lambda f: f.speed or 0.0)
    if _held(slow) == _held(quick):
        ends = span(f"{made.found[0].stiffness / 1e6:g}", f"{made.found[-1].stiffness / 1e6:g}")
        return f"{_held(slow)} for any contact stiffness from {ends} MN/m"
    return (
        f"{_held(slow)} for a contact stiffness of {slow.stiffness / 1e6:g} MN/m, {_held(quick)} for "
        f"{quick.stiffness / 1e6:g} MN/m"
    )


def _held(found: Fastest) -> str:
    """Up to which speed a limit holds."""
    if found.speed is None:
        return f"not even at {kmh(SPEEDS[0]):.4g} km/h"
    if not found.passed:
        return f"up to {kmh(found.speed):.4g} km/h (the fastest looked at)"
    # rounded down, so that the limit holds at what is said
    return f"up to {math.floor(found.speed * 36.0 + 1e-6) / 10.0:.1f} km/h"


def chance_sentence(made: Chance) -> str:
    """The range of expected numbers and chances on a hectare."""
    if made.reason:
        return f"stones a hectare: {made.reason}"
    rows = f"{kmh(made.speed):.4g} km/h, rows {made.row_spacing:g} m apart"
    text = f"stones a hectare ({rows}): of {_few(made.strikes_per_hectare)} under the rows "
    low, high = min(p.low for p in made.found), max(p.high for p in made.found)
    if high == 0.0:
        text += f"none brings {_passed(made.limit)}"
    else:
        each = joined([f"{span(_few(p.low), _few(p.high))} at {p.stiffness / 1e6:g} MN/m" for p in made.found])
        text += f"{each} of contact stiffness bring {_passed(made.limit)}{_chance(low, high)}{_middle(made)}"
    error = 100.0 * max(p.error for p in made.found)
    return f"{text}; flat ground, mean strength, peaks known to {error:.1f} % of the limit"


def _middle(made: Chance) -> str:
    """What the middle stiffness gives, with the scatter of a count."""
    p = made.found[len(made.found) // 2]
    few, many = count_interval(p.per_hectare)
    mean = f"{_few(p.per_hectare)} in the mean, {_few(few)} to {_few(many)} on 19 hectares of 20"
    return f"; at {p.stiffness / 1e6:g} MN/m {mean if p.per_hectare > 0.0 else 'none'}"


def _chance(low: float, high: float) -> str:
    """Chance of one or more on a hectare, from the least and the greatest number expected there."""
    least, most = (percent(-math.expm1(-n), 0) for n in (low, high))
    if (least, most) == ("0 %", "100 %"):
        return ": it hangs on a stiffness that is not known"
    return f"; chance of one or more {span(least, most)}"


def _passed(limit: Limit) -> str:
    """What passes a limit."""
    return f"more than {limit.force / 1e3:g} kN on the {'disc' if limit.part == 'disc' else 'most loaded pin'}"


def _few(value: float) -> str:
    """A number of stones, in two figures, from 100 on in three.

    >>> _few(9.72), _few(44.0), _few(1287.6), _few(0.0)
    ('9.7', '44', '1290', '0')
    """
    if value < 10.0:
        return f"{value:.2g}"
    return f"{value:.0f}" if value < 1000.0 else f"{float(f'{value:.3g}'):.0f}"
