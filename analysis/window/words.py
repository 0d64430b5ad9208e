"""First screen of `rowbench window`: what to set, why, what it buys, how sure, stones, weight, cautions."""

from __future__ import annotations

import math
from collections.abc import Mapping

import numpy as np

from analysis.crossing.loads import PinLoad
from analysis.present.cautions import LOADS_NOTE, PRESSURE_NOTE, SLOT_NOTE
from analysis.present.edge import bar, kmh, mm
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import SCREEN, items, known, loaded, numbered, sentence, setting
from analysis.present.texts import labelled, number, paragraph, percent, pin_lines, short, signed, table
from analysis.stones.words import loads_sentence
from analysis.window.advice import Advice
from analysis.window.gain import Use
from analysis.window.grid import Window
from analysis.window.help_words import helps
from analysis.window.pick import Nearest, Pick
from analysis.window.pins_at import PinsAt
from analysis.window.robustness import Robustness
from analysis.window.sentences import (
    caution_notes,
    nearest_sentence,
    warning_notes,
    weight_sentence,
    weight_warning,
)
from analysis.window.sure.words import first_lines
from analysis.window.why_words import why
from scenarios.scenario import Scenario
from sim.unit import KELVIN


def window_text(advice: Advice, scenario: Scenario) -> str:
    """The screen, from the numbers of a window and of what was found around it."""
    outcome, warning = advice.outcome, weight_warning(advice.weight)
    lines = [_title(advice.window, scenario), ""]
    if isinstance(outcome, Pick):
        lines += ["What to set", *_settings(outcome, scenario), *_warnings(outcome)]
        lines += ["", "Why", *items(*why(advice.window, outcome))]
        lines += ["", *_buys(advice, scenario)]
        lines += ["", "How sure", *_sure(advice.robustness)]
    else:
        lines += ["What to set", *_said(nearest_sentence(outcome)), *_settings(outcome, scenario), *_warnings(outcome)]
        said = helps(advice.window, outcome) or ("nothing that this search shows",)
        lines += ["", "What would help", *items(*said)]
    lines += ["", "Stones", *_said(loads_sentence(advice.stones))]
    lines += ["", "Weight", *_said(weight_sentence(advice.weight), *([f"warning: {warning}"] if warning else []))]
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
    each = {name: (p.peak, p.rms, p.mean) for name, p in pins.items()}
    title = f"{what}, kN (highest of the seeds)"
    lines = [*table(head, rows, indent=0), "", *pin_lines(title, each)]
    if isinstance(pins, PinsAt) and pins.problem:
        lines += ["", *paragraph(sentence(f"no pin loads at this setting: {pins.problem}"))]
    return "\n".join(lines)


def _title(window: Window, scenario: Scenario) -> str:
    ground = f"{short(scenario.length)} m, {numbered('seed', window.seeds)}"
    tried = f"{window.pressures.size} pressures × {window.speeds.size} speeds"
    return f"{scenario_title(scenario)} ({scenario.name}): {ground}, {tried}"


def _settings(found: Pick | Nearest, scenario: Scenario) -> list[str]:
    s = scenario.settings
    change = mm(found.setting_change)
    way = "deeper" if change > 0 else "shallower"
    made = f"the setting made at {setting(s.reference_pressure, s.reference_speed, SCREEN, ' and ')}"
    depth = f"{signed(change)} mm ({way}) against {made}" if abs(change) >= 0.05 else f"as it is: {made}"
    return [
        *labelled("  oil pressure", loaded(found.oil_pressure, found.downforce)),
        *labelled(
            "  nitrogen", f"precharge {short(bar(s.precharge))} bar at {s.precharge_temperature - KELVIN:.0f} °C"
        ),
        *labelled("  depth setting", depth),
        *labelled("  speed", f"{short(kmh(found.speed))} km/h"),
    ]


def _warnings(found: Pick | Nearest) -> list[str]:
    """What to heed at the setting found."""
    return items(*(sentence(f"warning: {text}") for text in warning_notes(found)))


def _buys(advice: Advice, scenario: Scenario) -> list[str]:
    """The pick beside the file's present setting."""
    assert advice.gain is not None
    pick, present = advice.gain.pick, advice.gain.present
    tolerance = short(mm(scenario.limits.depth_tolerance))
    left = "left as it was" if present.setting == "unchanged" else "set again"
    head = (
        "What it buys",
        "pick",
        f"present: {setting(present.oil_pressure, present.speed, SCREEN, ', ')}",
    )
    rows = [
        (f"  on depth (±{tolerance} mm)", known(pick.on_depth_share), known(present.on_depth_share)),
        ("  the same, depth setting left alone", _left_alone(advice, pick), _left_alone(advice, present)),
        ("  gauge wheel off", known(pick.wheel_off_share), known(present.wheel_off_share)),
        ("  hectares an hour", number(pick.hectares_per_hour, 2), number(present.hectares_per_hour, 2)),
    ]
    lines = table(head, rows, indent=0)
    said = f"  Present: depth {left}. {_area(scenario)}"
    barred = [f"warning of the present setting: {text}" for text in present.warnings[:1]]
    told = [present.reason] if present.reason else barred
    return lines + paragraph(said, indent=2) + _said(*told)


def _left_alone(advice: Advice, use: Use) -> str:
    """On-depth share of a setting of the grid with the depth setting as made at the reference."""
    if use.elsewhere:
        return "–"
    window = advice.window
    i, j = np.isclose(window.pressures, use.oil_pressure), np.isclose(window.speeds, use.speed)
    if not (i.any() and j.any()):
        return "–"
    share = float(window.over_seeds("on_depth_share_unchanged_setting")[int(i.argmax()), int(j.argmax())])
    return known(share)


def _area(scenario: Scenario) -> str:
    m = scenario.machine
    return f"Area: {m.rows} rows at {short(m.row_spacing)} m, {percent(m.field_efficiency, 0)} of the time at work."


def _sure(sure: Robustness | None) -> list[str]:
    if sure is None:
        return ["  not looked at"]
    said, moving = first_lines(sure)
    return items(*said) + items(*moving, first="    ", indent=6)


def _cautions(advice: Advice, scenario: Scenario) -> list[str]:
    notes = caution_notes(advice.window, advice.outcome, scenario.warnings)
    return _said(*notes) + items(f"{SLOT_NOTE} {LOADS_NOTE}", PRESSURE_NOTE)


def _said(*texts: str) -> list[str]:
    """Lines of texts as sentences, one under the other."""
    return items(*map(sentence, texts))
