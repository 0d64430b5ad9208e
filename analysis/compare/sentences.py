"""Sentences on one design against the first: how fast each may go, what is better and worse, what matters."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

from analysis.compare.compare import Comparison, Result
from analysis.compare.designs import same
from analysis.compare.measured import Measured
from analysis.compare.paired import LEVEL, Paired, sign_chance
from analysis.present.edge import bar, kmh
from analysis.present.sentences import SCREEN, joined, setting, signed
from analysis.present.texts import number
from analysis.window.limits import hindrance
from analysis.window.why_words import faster


class Sorted(NamedTuple):
    """Texts of what matters, the largest first; words of what does not; of what so few grounds cannot tell."""

    matters: list[str]
    small: list[str]
    unknown: list[str]


def headline(found: Comparison) -> str:
    """The finding in a line or two, for a figure and a document."""
    if len(found.results) > 2 and not found.as_set:
        return ranking(found)
    if same(found.results[0].design, found.results[1].design):
        return "The same design twice: every difference is exactly zero."
    alike = math.isclose(found.results[0].rate, found.results[1].rate)
    return verdict(found, 1) if found.as_set or alike else speed_sentence(found, 1)


def ranking(found: Comparison) -> str:
    """The designs by the hectares an hour of their picks."""
    able = sorted((one for one in found.results if one.pick is not None), key=lambda one: -one.rate)
    by_rate: dict[str, list[str]] = {}
    for one in able:
        by_rate.setdefault(f"{_speed(one)}, {number(one.rate, 2)} ha/h", []).append(one.design.name)
    told = [f"{joined(names)} ({rate})" for rate, names in by_rate.items()]
    none = [one.design.name for one in found.results if one.pick is None]
    unable = f"no setting that meets all limits: {joined(none)}" if none else ""
    if not told:
        return "No design has a setting that meets all its limits."
    first = f"Fastest within all limits: {told[0]}" if len(told) > 1 else f"All alike in speed: {told[0]}"
    return f"{'; '.join(part for part in (first, *told[1:], unable) if part)}."


def speed_sentence(found: Comparison, number_: int) -> str:
    """How fast each may go at its own pick."""
    first, other = found.results[0], found.results[number_]
    a, b = first.pick, other.pick
    if a is None and b is None:
        return f"Neither {first.design.name} nor {other.design.name} has a setting that meets all its limits."
    if a is None or b is None:
        able, unable = (other, first) if a is None else (first, other)
        return (
            f"Only {able.design.name} meets all its limits, up to {_speed(able)}; {unable.design.name} does at no "
            f"setting tried (nearest: {_why_not(unable)})."
        )
    if math.isclose(first.rate, other.rate):
        return f"Both {first.design.name} and {other.design.name} may go {_speed(first)}, {number(first.rate, 2)} ha/h."
    fast, slow = (other, first) if other.rate > first.rate else (first, other)
    share = 100.0 * (fast.rate / slow.rate - 1.0)
    return (
        f"Faster is {fast.design.name}: {_speed(fast)} against {_speed(slow)} of {slow.design.name}, "
        f"{number(fast.rate, 2)} against {number(slow.rate, 2)} ha/h, {share:.0f} % more."
    )


def ground_by_ground(found: Comparison, number_: int) -> str:
    """On how many grounds searched alone one goes faster than the other; "" where none does or there is one ground."""
    first, other = found.results[0], found.results[number_]
    if len(found.seeds) < 2 or first.pick is None or other.pick is None:
        return ""
    rates = [one.pick_speeds * one.design.scenario.machine.hectares_per_hour(1.0) for one in (first, other)]
    more, less = (int((b > a * (1.0 + 1e-9)).sum()) for a, b in (rates, rates[::-1]))
    if not more and not less:
        return ""
    fast, won, lost = (other, more, less) if more >= less else (first, less, more)
    sure = "more than chance" if sign_chance(more, less) < 1.0 - LEVEL else "chance could do that too"
    back = f", slower on {lost}" if lost else ""
    return f"Searched one by one, {fast.design.name} is faster on {won} of {len(found.seeds)} grounds{back}: {sure}."


def held_back(found: Comparison, number_: int) -> str:
    """What keeps the slower of the two from going faster; "" where neither is slower or nothing tried does."""
    first, other = found.results[0], found.results[number_]
    if first.pick is None or other.pick is None or math.isclose(first.rate, other.rate):
        return ""
    slow = first if other.rate > first.rate else other
    if slow.window is None or slow.pick is None or slow.pick.j + 1 == slow.window.speeds.size:
        return ""
    return f"{slow.design.name}: {faster(slow.window, slow.pick)}"


def _why_not(result: Result) -> str:
    outcome, window = result.outcome, result.window
    assert outcome is not None
    assert window is not None
    held = hindrance(window, window.limits, outcome.i, outcome.j)
    failing = [check.sentence() for check in outcome.checks if not check.met]
    return held or (failing[0] if failing else "its limits cannot be checked on so little ground")


def _speed(result: Result) -> str:
    assert result.pick is not None
    return f"{kmh(result.pick.speed):.4g} km/h"


def area_as_set(found: Comparison, number_: int) -> str:
    """Hectares an hour at the settings of the files; "" where they are alike."""
    first, other = found.results[0], found.results[number_]
    rates = [one.design.scenario.machine.hectares_per_hour(one.common.speed) for one in (first, other)]
    if math.isclose(*rates):
        return ""
    share = signed(100.0 * (rates[1] / rates[0] - 1.0), 0)
    return (
        f"{other.design.name} does {number(rates[1], 2)} ha/h against {number(rates[0], 2)} of {first.design.name} "
        f"({share} %)."
    )


def verdict(found: Comparison, number_: int) -> str:
    """Better and worse at the common setting, where it is beyond chance and worth acting on."""
    name = found.results[number_].design.name
    good: list[str] = []
    bad: list[str] = []
    moved: list[str] = []
    for m in found.measures:
        change = found.difference(number_, m.name, own=False)
        if change is None or not matters(found, m, change):
            continue
        if m.better:
            (good if change.mean * m.better > 0.0 else bad).append(m.words)
        else:
            moved.append(f"a {'higher' if change.mean > 0.0 else 'lower'} {m.words}")
    where = "Each at its own setting," if found.as_set else f"At the same setting ({common_setting(found)})"
    where += " on this one ground" if len(found.seeds) == 1 else ""
    if not (good or bad or moved):
        sure = "" if len(found.seeds) == 1 else " that is beyond chance and"
        return f"{where} {name} differs in nothing{sure} worth acting on."
    parts = [f"better in {joined(good)}"] if good else []
    parts += [f"worse in {joined(bad)}"] if bad else []
    if not parts:
        return f"{where} {name} has {joined(moved)}."
    return f"{where} {name} is {', '.join(parts)}{f', with {joined(moved)}' if moved else ''}."


def out_of_place(found: Comparison, number_: int) -> str:
    """Says so where the common pressure lies off those that are worth trying for a design; "" where it does not."""
    if found.as_set:
        return ""
    for one in (found.results[number_], found.results[0]):
        pressure, tried = found.results[0].common.oil_pressure, one.design.scenario.search.pressures
        if not min(tried) <= pressure <= max(tried):
            span = f"{bar(min(tried)):.4g} to {bar(max(tried)):.4g} bar"
            return (
                f"But {bar(pressure):.4g} bar is no pressure for {one.design.name} ({span} are tried): go by the picks."
            )
    return ""


def matters(found: Comparison, m: Measured, change: Paired) -> bool:
    """Whether a difference at the common setting is worth acting on and, where that can be told, beyond chance."""
    if change.none or abs(change.mean) < m.worth_at(first_value(found, m)):
        return False
    return change.beyond_chance or change.count == 1


def sorted_out(found: Comparison, number_: int) -> Sorted:
    """What matters of a design against the first, what does not, and what is not known."""
    large: list[tuple[bool, float, str]] = []
    small, unknown = [], []
    for m in found.measures:
        change = found.difference(number_, m.name, own=False)
        if change is None:
            continue
        worth = m.worth_at(first_value(found, m))
        if matters(found, m, change):
            size = abs(change.mean) / worth if worth else math.inf
            large.append((not m.better, -size, f"{m.words} {difference_text(found, m, change)}"))
        elif change.within(worth) or (change.beyond_chance and abs(change.mean) < worth):
            small.append(m.words)
        else:
            unknown.append(m.words)
    return Sorted([text for _, _, text in sorted(large)], small, unknown)


def first_value(found: Comparison, m: Measured) -> float:
    """What the first design has at the common setting [SI], NaN where it could not be crossed."""
    return mean(found.results[0].common.values[m.name])


def mean(values: Iterable[float]) -> float:
    """Mean of the values that are known, NaN where none is."""
    held = [float(value) for value in values if math.isfinite(value)]
    return sum(held) / len(held) if held else math.nan


def difference_text(found: Comparison, m: Measured, change: Paired) -> str:
    """A difference with the half width of its interval: "−1.2 ± 0.1 points"; of loads its share too."""
    unit, factor, digits = m.form
    base = first_value(found, m)
    share = f" ({signed(100.0 * change.mean / abs(base), 0)} %)" if m.relative and base else ""
    return f"{with_half(change, factor, digits)} {'points' if unit == '%' else unit}{share}"


def with_half(change: Paired, factor: float, digits: int) -> str:
    """A difference and the half width of its interval: "+1.2 ± 0.1", "+196 ± <1"; without one where there is none."""
    told = signed(change.mean * factor, digits)
    if math.isnan(change.low):
        return told
    half = 0.5 * (change.high - change.low) * factor
    least = 10.0**-digits
    return f"{told} ± {f'<{least:.{digits}f}' if 0.0 < half < 0.5 * least else number(half, digits)}"


def common_setting(found: Comparison) -> str:
    """The setting that all are crossed at."""
    at = found.results[0].common
    return setting(at.oil_pressure, at.speed, SCREEN, ", ")
