"""What `rowbench paddock` prints, from the numbers of a summary."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from analysis.paddock.summary import HECTARE, RowMean, Summary, check_sentence, setting_dict
from analysis.present.cautions import LOADS_NOTE, PRESSURE_NOTE, SLOT_NOTE
from analysis.present.edge import bar, kmh
from analysis.present.sentences import SCREEN, by_mm, items, sentence, setting
from analysis.present.texts import labelled, number, percent, plural, short, signed, table
from analysis.window.pick import Pick
from analysis.window.sentences import LEAST, depth_words, edge_notes, elsewhere_notes, headline, warning_notes

WORST = 3  # sections named as the worst


def paddock_text(summary: Summary) -> str:
    """The summary as text: settings, the pick, rows, zones, worst places, what to heed."""
    found = summary.table
    size = f"{number(found.area / HECTARE, 2)} ha in {plural(found.zone.shape[0], 'pass', 'passes')}"
    head = f"{found.title}: {size} of {plural(found.machine.rows, 'row')}"
    parts = [
        [head],
        _settings(summary),
        _choice(summary),
        _warnings(summary),
        labelled("Rows:", rows_sentence(summary.rows)),
        _zones(summary),
        _worst(summary),
    ]
    notes = (*model_notes(summary), SLOT_NOTE, LOADS_NOTE, PRESSURE_NOTE)
    parts.append(items(*map(sentence, notes), first="- ", indent=2))
    return "\n\n".join("\n".join(lines) for lines in parts if lines)


def _settings(summary: Summary) -> list[str]:
    least = summary.limits.on_depth_share_min
    head = ("bar", "km/h", "kgf", "on depth", f"ha ≥ {least * 100:g} %", "error mm", "SD mm", "wheel off",
            "gauge N", "worst pin kN", "breakouts/ha", "ha/h")  # fmt: skip
    rows = []
    for k in range(len(summary.table.settings)):
        s = setting_dict(summary, k)
        if s["on_depth_share"] is None:
            rows.append((short(s["oil_pressure_bar"]), short(s["speed_kmh"]), number(s["downforce_kgf"], 0),
                         "failed", *[""] * 8))  # fmt: skip
            continue
        rows.append((
            short(s["oil_pressure_bar"]), short(s["speed_kmh"]), number(s["downforce_kgf"], 0),
            percent(s["on_depth_share"]), number(s["area_on_depth_ha"], 2), signed(s["error_mean_mm"]),
            number(s["error_sd_mm"]), percent(s["wheel_off_share"]), number(s["gauge_load_mean_N"], 0),
            number(s["pin_peak_N"] / 1e3), number(s["breakouts_per_ha"]), number(s["hectares_per_hour"]),
        ))  # fmt: skip
    return table(head, rows)


def _choice(summary: Summary) -> list[str]:
    choice, found = summary.choice, summary.table
    where = setting(choice.oil_pressure, choice.speed, SCREEN, force=choice.downforce)
    where = f"{where}, {depth_words(choice.set_depth)}"
    change = choice.setting_change
    turn = "depth setting as at the reference"
    if np.isfinite(change) and abs(change) >= 5e-5:
        turn = f"depth set {by_mm(change)} than at the reference"
    if isinstance(choice, Pick):
        tight = check_sentence(found, choice.checks[0])
        ends = "".join(f" {sentence(text)}" for text in edge_notes(choice))
        said = f"{where}, {turn}. It meets every limit; tightest is {tight}.{ends}"
        return labelled("Whole paddock:", said)
    failing = choice.hindrance or " and ".join(check_sentence(found, check) for check in choice.failing)
    return [
        *labelled("Whole paddock:", f"{headline(choice)}, so none is to be set."),
        *labelled("", f"{where} {LEAST}: {failing}."),
    ]


def _warnings(summary: Summary) -> list[str]:
    return [line for text in warnings(summary) for line in labelled("Warning:", sentence(text))]


def warnings(summary: Summary) -> list[str]:
    """What to heed at the chosen setting; that an accumulator is shared stands among the notes."""
    shared = {heed.text for heed in summary.choice.heeds if heed.kind == "shared"}
    return [text for text in warning_notes(summary.choice) if text not in shared]


def rows_sentence(rows: Sequence[RowMean]) -> str:
    """Which rows stand out, and by how much."""
    out = [r for r in rows if r.stands_out]
    if not out:
        return "no row runs deeper or shallower than the others by more than 1 mm and more than chance."
    named = "; ".join(
        f"{_numbers([r.row + 1 for r in group])} {by_mm(float(np.mean([r.apart for r in group])))}"
        for group in ([r for r in out if r.apart > 0], [r for r in out if r.apart < 0])
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
    if not summary.zones:
        return []
    head = ("zone", "ha", "bar", "km/h", "on depth", "with one setting", "wheel off", "with one setting", "limits")
    rows = [
        (z.name, number(z.area / HECTARE, 2), short(bar(z.choice.oil_pressure)), short(kmh(z.choice.speed)),
         percent(z.on_depth_share), percent(z.shared), percent(z.wheel_off_share), percent(z.shared_wheel_off),
         "met" if isinstance(z.choice, Pick) else "not met")
        for z in summary.zones
    ]  # fmt: skip
    return [*table(head, rows), *labelled("By zone:", gain_sentence(summary))]


def gain_sentence(summary: Summary) -> str:
    """What setting every zone by itself would gain."""
    gain = (summary.by_zone_share - summary.one_share) * 100.0
    hours = summary.by_zone_hours - summary.one_hours
    return (
        f"setting each zone by itself puts {percent(summary.by_zone_share)} of the way on depth against "
        f"{percent(summary.one_share)} with one setting ({signed(gain)} points), in {number(summary.by_zone_hours)} h "
        f"against {number(summary.one_hours)} h ({signed(hours)})."
    )


def _worst(summary: Summary) -> list[str]:
    places = worst_places(summary)
    return labelled("Worst places:", "; ".join(places) + ".") if places else []


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


def model_notes(summary: Summary) -> list[str]:
    """What the model leaves out, what could not be crossed, and the warnings that came with the ground."""
    found = summary.table
    notes = [
        "the toolbar heaves, pitches and rolls over its own wheels; rows do not react on it",
        "rows stay independent of each other",
    ]
    shared = int(found.inputs["unit"]["accumulator"]["shared_by"])
    if shared > 1:
        notes.append(
            f"an accumulator is shared by {shared} units: each moves alone against its whole volume, the others still, "
            "an approximation"
        )
    if found.problems:
        s, p, r, why = found.problems[0]
        first = f"pass {p + 1}, row {r + 1}, {short(bar(found.settings[s][0]))} bar: {why}"
        notes.append(f"{plural(len(found.problems), 'row')} could not be crossed, the first: {first}")
    return [*notes, *elsewhere_notes(found.window(summary.limits), summary.choice), *found.warnings]
