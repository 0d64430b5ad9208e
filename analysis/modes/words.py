"""What `rowbench modes` tells a reader, every sentence from the numbers."""

from __future__ import annotations

import math

import numpy as np

from analysis.modes.crossed import Change, Crossed
from analysis.modes.detail_words import CHANGES, detail_lines, kmh_text, mm_text
from analysis.modes.found import Found
from analysis.modes.rough import PART, Both, Rough
from analysis.modes.shapes import BOTH, BOUNCE, HEAVE, PITCH, PRESS, Mode
from analysis.modes.verdict import EVEN, FALLING, LIFTS, PEAK, RISING, UNKNOWN, Verdict, verdict
from analysis.present.cautions import LOADS_NOTE, closing, warned
from analysis.present.edge import kmh, mm
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import items, joined, setting, span
from analysis.present.texts import number, paragraph, percent, table

NAMES = {
    HEAVE: "toolbar heaves", PITCH: "toolbar pitches", BOTH: "toolbar heaves and pitches",
    BOUNCE: "unit bounces on tyre and soil", PRESS: "press wheel bounces",
}  # fmt: skip
BETTER = 0.95  # of the swing as it is: what counts as better
SHOWN_SPEEDS = 8  # columns of a table by speed
NOTE = (
    "Swings: small motions, seals as the damper they are in just this swing (stuck: never slipping). "
    "Ridges: whole model."
)
MORE = "Yours: --spacing --height. More: --details"
SMALL_NOTE = (
    "Small motions leave out stops, stones, a wheel in the air, furrows that a wheel bridges and soil that gives "
    "nothing back; the seals' friction counts as the damper that takes as much of the very motion as it does."
)


def modes_text(found: Found, *, details: bool = False) -> str:
    """The screen: what shakes it and what to do, these ridges by speed, what swings by itself, random ground."""
    s = found.scenario.settings
    lines = paragraph(
        f"What shakes it: {scenario_title(found.scenario)}, {setting(s.oil_pressure, s.speed, (4, 4), ', ')}"
    )
    lines += ["", *items(*ridge_sentences(found), first="", indent=2), "", *_by_speed(found)]
    lines += ["", *_modes(found), *items(*rough_sentences(found.rough, found, details=details), first="", indent=2)]
    if details:
        lines += detail_lines(found)
    lines += warned(found.warnings)
    return "\n".join([*lines, *closing(NOTE, *((SMALL_NOTE, LOADS_NOTE) if details else (MORE,)))])


def ridge_sentences(found: Found) -> list[str]:
    """What these ridges do, up to which speed they do no harm, the rule for others, and what would change it."""
    judged = verdict(found.crossed, found.scenario.limits.depth_tolerance)
    if judged.kind == UNKNOWN:
        return [f"{_named(found)} could not be crossed at any speed: {found.crossed[0].problem}."]
    return [
        finding(found, judged),
        *_speeds_to_drive(found, judged),
        *_rule(found),
        *_what_changes(found, judged),
    ]


def finding(found: Found, judged: Verdict | None = None) -> str:
    """The first sentence: what shakes it most."""
    judged = judged or verdict(found.crossed, found.scenario.limits.depth_tolerance)
    worst = judged.worst
    if worst is None:
        return "These ridges could not be crossed"
    speeds = f"{kmh_text(found.crossed[0].speed)} to {kmh_text(found.crossed[-1].speed)} km/h"
    own, calmest = found.scenario.settings.speed, judged.calmest
    assert calmest is not None
    if judged.all_within:
        swings = [one.swing for one in found.crossed]
        ends = span(number(mm(min(swings)), 0), number(mm(max(swings)), 0))
        return (
            f"{_nothing(found)}{_named(found)} do the depth no harm: at every speed tried, {speeds}, it stays within "
            f"±{number(mm(found.scenario.limits.depth_tolerance), 0)} mm (±{ends} mm), the gauge wheel on the ground."
        )
    if judged.kind == EVEN:
        swings = [one.swing for one in found.crossed if math.isfinite(one.swing)]
        ends = span(number(mm(min(swings)), 0), number(mm(max(swings)), 0))
        said = f"{_named(found)}: speed makes little difference, depth ±{ends} mm from {speeds}"
        return f"{_nothing(found)}{said}{_off(worst)}."
    does = f"depth ±{number(mm(worst.swing), 0)} mm ({_times(found, worst)}){_off(worst)}"
    if judged.kind == PEAK:
        if found.asked.source == "worst" and abs(worst.speed - own) < 1e-9:
            return f"At your {kmh_text(own)} km/h {_plain(found)} shake it most: {does}."
        yours = ", your speed" if abs(worst.speed - own) < 1e-9 else ""
        return f"{_named(found)} shake it most at {kmh_text(worst.speed)} km/h{yours}: {does}."
    way = {RISING: "the faster, the worse", FALLING: "the slower, the worse"}[judged.kind]
    known = [one for one in found.crossed if not one.problem]
    least = known[0] if judged.kind == RISING else known[-1]
    return (
        f"{_nothing(found)}{_named(found)}: {way}. At {kmh_text(worst.speed)} km/h {does}; at {kmh_text(least.speed)} "
        f"km/h ±{number(mm(least.swing), 0)} mm{_off(least)}."
    )


def _nothing(found: Found) -> str:
    return "" if found.resonates else "Nothing resonates within your speeds. "


def _plain(found: Found) -> str:
    a = found.asked
    return f"ridges {number(a.spacing, 2)} m apart and {number(mm(a.height), 0)} mm high"


def _named(found: Found) -> str:
    a = found.asked
    if a.source == "file":
        return f"Your ridges ({number(a.spacing, 2)} m apart along the row, {number(mm(a.height), 0)} mm high)"
    if a.source == "worst":
        return f"R{_plain(found)[1:]} (the worst at your {kmh_text(found.scenario.settings.speed)} km/h)"
    return f"R{_plain(found)[1:]}"


def _times(found: Found, one: Crossed) -> str:
    return f"{number(2.0 * one.swing / found.asked.height)} times their height"


def _off(one: Crossed) -> str:
    if one.wheel_off < LIFTS:
        return ""
    return f", the gauge wheel off the ground {percent(one.wheel_off, 0)} of the way"


def _speeds_to_drive(found: Found, judged: Verdict) -> list[str]:
    tolerance = f"±{number(mm(found.scenario.limits.depth_tolerance), 0)} mm"
    calmest = judged.calmest
    assert calmest is not None
    if judged.all_within:
        return []
    if judged.least_off is not None:
        least = judged.least_off
        return [
            f"No speed tried keeps the gauge wheel on the ground on them: it is off least at {kmh_text(least.speed)} "
            f"km/h ({percent(least.wheel_off, 0)} of the way). Look for the pressure first (rowbench window)."
        ]  # fmt: skip
    if judged.keeping:
        speeds, only_slow = _keeping(found, judged)
        told = f"{speeds} the depth stays within {tolerance} on them, the wheel on the ground"
        if not only_slow:
            return [f"{told}; not at the others tried."]
        told += ": drive no faster there."
    elif calmest.swing <= found.scenario.limits.depth_tolerance:
        return [
            f"No speed tried keeps the set depth within {tolerance}, though it swings by less: set the depth again."
        ]
    else:
        told = (
            f"No speed tried keeps {tolerance} on them; the calmest is {kmh_text(calmest.speed)} km/h "
            f"(±{number(mm(calmest.swing), 0)})."
        )  # fmt: skip
    faster = judged.faster
    if faster is not None and faster is not calmest:
        off = faster.wheel_off >= LIFTS
        but = f", but the wheel is off the ground {percent(faster.wheel_off, 0)} of the way" if off else ""
        told += f" Faster is calmer again ({kmh_text(faster.speed)} km/h: ±{number(mm(faster.swing), 0)}){but}."
    return [told]


def _keeping(found: Found, judged: Verdict) -> tuple[str, bool]:
    """Speeds that keep the depth, in words; and whether they are the slowest ones and no others."""
    tried, kept = tuple(one.speed for one in found.crossed), judged.keeping
    first, last = kmh_text(kept[0]), kmh_text(kept[-1])
    if kept == tried[: len(kept)]:
        return (f"At {last} km/h" if len(kept) == 1 else f"Up to {last} km/h"), True
    if kept == tried[-len(kept) :] and len(kept) > 1:
        return f"From {first} km/h on", False
    return f"At {joined([kmh_text(one) for one in kept])} km/h", False


def _rule(found: Found) -> list[str]:
    rule = found.rule
    if rule is None:
        return []
    factor, high = kmh(rule.per_metre), number(mm(found.asked.height), 0)
    return [
        f"Other ridges so high ({high} mm), {number(rule.low, 1)} to {number(rule.high, 1)} m apart, shake it most at "
        f"{number(factor, 0)} km/h for each metre between them: 0.5 m, {number(0.5 * factor, 0)} km/h. Keep well below."
    ]


def _change(change: Change, before: Crossed) -> str:
    what, one = CHANGES[change.name].format(value=change.value), change.found
    if not math.isfinite(one.swing):
        return f"{what} cannot be crossed"
    off = f", wheel off {percent(one.wheel_off, 0)}" if one.wheel_off >= LIFTS else ""
    return f"{what}, ±{number(mm(one.swing), 0)} mm{off}"


def _what_changes(found: Found, judged: Verdict) -> list[str]:
    before = found.at_own
    if judged.all_within or not math.isfinite(before.swing):
        return []
    known = [one for one in found.changes if one.found.wheel_off <= before.wheel_off + LIFTS]
    better = sorted((one for one in known if one.found.swing < BETTER * before.swing), key=lambda one: one.found.swing)
    at = f"at {kmh_text(before.speed)} km/h"
    if not better:
        return [f"Neither pressure nor another gauge tyre changes it much {at}."]
    told = "; ".join(_change(one, before) for one in better[:2])
    return [f"What would change it {at} (±{number(mm(before.swing), 0)} mm): {told}."]


def _by_speed(found: Found) -> list[str]:
    shown = found.crossed
    if len(shown) > SHOWN_SPEEDS:
        picked = {round(i) for i in np.linspace(0, len(shown) - 1, SHOWN_SPEEDS)}
        shown = tuple(one for i, one in enumerate(shown) if i in picked or one is found.at_own)
    head = ("On these ridges, at km/h", *(kmh_text(one.speed) for one in shown))
    rows = (
        ("depth swings by ±, mm", *(mm_text(one.swing) for one in shown)),
        ("wheel off the ground", *("–" if one.problem else percent(one.wheel_off, 0) for one in shown)),
    )
    failed = [one for one in found.crossed if one.problem]
    why = [f"At {kmh_text(failed[0].speed)} km/h they could not be crossed: {failed[0].problem}."] if failed else []
    return [*table(head, rows, indent=0), *items(*why, first="", indent=2)]


def _modes(found: Found) -> list[str]:
    speed = found.scenario.settings.speed
    held = {one.kind: one for one in found.held}
    rows = [
        (
            NAMES[one.kind],
            number(one.frequency),
            number(one.damping, 2),
            _held(one, held.get(one.kind)),
            f"{number(one.spacing(speed), 2)} m",
        )
        for one in found.modes
    ]
    if not rows:
        return paragraph("Nothing swings by itself: every motion dies out without going back and forth.")
    head = ("What swings by itself", "a second", "damping", "stuck", f"ridges, {kmh_text(speed)} km/h")
    return table(head, rows, indent=0)


def _held(mode: Mode, stuck: Mode | None) -> str:
    return "no swing" if stuck is None else number(stuck.damping, 2)


def rough_sentences(rough: Rough, found: Found, *, details: bool = True) -> list[str]:
    """What random ground does by spectrum and by the whole model; details: and where the two part."""
    own = rough.own
    if own.whole is None:
        return [f"This ground itself cannot be crossed: {own.problem}."]
    label = found.scenario.roughness_label
    small = own.small if rough.spectra is None else rough.spectra.slipping
    how = "by its spectrum" if rough.spectra is not None else "by small motions"
    if small.depth == 0.0:
        return []
    told = (
        f"This ground{f' ({label})' if label else ''}: depth SD {number(mm(small.depth))} mm {how}, "
        f"{number(mm(own.whole.depth))} by the whole model"
    )
    if found.scenario.stones_on_track():
        told += " (small motions know no stones)"
    loads = f"; gauge load {number(small.gauge_load, 0)} and {number(own.whole.gauge_load, 0)} N"
    told += f"{loads if details else ''}."
    return [told, *(_parting(rough) if details else ())]


def _parting(rough: Rough) -> list[str]:
    limit = percent(PART, 0)
    told = []
    if rough.classes:
        first, last = rough.classes[0].name, rough.classes[-1].name
        part = rough.part_from
        if part is None:
            told.append(f"its heights alone agree within {limit} on classes {first} to {last}")
        else:
            told.append(f"its heights alone part by more than {limit} from class {part.name} on{_why(part)}")
    if rough.soil:
        cv = rough.soil_parts_from
        most = number(rough.soil[-1][0], 2)
        told.append(
            f"its strength alone agrees up to a variation (CV) of {most}"
            if cv is None
            else f"its strength alone parts from a variation (CV) of {number(cv, 2)} on, as soft spots let it in "
            "further than hard ones hold it up"
        )
    return [f"Small motions and the whole model: {'; '.join(told)}."] if told else []


def _why(part: Both) -> str:
    shares = (
        (part.wheel_off, "the wheel off the ground"), (part.at_stop, "the arm at a stop"),
        (part.out_of_soil, "the disc out of the ground"),
    )  # fmt: skip
    told = [f"{what} {percent(share, 0)} of the way" for share, what in shares if share >= LIFTS]
    return f" ({joined(told)})" if told else " (soil that gives nothing back, furrows that wheels bridge)"
