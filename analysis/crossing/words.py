"""What `rowbench run` tells a reader, built from the document that `--json` prints.

The usual screen fits a terminal of 80 × 24: what was crossed, how the depth came out, loads, why it moves, a caution.
With `details` it holds everything: every cause, intervals, the pin table, work, the cautions in full.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analysis.crossing.place_words import places_text
from analysis.present.cautions import LOADS_NOTE, PRESSURE_NOTE, SLOT_NOTE, closing, warned
from analysis.present.sentences import joined, spoken
from analysis.present.texts import labelled, number, paragraph, percent, pin_lines, plural, short, signed, table

Document = Mapping[str, Any]

CAUSE_NAMES = {
    "ground_shape": "ground shape",
    "tyre_and_sinkage": "tyre and sinkage",
    "linkage": "linkage",
    "toolbar_pitch": "toolbar pitch",
    "lift_off": "lift-off",
}
EPISODE_CAUSES = {
    "rock": "a stone",
    "at_stop": "arm at its stop",
    "no_cushion": "no gas cushion",
    "too_hard": "soil too hard for the pressure",
    "thrown": "thrown by the ground",
}
SMALL = 0.05  # mean and SD of a cause below which it is left out of the usual screen [mm]
AGAINST = "Below 0 %: it makes the error smaller."
SHORT_CAUTION = (
    "Depth of the slot, not of the seed; no design loads. Before any work: lower onto stands, relieve the pressure, it "
    "can kill. All cautions: --details"
)


def run_text(
    d: Document, title: str, tolerance_mm: float, stones: bool, *, feature: bool = False,
    pins: bool = False, details: bool = False,
) -> str:  # fmt: skip
    """The report of one crossing.

    d: as from `analysis.crossing.summary.run_summary`; stones: whether there are any, else breakouts are left out;
    feature: whether the ground is one, judged by the metres at one place; pins: with the table of pin loads;
    details: with everything.
    """
    lines = paragraph(f"{title} ({d['scenario']}), {_length(d['distance_m'])} m, ground {d['run']['seed']}", indent=2)
    lines += [*_settings(d["settings"]), ""]
    lines += [
        *_depth(d, tolerance_mm),
        *(labelled("At one place", places_text(d)) if feature else []),
        *_wheels(d, details),
        *(_breakouts(d, details) if stones else []),
    ]
    lines += [*_most_loaded(d, told=pins or details), *_gas(d["gas"])]
    lines += _energy(d["energy"]) if details else []
    lines += ["", *_causes(d["causes"], details), *warned(d["warnings"])]
    if pins or details:
        loads = {name: (load["peak_N"], load["rms_N"], load["mean_N"]) for name, load in d["pins"].items()}
        lines += ["", *pin_lines("Pin loads, kN", loads)]
    return "\n".join([*lines, *(closing(SLOT_NOTE, LOADS_NOTE, PRESSURE_NOTE) if details else closing(SHORT_CAUTION))])


def force(newtons: float) -> str:
    """A load in three figures: in N, from 10 000 N up in kN.

    >>> force(1069.4), force(38.21), force(21352.0), force(0.0)
    ('1070 N', '38 N', '21.4 kN', '0 N')
    """
    if abs(newtons) >= 9995.0:
        return f"{number(newtons / 1e3)} kN"
    return f"{number(round(newtons, -1) if abs(newtons) >= 1000.0 else newtons, 0)} N"


def _length(metres: float) -> str:
    """A length of ground; a few millimetres of it may lie behind the last step."""
    return short(round(metres, 1))


def _settings(s: Document) -> list[str]:
    made = "set again for this pressure and speed" if s["setting"] == "redone" else "depth setting left as it was"
    moved = signed(s["depth_setting_change_mm"])
    change = "" if moved == "0.0" else f" ({moved} mm)"
    return paragraph(
        f"{short(s['oil_pressure_bar'])} bar oil = {number(s['downforce_kgf'], 0)} kgf a row · "
        f"{short(s['speed_kmh'])} km/h · nitrogen precharge {short(s['precharge_bar'])} bar · set depth "
        f"{short(s['set_depth_mm'])} mm, {made}{change}",
    )


def _depth(d: Document, tolerance_mm: float) -> list[str]:
    depth = d["depth"]
    share, left = percent(depth["on_depth_share"]), depth["on_depth_share_unchanged_setting"]
    alone = "not known" if left is None else percent(left)
    told = "" if alone == share else f"; {alone} with the setting left alone"
    lines = labelled("On depth", f"{share} within ±{short(tolerance_mm)} mm{told}")
    deep = _extreme(depth["error_max_mm"], depth["error_max_at_m"], "too deep")
    lines += labelled("Largest error", f"{deep}; {_shallowest(depth, d['settings']['set_depth_mm'])}")
    text = (
        f"mean {signed(depth['error_mean_mm'], 0)}, SD {number(depth['error_sd_mm'])}, nine tenths "
        f"{signed(depth['error_p05_mm'], 0)} to {signed(depth['error_p95_mm'], 0)} mm (+ is deeper)"
    )
    return lines + labelled("Depth error", text)


def _shallowest(depth: Document, set_depth_mm: float) -> str:
    """The largest error to the shallow side; a disc that left the ground is told as that."""
    over, at = -depth["error_min_mm"] - set_depth_mm, depth["error_min_at_m"]
    if over >= 0.5:
        return f"disc {number(over, 0)} mm in the air at {number(at)} m"
    return _extreme(-depth["error_min_mm"], at, "too shallow")


def _extreme(error: float, at: float, way: str) -> str:
    """The largest error to one side, in mm as positive to that side, with its place.

    >>> _extreme(21.4, 20.36, "too deep"), _extreme(0.2, 3.0, "too deep"), _extreme(-3.0, 3.0, "too shallow")
    ('21 mm too deep at 20.4 m', 'nowhere too deep', 'nowhere too shallow')
    """
    return f"{number(error, 0)} mm {way} at {number(at)} m" if error >= 0.5 else f"nowhere {way}"


def _causes(causes: Document, details: bool) -> list[str]:
    rows, against, nothing = [], False, []
    for name, title in CAUSE_NAMES.items():
        part = causes[name]
        share = part["share_of_variance"]
        if not details and max(abs(part["mean_mm"]), part["sd_mm"]) < SMALL:
            nothing.append(title)
            continue
        known = "–" if share is None else f"{number(100 * share, 0)} %"
        against = against or known.startswith("−")
        rows.append((title, number(part["mean_mm"]), number(part["sd_mm"]), known))
    made = table(("Why the depth moves", "mean, mm", "SD, mm", "share of variance"), rows, indent=0)
    notes = [AGAINST] if against else []
    notes += [f"Nothing from {joined(nothing)}."] if nothing else []
    return made + (paragraph(" ".join(notes)) if notes else [])


def _wheels(d: Document, details: bool) -> list[str]:
    gauge, off = d["gauge_load"], d["wheel_off"]
    low, high = force(gauge["p05_N"]), force(gauge["p95_N"])
    lines = labelled("Gauge load", f"mean {force(gauge['mean_N'])}, nine tenths {low} to {high}")
    text = f"for {percent(gauge['wheel_off_share'])} of the way"
    if not off["episodes"]:
        return lines + labelled("Wheel off", f"{text}, no episode of 0.1 m or more")
    found = [f"{count} × {EPISODE_CAUSES.get(cause, cause)}" for cause, count in off["by_cause"].items() if count]
    episodes = plural(off["episodes"], "episode")
    text = f"for {percent(gauge['wheel_off_share'])}, {episodes}: {', '.join(found)}"
    if details:
        text += f"; episodes of 0.1 m or more, {_often(off, details)}, {percent(off['length_share'])} of the way"
    return lines + labelled("Wheel off", text)


def _figures(value: float) -> str:
    """A number in three figures.

    >>> _figures(6133.3), _figures(4.23), _figures(0.0)
    ('6130', '4', '0')
    """
    return number(float(f"{value:.3g}") if value >= 1000.0 else value, 0)


def _often(found: Document, details: bool) -> str:
    """How many a kilometre; in detail with the bounds that chance leaves."""
    low, high = found["per_km_interval"]
    return f"{number(found['per_km'], 0)} per km" + (f" (95 %: {number(low, 0)}–{number(high, 0)})" if details else "")


def _breakouts(d: Document, details: bool) -> list[str]:
    found = d["breakouts"]
    text = (
        f"{plural(found['count'], 'breakout')}, {_often(found, details)}, {_figures(found['per_ha'])} per ha; "
        f"hardest knock {force(d['disc']['rock_peak_N'])}"
    )
    lines = labelled("Stones", text)
    if found["list"]:
        worst = max(found["list"], key=lambda event: event["rise_mm"])
        back = worst["regain_m"]
        regained = "depth not regained" if back is None else f"depth back after {number(back)} m"
        text = f"worst at {number(worst['position_m'])} m: up {number(worst['rise_mm'], 0)} mm, {regained}"
        text += f", {force(worst['pin_peak_N'])} on {spoken(worst['pin'])}" if details else ""
        lines += labelled("", text)
    return lines


def _most_loaded(d: Document, *, told: bool) -> list[str]:
    """The pin with the highest peak; told: the table of all follows."""
    name, load = max(d["pins"].items(), key=lambda item: item[1]["peak_N"])
    more = "" if told else " (all pins: --pins)"
    return labelled("Pins", f"highest peak {force(load['peak_N'])}, on {spoken(name)}{more}")


def _gas(gas: Document) -> list[str]:
    empty = "; the accumulator ran out of oil" if gas["ran_out_of_oil"] else ""
    return labelled(
        "Oil pressure", f"{number(gas['pressure_min_bar'])} to {number(gas['pressure_max_bar'])} bar{empty}"
    )


def _energy(energy: Document) -> list[str]:
    text = (
        f"{number(energy['work_J'] / 1e3)} kJ from the toolbar; balance open by "
        f"{energy['residual_share']:.0e} of its power".replace("e-0", "e−").replace("e-", "e−")
    )
    return labelled("Work", text)
