"""First screen of `rowbench window`: what to set, why, what it buys, how sure, stones, weight, cautions."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import numpy as np

from analysis.crossing.loads import PinLoad
from analysis.present.edge import bar, kgf, kmh, mm
from analysis.present.scenario_words import scenario_title
from analysis.present.texts import (
    LOADS_NOTE,
    PRESSURE_NOTE,
    SLOT_NOTE,
    labelled,
    number,
    paragraph,
    percent,
    short,
    signed,
    table,
)
from analysis.window.advice import Advice
from analysis.window.gain import Use
from analysis.window.grid import Window
from analysis.window.limits import not_checked
from analysis.window.pick import Nearest, Pick
from analysis.window.pins_at import PinsAt
from analysis.window.robustness import Robustness
from scenarios.scenario import Scenario
from sim.unit import KELVIN


def window_text(advice: Advice, scenario: Scenario) -> str:
    """The screen, from the numbers of a window and of what was found around it."""
    outcome = advice.outcome
    lines = [_title(advice.window, scenario), ""]
    if isinstance(outcome, Pick):
        lines += ["What to set", *_settings(outcome, scenario)]
        lines += ["", "Why", *_list(outcome.why)]
        lines += ["", *_buys(advice, scenario)]
        lines += ["", "How sure", *_sure(advice.robustness, advice.window)]
    else:
        lines += ["What to set", *_sentence(outcome.sentence()), *_settings(outcome, scenario)]
        lines += ["", "What would help", *(_list(outcome.helps) or ["  nothing that this search shows"])]
    lines += ["", "Stones", *_sentence(advice.stones.sentence())]
    lines += ["", "Weight", *_sentence(advice.weight.sentence())]
    if advice.weight.warning:
        lines += _sentence(f"warning: {advice.weight.warning}")
    lines += ["", "Cautions", *_cautions(advice, scenario)]
    return "\n".join(lines)


def pins_text(window: Window, outcome: Pick | Nearest, pins: Mapping[str, PinLoad]) -> str:
    """Tables of pin loads: highest load on any pin over the grid, and every pin at the setting found."""
    head = ["Highest pin load, kN", *(f"{kmh(v):.4g} km/h" for v in window.speeds)]
    grid = window.over_seeds("pin_peak") / 1e3
    rows = [
        [f"{bar(p):.4g} bar", *(number(v, 1) if math.isfinite(v) else "–" for v in row)]
        for p, row in zip(window.pressures[::-1], grid[::-1], strict=True)
    ]
    what = "Pick" if isinstance(outcome, Pick) else "Nearest"
    each = [
        (name.replace("_", " "), number(p.peak / 1e3, 2), number(p.rms / 1e3, 2), number(p.mean / 1e3, 2))
        for name, p in pins.items()
    ]
    title = f"{what}, kN (highest of the seeds)"
    lines = [*table(head, rows, indent=0), "", *table((title, "peak", "RMS", "mean"), each, indent=0)]
    if isinstance(pins, PinsAt) and pins.problem:
        lines += ["", *_sentence(f"no pin loads at this setting: {pins.problem}")]
    return "\n".join(lines)


def _title(window: Window, scenario: Scenario) -> str:
    seeds = window.seeds
    names = f"seeds {seeds[0]}–{seeds[-1]}" if len(seeds) > 1 else f"seed {seeds[0]}"
    tried = f"{window.pressures.size} pressures × {window.speeds.size} speeds"
    return f"{scenario_title(scenario)} ({scenario.name}): {short(scenario.length)} m, {names}, {tried}"


def _settings(found: Pick | Nearest, scenario: Scenario) -> list[str]:
    s = scenario.settings
    change = mm(found.setting_change)
    way = "deeper" if change > 0 else "shallower"
    made = f"the setting made at {short(bar(s.reference_pressure))} bar and {short(kmh(s.reference_speed))} km/h"
    depth = f"{signed(change)} mm ({way}) against {made}" if abs(change) >= 0.05 else f"as it is: {made}"
    return [
        *labelled("  oil pressure", f"{short(bar(found.oil_pressure))} bar = {kgf(found.downforce):.0f} kgf a row"),
        *labelled(
            "  nitrogen", f"precharge {short(bar(s.precharge))} bar at {s.precharge_temperature - KELVIN:.0f} °C"
        ),
        *labelled("  depth setting", depth),
        *labelled("  speed", f"{short(kmh(found.speed))} km/h"),
    ]


def _buys(advice: Advice, scenario: Scenario) -> list[str]:
    """The pick beside the file's present setting."""
    assert advice.gain is not None
    pick, present = advice.gain.pick, advice.gain.present
    tolerance = short(mm(scenario.limits.depth_tolerance))
    left = "left as it was" if present.setting == "unchanged" else "set again"
    head = (
        "What it buys",
        "pick",
        f"present: {short(bar(present.oil_pressure))} bar, {short(kmh(present.speed))} km/h",
    )
    rows = [
        (f"  on depth (±{tolerance} mm)", _share(pick.on_depth_share), _share(present.on_depth_share)),
        ("  the same, depth setting left alone", _left_alone(advice, pick), _left_alone(advice, present)),
        ("  gauge wheel off", _share(pick.wheel_off_share), _share(present.wheel_off_share)),
        ("  hectares an hour", number(pick.hectares_per_hour, 2), number(present.hectares_per_hour, 2)),
    ]
    lines = table(head, rows, indent=0)
    said = f"  Present: depth {left}. {_area(scenario)}"
    return lines + paragraph(said, indent=2) + (_sentence(present.reason) if present.reason else [])


def _left_alone(advice: Advice, use: Use) -> str:
    """On-depth share of a setting of the grid with the depth setting as made at the reference."""
    if use.elsewhere:
        return "–"
    window = advice.window
    i, j = np.isclose(window.pressures, use.oil_pressure), np.isclose(window.speeds, use.speed)
    if not (i.any() and j.any()):
        return "–"
    share = float(window.over_seeds("on_depth_share_unchanged_setting")[int(i.argmax()), int(j.argmax())])
    return _share(share if math.isfinite(share) else None)


def _area(scenario: Scenario) -> str:
    m = scenario.machine
    return f"Area: {m.rows} rows at {short(m.row_spacing)} m, {percent(m.field_efficiency, 0)} of the time at work."


def _share(value: float | None) -> str:
    return "–" if value is None else percent(value)


def _sure(sure: Robustness | None, window: Window) -> list[str]:
    if sure is None:
        return ["  not looked at"]
    lines = _sentence(sure.spread.sentence())
    if len(window.seeds) > 1:
        shares = sure.spread.at_pick
        text = f"at the pick, over the seeds: on depth {_span(shares['on_depth_share'])}, "
        lines += _sentence(text + f"wheel off {_span(shares['wheel_off_share'])}")
    for variant in sure.variants:
        lines += _sentence(variant.sentence())
    return lines


def _span(ends: tuple[float, float]) -> str:
    low, high = ends
    return percent(low) if percent(low) == percent(high) else f"{percent(low)} to {percent(high)}"


def _cautions(advice: Advice, scenario: Scenario) -> list[str]:
    unchecked = not_checked(advice.window.limits)
    lines = _sentence(f"not checked, for want of a limit: {', '.join(unchecked)}") if unchecked else []
    for note in dict.fromkeys((*scenario.warnings, *advice.window.notes, *advice.outcome.notes)):
        lines += _sentence(note)
    if advice.window.problems:
        count = len(advice.window.problems)
        first = next(iter(sorted(advice.window.problems.items())))[1]
        lines += _sentence(f"{count} crossings could not be made; the first: {first}")
    return lines + _list((f"{SLOT_NOTE} {LOADS_NOTE}", PRESSURE_NOTE))


def _list(sentences: Sequence[str]) -> list[str]:
    return [line for text in sentences for line in paragraph(text, first="  ", indent=4)]


def _sentence(text: str) -> list[str]:
    """A text as a sentence: capital in front, full stop behind."""
    text = text[0].upper() + text[1:]
    return paragraph(text if text.endswith(".") else f"{text}.", first="  ", indent=4)
