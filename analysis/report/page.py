"""A report turned into one HTML page: the numbers it shows, put into the template beside this file."""

from __future__ import annotations

import math
import shlex
from datetime import date
from typing import Any

import numpy as np

from analysis.crossing.place_words import metres
from analysis.drawn.geometry import geometry, room
from analysis.drawn.samples import ground_line, packed
from analysis.drawn.templates import rendered, script_data
from analysis.pins.wear.words import first_sentences, full_sentences, sure_sentences, workshop_rows, year_words
from analysis.present.cautions import PIN_NOTE, page_notes
from analysis.present.edge import bar, kgf, kmh, mm
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import SCREEN, sentence, setting, spoken
from analysis.present.texts import number, percent, short
from analysis.report.assumptions import assumptions
from analysis.report.colours import colour
from analysis.report.edge_words import edge
from analysis.report.report import Report
from analysis.report.words import buys, choice_words, moved, sentences, sure
from analysis.stones.words import loads_sentence
from analysis.version import VERSION
from analysis.window.feature.at_feature import at_cell, largest_error
from analysis.window.feature.feature_words import judged, slot_span
from analysis.window.limits import checks, hindrance, meets
from analysis.window.sentences import (
    caution_notes,
    headline,
    limit_words,
    warning_notes,
    weight_sentence,
    weight_warning,
)
from analysis.window.weight import LEAST_SHARE
from analysis.window.words import gain_heading
from scenarios.changed.put_in import change_value
from scenarios.format.library import FOLDER as LIBRARY
from sim.run import prepare
from sim.setting import DepthSetting
from sim.unit import KELVIN

BREAKOUTS = 8  # listed, the highest


def page(made: Report, day: date) -> str:
    """The whole page; equal reports give equal pages apart from the date."""
    return rendered(
        "analysis.report",
        "page.html.j2",
        {**_words(made), "date": day.isoformat(), "data": script_data(page_data(made))},
    )


def _words(made: Report) -> dict[str, Any]:
    """What the template itself shows."""
    scenario, window, found = made.scenario, made.advice.window, made.advice.outcome
    return {
        **_setting_words(made),
        "grounds": f"{len(window.seeds)} × {short(scenario.length)} m",
        "seeds": ", ".join(str(seed) for seed in window.seeds),
        "pressures": [{"bar": short(bar(p)), "kgf": number(kgf(f), 0)}
                      for p, f in zip(window.pressures, window.downforce, strict=True)],
        "speeds": [short(kmh(v)) for v in window.speeds],
        "stretch": {"from": short(made.lead.first), "to": short(made.lead.last), "seed": made.lead.laid.seed,
                    "worst": not made.lead.crossed.problem},
        "chosen": (found.i, found.j),
        "breakouts": _breakouts(made),
        "pins": _pins(made),
        "wear": _wear(made),
        "assumptions": assumptions(scenario),
        "cautions": _cautions(made),
        **page_notes(),
        "version": VERSION,
        "command": _command(made),
    }  # fmt: skip


def _setting_words(made: Report) -> dict[str, Any]:
    """What to set and what is told beside it."""
    scenario, advice = made.scenario, made.advice
    found, window = advice.outcome, advice.window
    s = scenario.settings
    return {
        "title": scenario_title(scenario),
        "name": scenario.name,
        **choice_words(found),
        "headline": f"{headline(found)}.",
        "why": sentences(made),
        "warnings": [sentence(text) for text in warning_notes(found)],
        "precharge": short(bar(s.precharge)),
        "precharge_at": number(s.precharge_temperature - KELVIN, 0),
        "made_at": setting(s.reference_pressure, s.reference_speed, SCREEN, " and "),
        "edge": edge(found),
        "buys": buys(made),
        "buys_head": gain_heading(advice.gain) if advice.gain else "",
        "sure": sure(made),
        "moved": moved(made),
        "chance_picture": _chance_picture(made),
        "tolerance": short(mm(window.limits.depth_tolerance)),
        "limits": limit_words(window.limits),
        "judged": judged(scenario),
        "on_feature": window.limits.on_feature,
        "weight": sentence(weight_sentence(advice.weight)),
        "weight_warning": weight_warning(advice.weight),
        "least_weight": f"{LEAST_SHARE * 100:.0f} %",
        "stones": spoken(sentence(loads_sentence(advice.stones))),
    }  # fmt: skip


def _chance_picture(made: Report) -> dict[str, str] | None:
    """The window by chance, where values were fitted."""
    doubt = made.advice.doubt
    if doubt is None or not doubt.decides:
        return None
    from analysis.report.picture import picture  # noqa: PLC0415 (figures: half a second, and few pages have one)
    from analysis.window.doubt.figure_chance import chance_figure  # noqa: PLC0415

    return picture(chance_figure(made.advice.window, doubt, made.scenario))


def _breakouts(made: Report) -> dict[str, Any]:
    found, window = made.advice.outcome, made.advice.window
    count = window.grids["breakouts"][found.i, found.j]
    known = bool(np.isfinite(count).all())
    low, high = window.per_km_interval("breakouts", found.i, found.j) if known else (0.0, 0.0)
    km = float(window.grids["distance"][found.i, found.j].sum()) / 1e3
    return {
        "known": known,
        "stones": bool((made.lead.laid.track.stone_id >= 0).any()),
        "count": int(count.sum()) if known else 0,
        "per_km": number(float(count.sum()) / km) if known else "–",
        "interval": f"{number(low)} to {number(high)}",
        "km": f"{km:.3g}" if known else "–",
        "seed": made.lead.laid.seed,
        "all": len(made.lead.breakouts),
        "rows": [
            [number(b.position), number(mm(b.rise), 0), "not" if b.regain is None else number(b.regain, 2),
             number(b.disc_peak / 1e3), f"{number(b.pin_peak / 1e3)} ({b.pin.replace('_', ' ')})",
             number(bar(b.pressure_max))]
            for b in sorted(made.lead.breakouts, key=lambda b: -b.rise)[:BREAKOUTS]
        ],
    }  # fmt: skip


def _pins(made: Report) -> list[dict[str, Any]]:
    most = max((p.peak for p in made.pins.values()), default=1.0)
    return [
        {"name": spoken(name), "peak": number(p.peak / 1e3, 2), "rms": number(p.rms / 1e3, 2),
         "mean": number(p.mean / 1e3, 2), "share": f"{100 * p.peak / most:.1f}"}
        for name, p in sorted(made.pins.items(), key=lambda item: -item[1].peak)
    ]  # fmt: skip


def _wear(made: Report) -> dict[str, Any] | None:
    """Pins and bushes as a workshop reads them; None where the setting could not be crossed."""
    told = made.lead.wear
    if told is None:
        return None
    return {
        "seed": made.advice.window.seeds[0],
        "year": year_words(told),
        "first": first_sentences(told),
        "rows": workshop_rows(told),
        "full": full_sentences(told),
        "sure": sure_sentences(told),
        "note": PIN_NOTE,
    }


def _cautions(made: Report) -> list[str]:
    notes = caution_notes(made.advice.window, made.advice.outcome, made.scenario.warnings)
    if made.pins.problem:
        notes.append(f"no pin loads at the setting: {made.pins.problem}")
    if made.lead.crossed.problem:
        notes.append(
            f"the stretch shown is the head of the ground, not where the depth error is largest, since the setting "
            f"could not be crossed: {made.lead.crossed.problem}"
        )
    return [sentence(note) for note in notes]


def _command(made: Report) -> str:
    """The command that makes this page again."""
    options = {"search.pressures_bar": "--pressures", "search.speeds_kmh": "--speeds", "search.seeds": "--seeds"}
    scenario = made.scenario
    words = ["rowbench", "report", scenario.name if scenario.path.parent == LIBRARY else scenario.path.name]
    stored = scenario.path.suffix != ".toml"
    if (
        scenario.profile is not None and scenario.ground.profile is None and not stored
    ):  # it took the place of the file's ground
        words += ["--profile", scenario.profile.path.name]
    for key, flag in options.items():
        if key in made.changes:
            value = made.changes[key]
            listed = value if isinstance(value, list | tuple) else None
            words += [flag, str(value) if listed is None else f"{listed[0]:g}:{listed[-1]:g}:{len(listed)}"]
    for key, value in made.changes.items():
        if key not in options:
            words += ["--set", f"{key}={value if isinstance(value, str) else change_value(value)}"]
    return " ".join(shlex.quote(word) for word in (*words, "--out", "page.html"))


# --- what the script on the page reads --------------------------------------------------------------------------


def page_data(made: Report) -> dict[str, Any]:
    """Grid, samples, ground and geometry for the script on the page, plain numbers."""
    window, lead = made.advice.window, made.lead
    shape = (window.pressures.size, window.speeds.size)
    tolerance = mm(window.limits.depth_tolerance)
    return {
        "cells": [_cell(made, i, j) for j in range(shape[1]) for i in range(shape[0])],
        "pressures": [bar(p) for p in window.pressures],
        "speeds": [kmh(v) for v in window.speeds],
        "downforce": [round(kgf(f), 1) for f in window.downforce],
        "chosen": [made.advice.outcome.i, made.advice.outcome.j],
        "tolerance_mm": tolerance,
        "set_depth_mm": mm(made.scenario.settings.set_depth),
        "from_m": lead.first,
        "to_m": lead.last,
        "samples": packed([made.cells[i, j] for j in range(shape[1]) for i in range(shape[0])], lead.samples),
        "ground": ground_line(lead.laid.track, lead.first, lead.last),
        "unit": {**geometry(made.scenario.unit), **room(made.scenario.unit, _setting(made))},
    }


def _setting(made: Report) -> DepthSetting:
    """How the depth is set at the pressure and speed that the page leads with."""
    found, scenario = made.advice.outcome, made.scenario
    settings = scenario.settings.redone_at(found.oil_pressure, found.speed)
    return prepare(scenario.unit, scenario.soil, scenario.stones.contact, settings).setting


def _cell(made: Report, i: int, j: int) -> dict[str, Any]:
    """One setting: its measures over all seeds, what it fails, and its part of the stretch."""
    window, cell = made.advice.window, made.cells[i, j]
    share = float(window.over_seeds("on_depth_share")[i, j])
    known = bool(np.isfinite(share))
    stopped = hindrance(window, window.limits, i, j)
    failing = [] if stopped else [c.sentence() for c in checks(window, window.limits, i, j) if not c.met]
    return {
        "ok": bool(meets(window, window.limits)[i, j]),
        "fails": [stopped] if stopped else failing,
        "warnings": [heed.text for heed in window.heeds_at(i, j)],
        "share": share if known else None,
        **_shown(made, i, j, share),
        "gauge_load": number(float(window.over_seeds("gauge_load_mean")[i, j]), 0) if known else "–",
        "pin_peak": number(float(window.over_seeds("pin_peak")[i, j]) / 1e3) if known else "–",
        "breakouts": number(float(window.per_km("breakouts")[i, j])) if known else "–",
        "crank": cell.crank_angle,
        "set_load": round(cell.set_load, 1),
        "here_on_depth": percent(cell.on_depth_share),
        "here_off": percent(cell.wheel_off_share),
        "problem": cell.problem,
    }


def _shown(made: Report, i: int, j: int, share: float) -> dict[str, Any]:
    """What the map shows of a cell and how, and what is told of depth and wheel beside it."""
    window = made.advice.window
    if not np.isfinite(share):
        told = [["On depth", "–"], ["Gauge wheel off", "–"]]
        return {"map": "–", "dark": False, "what": "", "colour": "#FFFFFF", "facts": told}
    if window.limits.on_feature:
        at = at_cell(window, made.scenario.settings.set_depth, i, j)
        error = float(largest_error(window)[i, j])
        bright = 1.0 - error / max(0.02, float(np.nanmax(largest_error(window))))
        told = [["Slot", slot_span(at)], ["Off depth at one place", metres(at.off_depth)],
                ["Gauge wheel off at one place", metres(at.wheel_off)]]  # fmt: skip
        text = number(mm(error), 0)
        return {"map": text, "dark": bright < 0.56, "what": f"largest depth error {text} mm",
                "colour": colour(bright), "facts": told}  # fmt: skip
    off = percent(float(window.over_seeds("wheel_off_share")[i, j]))
    told = [["On depth", percent(share)], ["Gauge wheel off", off]]
    return {"map": f"{math.floor(100.0 * share + 0.5)}", "dark": share < 0.78, "what": f"{percent(share)} on depth",
            "colour": colour((share - 0.5) / 0.5), "facts": told}  # fmt: skip
