"""The page of a stored paddock: what to set on all of it and why, every setting tried, map, rows, zones."""

from __future__ import annotations

import shlex
from datetime import date
from typing import Any

from analysis.drawn.templates import rendered
from analysis.paddock.figures.figure_map import map_figure
from analysis.paddock.figures.figure_rows import rows_figure
from analysis.paddock.figures.figure_settings import settings_figure
from analysis.paddock.summary import HECTARE, Summary, setting_dict, without_ground
from analysis.paddock.words import (
    PLANS,
    failure_lines,
    model_notes,
    rows_sentence,
    warnings,
    worst_places,
    zones_sentence,
)
from analysis.present.cautions import page_notes
from analysis.present.edge import bar, mm
from analysis.present.sentences import SCREEN, sentence, setting
from analysis.present.texts import number, percent, plural, short
from analysis.report.paddock_assumptions import paddock_assumptions
from analysis.report.picture import picture
from analysis.report.words import choice_words
from analysis.version import VERSION
from analysis.window.doubt.pick import Doubt
from analysis.window.doubt.words import chance_words, cost_words
from analysis.window.doubt.words import reasons as by_chance
from analysis.window.grid import Window
from analysis.window.help_words import helps
from analysis.window.pick import Pick
from analysis.window.sentences import (
    NOTHING,
    asked_chance,
    limit_words,
    nearest_sentence,
    unchecked_notes,
    weight_sentence,
    weight_warning,
)
from analysis.window.sentences import headline as to_set
from analysis.window.weight import LEAST_SHARE, Weight
from analysis.window.why_words import why as reasons
from sim.unit import GRAVITY, KELVIN


def headline(summary: Summary) -> str:
    """What to set on the whole paddock, in one sentence; or that nothing is to be set."""
    if not summary.crossed:
        return f"{NOTHING}: at none of those tried could every row be crossed."
    return f"{to_set(summary.choice)}."


def paddock_page(summary: Summary, day: date) -> str:
    """The whole page (HTML); `day` is the only thing on it that the stored paddock does not fix."""
    words = {**_setting_words(summary), **_place_words(summary), **_figures(summary), "date": day.isoformat()}
    return rendered("analysis.report", "paddock.html.j2", words)


def _setting_words(summary: Summary) -> dict[str, Any]:
    """What to set, why, and what every other setting gives."""
    found, settings = summary.choice, summary.table.inputs["settings"]
    weight = _weight(summary)
    warning = weight_warning(weight)
    return {
        **choice_words(found),
        "crossed": summary.crossed,
        "judged": "",  # that one feature is judged by other measures: no paddock is
        "failures": [sentence(text) for text in failure_lines(summary)],
        "headline": headline(summary),
        "why": why(summary),
        "warnings": [sentence(text) for text in warnings(summary)],
        "precharge": short(bar(settings["precharge"])),
        "precharge_at": number(settings["precharge_temperature"] - KELVIN, 0),
        "made_at": setting(settings["reference_pressure"], settings["reference_speed"], SCREEN, " and "),
        "tolerance": short(mm(summary.limits.depth_tolerance)),
        "limits": limit_words(summary.limits),
        "least": f"{summary.limits.on_depth_share_min * 100:g} %",
        "settings": settings_rows(summary),
        "weight": sentence(weight_sentence(weight)) if weight.remaining_share > 0.0 else "",
        "weight_warning": sentence(warning) if warning else "",
        "least_weight": f"{LEAST_SHARE * 100:.0f} %",
    }


def _place_words(summary: Summary) -> dict[str, Any]:
    """Rows, zones, places, and what the page rests on."""
    table = summary.table
    notes = [*unchecked_notes(summary.limits), *summary.choice.notes, *model_notes(summary)]
    return {
        "title": table.title,
        "name": table.name,
        "size": f"{number(table.area / HECTARE, 2)} ha in {plural(table.zone.shape[0], 'pass', 'passes')} of "
        f"{plural(table.machine.rows, 'row')}",
        "hours": number(summary.one_hours),
        "rows_say": sentence(rows_sentence(summary.rows)),
        "zones": zone_rows(summary),
        "gain": sentence(zones_sentence(summary)) if summary.zones else "",
        "worst": [sentence(place) for place in worst_places(summary)],
        "cautions": [sentence(note) for note in dict.fromkeys(notes)],
        "assumptions": paddock_assumptions(table),
        **page_notes(),
        "seed": table.seed,
        "version": VERSION,
        "versions": ", ".join(f"{name} {text}" for name, text in sorted(table.versions.items())),
        "command": f"rowbench report {shlex.quote(table.path.name)} --out page.html",
    }  # fmt: skip


def why(summary: Summary) -> list[str]:
    """The setting and why: what to set; what stops going faster; what stops less and more pressure."""
    found, table, window = summary.choice, summary.table, summary.window
    if not summary.crossed:
        return [sentence(text) for text in failure_lines(summary)]
    if not isinstance(found, Pick):
        doubted = summary.doubt if found.confidence is not None else None  # the chance decides
        more = helps(window, found)[:2] if doubted is None else [cost_words(doubted)]
        return [sentence(without_ground(text, table)) for text in (nearest_sentence(found), *more) if text]
    if summary.doubt is not None:
        return [sentence(text) for text in _why_by_chance(summary, summary.doubt, window, found)]
    first = (
        f"{headline(summary)[:-1]}: the fastest speed tried at which some pressure meets every limit over the whole "
        f"paddock, with {percent(summary.one_share)} of the way on depth."
    )
    return [first, *(sentence(without_ground(text, table)) for text in reasons(window, found))]


def _why_by_chance(summary: Summary, doubt: Doubt, window: Window, found: Pick) -> list[str]:
    """As `why`, where the chance decides."""
    first = (
        f"{headline(summary)[:-1]}: the fastest speed tried at which some pressure meets every limit over the whole "
        f"paddock with a chance of {asked_chance(doubt.confidence)}; here it is "
        f"{chance_words(doubt.chance, found.i, found.j)}"
    )
    fitted, chances = reasons(window, found), by_chance(window, found, doubt)
    there = found.j + 1 == window.speeds.size or doubt.chance.looked[:, found.j + 1].any()
    faster = chances[0] if there else f"{fitted[0][:-1]}, with the values as fitted"
    said = (first, cost_words(doubt), faster, *chances[1:])
    return [without_ground(text, summary.table) for text in said if text]


def settings_rows(summary: Summary) -> list[dict[str, Any]]:
    """Every setting tried: its numbers as they stand in the table, and what it fails with."""
    rows = []
    for k in range(len(summary.table.settings)):
        s = setting_dict(summary, k)
        failed = s["rows_failed"]
        rows.append({
            "chosen": k == summary.setting,
            "where": (short(s["oil_pressure_bar"]), short(s["speed_kmh"]), number(s["downforce_kgf"], 0)),
            "cells": None if s["on_depth_share"] is None else (
                percent(s["on_depth_share"]), f"{number(s['area_on_depth_ha'], 2)} ha", percent(s["wheel_off_share"]),
                f"{number(s['pin_peak_N'] / 1e3)} kN", number(s["breakouts_per_ha"]), number(s["hectares_per_hour"]),
            ),
            "fails": f"{plural(failed, 'row')} could not be crossed" if failed else s["not_met"] or "",
        })  # fmt: skip
    return rows


def zone_rows(summary: Summary) -> list[tuple[str, ...]]:
    """Every zone at a setting of its own, beside what it gets from the one setting."""
    return [
        (z.name, number(z.area / HECTARE, 2),
         setting(z.choice.oil_pressure, z.choice.speed, SCREEN, ", ") if isinstance(z.choice, Pick) else "none",
         percent(z.on_depth_share), percent(z.shared), percent(z.wheel_off_share), percent(z.shared_wheel_off),
         "met" if isinstance(z.choice, Pick) else "not met", PLANS[z.plan])
        for z in summary.zones
    ]  # fmt: skip


def _weight(summary: Summary) -> Weight:
    table = summary.table
    return Weight(table.machine.rows, summary.choice.downforce, table.inputs["unit"]["toolbar"]["mass"] * GRAVITY)


def _figures(summary: Summary) -> dict[str, Any]:
    """The figures as pictures in the page, each with its finding in words."""
    table, setting = summary.table, summary.setting
    return {
        "map": picture(map_figure(table, setting)),
        "map_wheel": picture(map_figure(table, setting, "wheel-off")),
        "rows_picture": picture(rows_figure(summary)),
        "settings_picture": picture(settings_figure(summary)),
    }
