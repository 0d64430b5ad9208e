"""Screen of `rowbench window --details`: all that is told of a window, every reason and caution in full."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.present.cautions import LOADS_NOTE, PRESSURE_NOTE, SLOT_NOTE
from analysis.present.edge import mm
from analysis.present.sentences import items, known
from analysis.present.texts import number, paragraph, percent, short, table
from analysis.stones.words import loads_sentence
from analysis.window.advice import Advice
from analysis.window.doubt.words import assumed_words, detail_sentences, fitted_words, reasons
from analysis.window.feature.feature_words import compared, judged
from analysis.window.gain import Use
from analysis.window.pick import Pick
from analysis.window.sentences import (
    LEAST,
    caution_notes,
    weight_sentence,
    weight_warning,
)
from analysis.window.sure.words import all_lines, assumed_sentence
from analysis.window.words import (
    doubt_lines,
    gain_heading,
    heed_lines,
    nothing_lines,
    said_lines,
    set_lines,
    title_lines,
    use_words,
    worn_lines,
)
from scenarios.scenario import Scenario


def detailed_text(advice: Advice, scenario: Scenario, worn: Sequence[str] = (), renewing: bool = False) -> str:
    """The whole screen; arguments as `analysis.window.words.window_text`."""
    outcome, warning = advice.outcome, weight_warning(advice.weight)
    lines = [*title_lines(advice.window, scenario), *paragraph(judged(scenario), indent=2), ""]
    if isinstance(outcome, Pick):
        lines += ["What to set", *set_lines(advice, scenario), *doubt_lines(advice, outcome), *heed_lines(outcome)]
        lines += ["", "Why", *items(*reasons(advice.window, outcome, advice.doubt))]
        lines += ["", *_buys(advice, scenario)]
        lines += ["", "How sure", *_sure(advice), *worn_lines(worn)]
    else:
        lines += [*nothing_lines(advice, None, worn, renewing), *heed_lines(outcome)]
    where = "" if isinstance(outcome, Pick) else f" at the setting that {LEAST}"
    lines += ["", f"Stones{where}", *said_lines(loads_sentence(advice.stones))]
    said = [weight_sentence(advice.weight), *([f"warning: {warning}"] if warning else [])]
    lines += ["", f"Weight{where}", *said_lines(*said)]
    lines += ["", "Cautions", *_cautions(advice, scenario)]
    return "\n".join(lines)


def _buys(advice: Advice, scenario: Scenario) -> list[str]:
    """The pick beside the file's present setting."""
    assert advice.gain is not None
    pick, present = advice.gain.pick, advice.gain.present
    tolerance = short(mm(scenario.limits.depth_tolerance))
    left = "left as it was" if present.setting == "unchanged" else "set again"
    head = (gain_heading(advice.gain), "pick", f"present: {use_words(present, pick)}")
    shares = [
        (f"  on depth (±{tolerance} mm)", known(pick.on_depth_share), known(present.on_depth_share)),
        ("  the same, depth setting left alone", _left_alone(advice, pick), _left_alone(advice, present)),
        ("  gauge wheel off", known(pick.wheel_off_share), known(present.wheel_off_share)),
    ]
    if pick.at is not None:
        shares = [(f"  {what}", a, b) for what, a, b in compared(pick, present, scenario.limits.depth_tolerance)]
    rows = [
        *shares,
        ("  hectares an hour", number(pick.hectares_per_hour, 2), number(present.hectares_per_hour, 2)),
    ]
    lines = table(head, rows, indent=0)
    said = f"  Present: depth {left}. {_area(scenario)}"
    barred = [f"warning of the present setting: {text}" for text in present.warnings[:1]]
    told = [f"present setting: {present.reason}"] if present.reason else barred
    return lines + paragraph(said, indent=2) + said_lines(*told)


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


def _sure(advice: Advice) -> list[str]:
    if advice.robustness is None:
        return ["  not looked at"]
    doubt = advice.doubt
    if doubt is None:
        return items(*all_lines(advice.robustness))
    rests = [fitted_words(doubt)]
    if not doubt.decides:
        rests = [assumed_sentence(advice.robustness.assumed), assumed_words(doubt, advice.robustness.assumed)]
    return items(*all_lines(advice.robustness, [*rests, *detail_sentences(doubt, advice.window)]))


def _cautions(advice: Advice, scenario: Scenario) -> list[str]:
    notes = caution_notes(advice.window, advice.outcome, scenario.warnings)
    return said_lines(*notes) + items(f"{SLOT_NOTE} {LOADS_NOTE}", PRESSURE_NOTE)
