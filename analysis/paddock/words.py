"""What `rowbench paddock` prints, from the numbers of a summary: the answer first, and short unless asked for all."""

from __future__ import annotations

import shlex
from collections.abc import Sequence

import numpy as np

from analysis.paddock.doubt.words import chance_sentences, doubt_notes, lost_words, zone_chance, zone_chances
from analysis.paddock.failures import Failure, failed_rows, failures
from analysis.paddock.summary import HECTARE, RowMean, Summary, ZonePick, check_sentence, setting_dict, told_checks
from analysis.present.cautions import LOADS_NOTE, PRESSURE_NOTE, SLOT_NOTE, STORED_NOTE
from analysis.present.edge import bar, kmh, mm
from analysis.present.sentences import SCREEN, capital, items, joined, sentence, setting
from analysis.present.texts import labelled, number, paragraph, percent, plural, short, signed, table
from analysis.window.pick import Pick
from analysis.window.sentences import (
    LEAST,
    NOTHING,
    depth_words,
    edge_notes,
    elsewhere_notes,
    failing_text,
    headline,
    warning_notes,
)
from scenarios.paddock.origin import ORIGIN

WORST = 3  # sections named as the worst
FEW = 5  # settings told on a short screen
PLANS = {"own": "by itself", "one": "as the whole", "none": "nothing meets"}
APART = 2.5e-3  # a zone whose mean depth is off by more is told to be set again [m] (assumed)


def paddock_text(summary: Summary, source: str = "", *, details: bool = False) -> str:
    """The summary as text: what to set, the settings, rows, zones, worst places, what to heed.

    source: the paddock file, for commands that go on from here; details: all settings, zones and notes.
    """
    found = summary.table
    size = f"{number(found.area / HECTARE, 2)} ha in {plural(found.zone.shape[0], 'pass', 'passes')}"
    answer = [*paragraph(answer_sentence(summary)), *_warnings(summary)]
    parts = [paragraph(f"{found.title}: {size} of {plural(found.machine.rows, 'row')}"), answer]
    if failed := failure_lines(summary, source):
        parts.append(items(*failed, first="- ", indent=2))
    if summary.crossed:
        parts += [_settings(summary, details), _places(summary, details)]
    else:
        details = False
    parts.append(items(*map(sentence, _notes(summary, details)), first="- ", indent=2))
    return "\n\n".join("\n".join(lines) for lines in parts if lines)


def _places(summary: Summary, details: bool) -> list[str]:
    """Rows, zones and worst places."""
    lines = labelled("Rows:", rows_sentence(summary.rows), column=8)
    if summary.zones:
        said = zones_sentence(summary)
        lines += [*(_zones(summary) if details else ()), *labelled("Zones:", said, column=8)]
    worst = worst_places(summary)[: WORST if details else 1]
    return [*lines, *(labelled("Worst:", "; ".join(worst) + ".", column=8) if worst else ())]


def _notes(summary: Summary, details: bool) -> list[str]:
    """What to heed; what holds for every paddock only among the details."""
    own = own_notes(summary)
    if not details:
        return [*own, f"{STORED_NOTE} --details: every setting, zone and note"]
    return [*own, *general_notes(summary), SLOT_NOTE, LOADS_NOTE, PRESSURE_NOTE]


def answer_sentence(summary: Summary) -> str:
    """What to set on the whole paddock; or that nothing is to be set, and what fails least."""
    choice, found = summary.choice, summary.table
    if not summary.crossed:
        return (
            f"{NOTHING}: at none of those tried could every row be crossed, so there is nothing to choose from. Mend "
            "what is named below first."
        )
    where = setting(choice.oil_pressure, choice.speed, SCREEN, force=choice.downforce)
    where = f"{where}, {depth_words(choice.set_depth)}"
    if isinstance(choice, Pick):
        tight = check_sentence(found, choice.checks[0])
        ends = "".join(f" {sentence(text)}" for text in edge_notes(choice))
        said = f"{headline(choice, where)}, {depth_turn(choice.setting_change)}"
        if summary.doubt is not None:
            return f"{said}. {chance_sentences(summary.doubt, tight)}{ends}"
        return f"{said}. It meets every limit; tightest is {tight}.{ends}"
    if summary.by_zone:
        zones = "; ".join(f"{z.name} {setting(z.choice.oil_pressure, z.choice.speed, SCREEN)}" for z in summary.zones)
        met = zone_chances(summary) or "So every limit is met"
        return f"Set each zone by itself: {zones}. {met}; no one setting tried does it for all."
    if summary.doubt is not None and choice.confidence is not None:
        why = f"{failing_text(choice)}{lost_words(summary.doubt)}"
    else:
        failing = [check_sentence(found, check) for check in told_checks(choice.failing)]
        why = choice.hindrance or joined(failing)
    return f"{headline(choice)}, so none is to be set. {where} {LEAST}: {why}."


def depth_turn(change: float) -> str:
    """What to do to the depth setting against the reference [m].

    >>> depth_turn(0.0018), depth_turn(-0.0071), depth_turn(0.0002)
    ('depth setting 2 mm deeper than at the reference', 'depth setting 7 mm shallower than at the reference', \
'depth setting as at the reference')
    """
    whole = round(abs(mm(change))) if np.isfinite(change) else 0
    way = f"{whole} mm {'deeper' if change > 0.0 else 'shallower'} than" if whole else "as"
    return f"depth setting {way} at the reference"


def failure_lines(summary: Summary, source: str = "") -> list[str]:
    """Rows that could not be crossed, kind by kind, each with the command that looks at one of them alone."""
    return [_failure(summary, failure, source) for failure in failures(summary.table)]


def _failure(summary: Summary, failure: Failure, source: str) -> str:
    found, settings = summary.table, summary.table.settings
    many = found.row_y.size * len(failure.settings)
    where = setting(*settings[failure.setting], SCREEN, ", ")
    more = f" ({failure.rows} of {many} rows at {plural(len(failure.settings), 'setting')} fail so)"
    first = f"pass {failure.number + 1}, row {failure.row + 1} at {where} could not be crossed: {failure.why}"
    alone = f"rowbench {shlex.join(alone_command(summary, failure, source))}"
    return f"{capital(first)}{more if failure.rows > 1 else ''}. That row alone: {alone}"


def alone_command(summary: Summary, failure: Failure, source: str = "") -> list[str]:
    """The words after `rowbench` that look at a failed row alone, at its setting; source: those for the paddock."""
    pressure, speed = summary.table.settings[failure.setting]
    one, row = str(failure.number + 1), str(failure.row + 1)
    return ["paddock", *(shlex.split(source) or [f"{summary.table.name}.toml"]), "--pass", one, "--row", row,
            "--pressure", f"{bar(pressure):.10g}", "--speed", f"{kmh(speed):.10g}",
            "--out", f"pass{one}_row{row}.toml"]  # fmt: skip


def _settings(summary: Summary, details: bool) -> list[str]:
    """The settings as a table, on a short screen the chosen one and those beside it; in full a second one with more."""
    numbers = range(len(summary.table.settings)) if details else shown_settings(summary)
    rows: list[tuple[str, ...]] = []
    why: list[list[str]] = []
    for k in numbers:
        s = setting_dict(summary, k)
        failed = failed_rows(summary.table, k)
        place = short(s["oil_pressure_bar"]), short(s["speed_kmh"])
        if s["on_depth_share"] is None:
            rows.append((*place, *[""] * 5, f"{plural(failed, 'row')} failed"))
            continue
        rows.append((
            *place, percent(s["on_depth_share"]), signed(s["error_mean_mm"]), percent(s["wheel_off_share"]),
            number(s["gauge_load_mean_N"], 0), number(s["pin_peak_N"] / 1e3), "not met" if s["not_met"] else "met",
        ))  # fmt: skip
        if s["not_met"]:
            why.append(paragraph(f"{place[0]} bar, {place[1]} km/h: {s['not_met']}", first="  Not met at ", indent=4))
    lines = table(("bar", "km/h", "on depth", "error mm", "wheel off", "gauge N", "pin kN", "limits"), rows)
    # a short screen has room for one line of them
    told = why if details else [text for text in why if len(text) == 1][:1]
    lines += [line for text in told for line in text]
    if details:
        return [*lines, "", *_more(summary)]
    left = len(summary.table.settings) - len(rows)
    return [*lines, *([f"  and {plural(left, 'other setting')}: --details"] if left else [])]


def _more(summary: Summary) -> list[str]:
    """What else there is to every setting that was crossed."""
    least = summary.limits.on_depth_share_min
    head = ("bar", "km/h", "kgf a row", f"ha ≥ {least * 100:g} %", "SD mm", "breakouts/ha", "ha/h")
    found = [setting_dict(summary, k) for k in range(len(summary.table.settings))]
    rows = [
        (short(s["oil_pressure_bar"]), short(s["speed_kmh"]), number(s["downforce_kgf"], 0),
         number(s["area_on_depth_ha"], 2), number(s["error_sd_mm"]), number(s["breakouts_per_ha"], 0),
         number(s["hectares_per_hour"]))
        for s in found if s["on_depth_share"] is not None
    ]  # fmt: skip
    return table(head, rows)


def shown_settings(summary: Summary) -> list[int]:
    """Numbers of the settings on a short screen: the chosen one, others of its speed, then of the speeds beside it."""
    found, choice = summary.table, summary.choice
    count = found.pressures.size
    apart = sorted(range(len(found.settings)), key=lambda k: (abs(k // count - choice.j), abs(k % count - choice.i), k))
    return sorted(apart[:FEW])


def _warnings(summary: Summary) -> list[str]:
    return [line for text in warnings(summary) for line in labelled("Warning:", sentence(text))]


def warnings(summary: Summary) -> list[str]:
    """What to heed at the chosen setting; that an accumulator is shared stands among the notes."""
    shared = {heed.text for heed in summary.choice.heeds if heed.kind == "shared"}
    return [text for text in warning_notes(summary.choice) if text not in shared]


def rows_sentence(rows: Sequence[RowMean]) -> str:
    """Which rows stand out, and by how much."""
    if not all(np.isfinite(row.mean) for row in rows):
        return "nothing to tell: in no section were all rows crossed."
    out = [r for r in rows if r.stands_out]
    if not out:
        return "none runs deeper or shallower than the others by over 1 mm and chance."
    named = "; ".join(
        f"{_numbers([r.row + 1 for r in group])} {round(abs(mm(float(np.mean([r.apart for r in group])))))} mm {way}"
        for way, group in (
            ("deeper", [r for r in out if r.apart > 0]),
            ("shallower", [r for r in out if r.apart < 0]),
        )
        if group
    )
    return f"against the mean of all rows in the same sections: {named} (rows count from the left)."


def _numbers(rows: Sequence[int]) -> str:
    """Row numbers as ranges: "rows 1–3, 7".

    >>> _numbers([1, 2, 3, 7]), _numbers([4])
    ('rows 1–3, 7', 'row 4')
    """
    runs: list[list[int]] = []
    for row in rows:
        if runs and row == runs[-1][1] + 1:
            runs[-1][1] = row
        else:
            runs.append([row, row])
    text = ", ".join(str(a) if a == b else f"{a}–{b}" for a, b in runs)
    return f"{'row' if len(rows) == 1 else 'rows'} {text}"


def _zones(summary: Summary) -> list[str]:
    head = ("zone", "ha", "bar, km/h", "on depth", "with one", "wheel off", "with one", "plan")
    rows = [
        (z.name if len(z.name) <= 12 else f"{z.name[:11]}…", number(z.area / HECTARE, 2),
         best_there(z, ", "), percent(z.on_depth_share),
         percent(z.shared), percent(z.wheel_off_share), percent(z.shared_wheel_off), PLANS[z.plan])
        for z in summary.zones
    ]  # fmt: skip
    return ["", *table(head, rows, indent=0), ""]


def best_there(zone: ZonePick, join: str) -> str:
    """The setting that a zone would choose by itself; "none" where none meets every limit there."""
    if not isinstance(zone.choice, Pick):
        return "none"
    return f"{short(bar(zone.choice.oil_pressure))}{join}{short(kmh(zone.choice.speed))}"


def zones_sentence(summary: Summary) -> str:
    """What to set in which zone, what that gains, and where the depth has to be set again."""
    own = [z for z in summary.zones if z.plan == "own"]
    none = [z.name for z in summary.zones if z.plan == "none"]
    said = [f"{z.name} {setting(z.choice.oil_pressure, z.choice.speed, SCREEN)}{zone_chance(z.chance)}" for z in own]
    met = [f"{z.name} with {setting(z.choice.oil_pressure, z.choice.speed, SCREEN)}" for z in own]
    if summary.by_zone:
        text = f"by itself: {'; '.join(said)}. {capital(gain_sentence(summary))}"
    elif own:
        text = f"every limit is met in {'; in '.join(met)}; with no setting tried in {joined(none)}."
    elif none:
        text = f"no setting tried meets every limit in {joined(none)}."
    else:
        text = "none gains by a setting of its own."
    off = [
        f"{z.name} runs {round(abs(mm(z.error_mean)))} mm too {'deep' if z.error_mean > 0.0 else 'shallow'}"
        for z in summary.zones
        if abs(z.error_mean) > APART
    ]
    return f"{text} {capital('; '.join(off))}.{_set_again(summary)}" if off else text


def _set_again(summary: Summary) -> str:
    """How to see a zone with its depth set on its own soil: what a paddock does not compute, its file can."""
    own = {zone.name: zone.strength for zone in summary.table.zones}
    found = [z.name for z in summary.zones if abs(z.error_mean) > APART and own.get(z.name) is not None]
    if not found:
        return ""
    base = summary.table.inputs["soil"]["strength"] / 1e6
    strength = (own[found[0]] or 0.0) / 1e6
    return (
        f" Depth is set on the soil outside zones ({base:.3g} MPa), not again in a zone: a copy of the file with "
        f"strength_MPa = {strength:.3g} in [soil] shows {found[0]} with its depth set there."
    )


def gain_sentence(summary: Summary) -> str:
    """What setting zones by themselves would gain."""
    gain = (summary.by_zone_share - summary.one_share) * 100.0
    hours = summary.by_zone_hours - summary.one_hours
    share, one = percent(summary.by_zone_share), percent(summary.one_share)
    if not isinstance(summary.choice, Pick):
        return f"with each zone so, {share} of the way is on depth and every limit is met."
    work = f", in {number(summary.by_zone_hours)} h against {number(summary.one_hours)} h" if abs(hours) >= 0.05 else ""
    met = "; with the one setting a limit fails in a zone" if gain < -0.05 else ""
    return f"{share} of the way on depth against {one} with one setting ({signed(gain)} points{met}){work}."


def worst_places(summary: Summary) -> list[str]:
    """The sections, all rows of a pass together, with the lowest on-depth share at the chosen setting."""
    found = summary.table
    share = found.sections["on_depth_share"][summary.setting].astype(np.float64)
    with np.errstate(invalid="ignore"):
        across = share.mean(axis=1)  # (passes, sections)
    order = np.argsort(np.where(np.isfinite(across), across, np.inf), axis=None)
    places = []
    for flat in order[:WORST]:
        p, s = np.unravel_index(int(flat), across.shape)
        if np.isfinite(across[p, s]):
            at = f"x {found.section_x[p, s]:.0f} m, y {found.row_y[p].mean():.0f} m"
            places.append(f"pass {p + 1} at {at} ({percent(float(across[p, s]), 0)} on depth)")
    return places


def own_notes(summary: Summary) -> list[str]:
    """What is to be heeded of this paddock: where values come from, warnings of its ground and of other settings."""
    found = summary.table
    elsewhere = elsewhere_notes(summary.window, summary.choice) if summary.crossed else []
    first = [note for note in found.warnings if note.startswith(ORIGIN)]
    return [*first, *elsewhere, *doubt_notes(summary), *(note for note in found.warnings if note not in first)]


def general_notes(summary: Summary) -> list[str]:
    """What the model leaves out."""
    notes = [
        "the toolbar heaves, pitches and rolls over its own wheels; rows do not react on it",
        "rows stay independent of each other",
    ]
    if summary.zones:
        notes.append(
            "at every pressure and speed the depth is set on the soil outside zones; it is not set again in a zone"
        )
    shared = int(summary.table.inputs["unit"]["accumulator"]["shared_by"])
    if shared > 1:
        notes.append(
            f"an accumulator is shared by {shared} units: each moves alone against its whole volume, the others still, "
            "an approximation"
        )
    return notes


def model_notes(summary: Summary) -> list[str]:
    """What the model leaves out, what could not be crossed, and the warnings that came with the ground."""
    return [*general_notes(summary), *failure_lines(summary), *own_notes(summary)]
