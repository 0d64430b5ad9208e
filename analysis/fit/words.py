"""A fit told to the one who dug: what was learned, what goes together, whether it fits, what to do."""

from __future__ import annotations

import math
from pathlib import Path

from analysis.fit.fitted import Fit, Fitted, Residual
from analysis.fit.following.measure_next import Next
from analysis.fit.following.next_words import job_sentence, largest_sentence, lead_sentence, next_sentences
from analysis.present.cautions import READING_NOTE, closing
from analysis.present.scenario_words import scenario_title
from analysis.present.sentences import SCREEN, capital, items, joined, sentence, setting
from analysis.present.texts import labelled, paragraph, plural, table
from scenarios.doubt.keys import edge_of
from scenarios.format.edge_units import number_text, to_edge, unit_text

SMALL = 0.01  # values in the unit of their key that are less are told as a share
STRANGE = 2.5  # standardised residual from which the worst reading is told even where all fits


def fit_text(found: Fit, following: Next | None, out: Path, warnings: tuple[str, ...] = ()) -> str:
    """The whole screen."""
    lines = paragraph(heading(found), indent=2)
    lines += ["", *learned_lines(found)]
    goes = together_sentences(found)
    if goes:
        lines += ["", "What goes together", *items(*map(sentence, goes))]
    lines += ["", "Do the readings fit?", *items(*map(sentence, fit_sentences(found)))]
    if following is not None:
        first, *jobs = next_sentences(following)
        told = capital(first) if jobs else sentence(first)
        lines += ["", "What to measure next", *items(told)]
        lines += items(*map(sentence, jobs), first="  - ")
    notes = [*found.measured.notes, *warnings]
    if notes:
        lines += ["", "Note", *items(*map(sentence, notes))]
    lines += ["", *labelled("Written", f"{out}: the values above, with their doubt")]
    lines += labelled("Now", _now(found, out))
    return "\n".join([*lines, *closing(READING_NOTE)])


def sheet_text(found: Fit, following: Next | None, sheet: Path, warnings: tuple[str, ...] = ()) -> str:
    """The screen of a sheet made before anything was read."""
    jobs = [] if following is None else [job_sentence(one) for one in following.suggestions]
    rests = "" if following is None else largest_sentence(following)
    jobs += [rests] if rests else []
    first = "nothing could be crossed to find out" if following is None else lead_sentence(following)
    lines = paragraph(f"{scenario_title(found.scenario)} ({found.scenario.name}): what to measure first", indent=2)
    lines += ["", *items(capital(first)), *items(*map(sentence, jobs), first="  - ")]
    if warnings:
        lines += ["", "Note", *items(*map(sentence, warnings))]
    lines += ["", *labelled("Written", f"{sheet}: to print (A4), with boxes to write in")]
    lines += labelled("Then", f"rowbench fit {found.scenario.path} --measured measured.csv --out fitted.toml")
    return "\n".join([*lines, *closing(READING_NOTE)])


def _now(found: Fit, out: Path) -> str:
    """What to do next."""
    if found.check.fits or found.worst is None:
        return f"rowbench window {out}"
    return f"check {lines_words(found.worst)} of {found.measured.path.name} first, then fit again"


def heading(found: Fit) -> str:
    """What was fitted to what."""
    told = plural(found.measured.count, "reading")
    places = {(r.statistic.group.cell) for r in found.residuals if r.statistic.group.cell is not None}
    at = f" at {plural(len(places), 'pressure and speed', 'pressures and speeds')}" if places else ""
    return f"{scenario_title(found.scenario)} ({found.scenario.name}): {told}{at} ({found.measured.path.name})"


def learned_lines(found: Fit) -> list[str]:
    """The values that the readings say something about, in tables; the others in a sentence."""
    told = sorted((one for one in found.values if one.learned != "not at all"), key=lambda one: one.left)
    if not told:
        return ["What was learned", *items("Nothing: every value is as much in doubt as before.")]
    rows = []
    for head, learned in (("Learned", "learned"), ("Learned a little", "a little")):
        mine = [one for one in told if one.learned == learned]
        if mine:
            rows += [(head, "", "", "", ""), *((f"  {_named(one)}", *_figures(one)) for one in mine)]
    lines = table(("19 of 20 between from and to", "file", "fitted", "from", "to"), rows, indent=0)
    silent = [one.doubtful.words for one in found.values if one.learned == "not at all"]
    return lines + (paragraph(f"Not at all: {joined(silent)}.", indent=2) if silent else [])


def _named(one: Fitted) -> str:
    unit = "%" if as_share(one) else unit_text(edge_of(one.doubtful)).strip()
    return f"{one.doubtful.words}{f', {unit}' if unit else ''}"


def as_share(one: Fitted) -> bool:
    """Whether a value is told in % of the file's: its range is told of a power of it, or its figure says nothing."""
    return one.doubtful.power != 1.0 or 0.0 < abs(to_edge(one.before, edge_of(one.doubtful))) < SMALL


def _figures(one: Fitted) -> tuple[str, ...]:
    return tuple(figures(one, v) for v in (one.before, one.value, one.low, one.high))


def figures(one: Fitted, value: float) -> str:
    """A value in the unit of its key in three figures, or in % of the file's (`as_share`)."""
    if as_share(one):
        return f"{100.0 * (value / one.before) ** one.doubtful.power:.3g}"
    edge = to_edge(value, edge_of(one.doubtful))
    text = number_text(float(f"{edge:.3g}"))
    return text.replace("-", "−")


def together_sentences(found: Fit) -> list[str]:
    """Values that the readings cannot part."""
    said = []
    for a, b, correlation in found.together[:3]:
        first, second = a.doubtful, b.doubtful
        way = "more of one with less of the other" if correlation < 0.0 else "more of one with more of the other"
        text = f"{first.words} and {second.words} act together here ({way} explains the readings as well)"
        parts = next((one.measured for one in (first, second) if one.measured), "")
        said.append(f"{text}; what would part them: {parts}" if parts else text)
    return said


def fit_sentences(found: Fit) -> list[str]:
    """Whether the readings fit the model, and which fits worst."""
    said = [check_sentence(found)]
    worst = found.worst
    if worst is not None and (abs(worst.standardised) >= STRANGE or not found.check.fits):
        said.append(f"fits worst: {residual_sentence(worst)}")
    return said


def check_sentence(found: Fit) -> str:
    """Whether the readings are likely under the fit."""
    if not found.check.freedom:
        return "too few readings to tell whether they fit the model"
    of_hundred = found.check.p * 100.0
    chance = "in fewer than 1 of 100 fields" if of_hundred < 1.0 else f"in {of_hundred:.0f} of 100 fields"
    if found.check.fits:
        return f"yes: were the model right, chance alone would make them fit worse {chance}"
    return (
        f"no: were the model right, chance alone would make them fit so badly {chance}. Look at the reading below, and "
        "at what was different that day, before you use the values"
    )


def residual_sentence(one: Residual) -> str:
    """A reading against what is expected, in words."""
    where = place_words(one)
    unit = one.statistic.group.kind.unit
    what = _what(one)
    return f"{what}{where}: read {_told(one.reading, unit)}, expected {_told(one.predicted, unit)} ({lines_words(one)})"


def _what(one: Residual) -> str:
    words = one.statistic.group.kind.words
    return {"scatter": f"scatter of the {words.removeprefix('scatter of the ')}", "length": f"changes of {words}"}.get(
        one.statistic.part, words
    )


def residual_name(one: Residual) -> str:
    """A reading's name beside a mark: "depth of the slot, A, 30 bar, 6 km/h"."""
    group = one.statistic.group
    if group.cell is not None:
        at = setting(group.cell.oil_pressure, group.cell.speed, SCREEN, ", ")
        return f"{_what(one)}, {group.cell.held}, {at}"
    return f"{_what(one)}{place_words(one)}"


def place_words(one: Residual) -> str:
    """Where a reading was made."""
    group = one.statistic.group
    if group.cell is not None:
        at = setting(group.cell.oil_pressure, group.cell.speed, SCREEN, " and ")
        return f", setting {group.cell.held}, {at}"
    if group.kind.name == "scale_kg":
        return f" under the {group.where} wheel at {group.oil_pressure / 1e5:.4g} bar"
    return ""


def lines_words(one: Residual) -> str:
    """Its lines in the file."""
    lines = sorted(reading.line for reading in one.statistic.group.readings)
    if len(lines) == 1:
        return f"line {lines[0]}"
    whole = lines == list(range(lines[0], lines[-1] + 1))
    return f"lines {lines[0]} to {lines[-1]}" if whole else f"lines {lines[0]} … {lines[-1]}"


def _told(value: float, unit: str) -> str:
    if not math.isfinite(value):
        return "nothing"
    text = f"{value:.0f}" if unit in ("mm", "N") else f"{value:.3g}"
    if not unit:
        text = f"{value * 100.0:.1f} %"
    return f"{text} {unit}".strip()
