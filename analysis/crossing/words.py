"""What `rowbench run` tells a reader, built from the document that `--json` prints."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from analysis.present.cautions import LOADS_NOTE, PRESSURE_NOTE, SLOT_NOTE, closing, warned
from analysis.present.sentences import spoken
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


def run_text(d: Document, title: str, tolerance_mm: float, stones: bool) -> str:
    """The report of one crossing.

    d: as from `analysis.crossing.summary.run_summary`; stones: whether there are any, else breakouts are left out.
    """
    lines = [f"{title} ({d['scenario']}), {short(d['distance_m'])} m, ground number {d['run']['seed']}"]
    lines += [*_settings(d["settings"]), ""]
    lines += [*_depth(d, tolerance_mm), ""]
    lines += [*_causes(d["causes"]), ""]
    lines += _wheels(d)
    lines += _breakouts(d) if stones else []
    pins = {name: (load["peak_N"], load["rms_N"], load["mean_N"]) for name, load in d["pins"].items()}
    lines += ["", *pin_lines("Pin loads, kN", pins), ""]
    lines += _gas(d["gas"]) + _energy(d["energy"])
    lines += warned(d["warnings"])
    return "\n".join([*lines, *closing(SLOT_NOTE, LOADS_NOTE, PRESSURE_NOTE)])


def _settings(s: Document) -> list[str]:
    made = "set again for this pressure and speed" if s["setting"] == "redone" else "depth setting left as it was"
    moved = signed(s["depth_setting_change_mm"])
    change = "" if moved == "0.0" else f"({moved} mm) "
    return paragraph(
        f"{short(s['oil_pressure_bar'])} bar oil = {number(s['downforce_kgf'], 0)} kgf a row · "
        f"{short(s['speed_kmh'])} km/h · set depth {short(s['set_depth_mm'])} mm, {made} "
        f"{change}· nitrogen precharge {short(s['precharge_bar'])} bar",
    )


def _depth(d: Document, tolerance_mm: float) -> list[str]:
    depth = d["depth"]
    left = depth["on_depth_share_unchanged_setting"]
    alone = "not known with the setting left alone" if left is None else f"{percent(left)} with the setting left alone"
    lines = labelled("On depth", f"{percent(depth['on_depth_share'])} within ±{short(tolerance_mm)} mm; {alone}")
    text = (
        f"mean {number(depth['error_mean_mm'])} mm, SD {number(depth['error_sd_mm'])} mm, nine tenths between "
        f"{number(depth['error_p05_mm'])} and {number(depth['error_p95_mm'])} mm (positive = too deep)"
    )
    return lines + labelled("Depth error", text)


def _causes(causes: Document) -> list[str]:
    rows = []
    for name, title in CAUSE_NAMES.items():
        part = causes[name]
        share = part["share_of_variance"]
        known = "–" if share is None else f"{number(100 * share)} %"
        rows.append((title, number(part["mean_mm"]), number(part["sd_mm"]), known))
    return table(("Why the depth moves", "mean, mm", "SD, mm", "share of variance"), rows, indent=0)


def _wheels(d: Document) -> list[str]:
    gauge, off = d["gauge_load"], d["wheel_off"]
    load = (
        f"mean {number(gauge['mean_N'], 0)} N, nine tenths between {number(gauge['p05_N'], 0)} and "
        f"{number(gauge['p95_N'], 0)} N; wheel off for {percent(gauge['wheel_off_share'])} of the way"
    )
    lines = labelled("Gauge load", load)
    if off["episodes"]:
        found = [f"{count} × {EPISODE_CAUSES.get(cause, cause)}" for cause, count in off["by_cause"].items() if count]
        low, high = off["per_km_interval"]
        text = (
            f"{plural(off['episodes'], 'episode')} of 0.1 m or more, {number(off['per_km'], 0)} per km "
            f"(95 %: {number(low, 0)}–{number(high, 0)}), {percent(off['length_share'])} of the way: {', '.join(found)}"
        )
    else:
        text = "no episode of 0.1 m or more"
    return lines + labelled("Wheel off", text)


def _breakouts(d: Document) -> list[str]:
    found = d["breakouts"]
    low, high = found["per_km_interval"]
    text = (
        f"{plural(found['count'], 'breakout')}, {number(found['per_km'], 0)} per km (95 %: {number(low, 0)}–"
        f"{number(high, 0)}), {number(found['per_ha'], 0)} per ha; hardest knock of a stone "
        f"{number(d['disc']['rock_peak_N'] / 1e3)} kN"
    )
    lines = labelled("Stones", text)
    if found["list"]:
        worst = max(found["list"], key=lambda event: event["rise_mm"])
        back = worst["regain_m"]
        regained = "depth not regained" if back is None else f"depth regained after {number(back, 2)} m"
        text = (
            f"worst breakout at {number(worst['position_m'])} m: up {number(worst['rise_mm'], 0)} mm, {regained}, "
            f"{number(worst['pin_peak_N'] / 1e3)} kN on {spoken(worst['pin'])}"
        )
        lines += labelled("", text)
    return lines


def _gas(gas: Document) -> list[str]:
    empty = "; the accumulator ran out of oil" if gas["ran_out_of_oil"] else ""
    text = f"{number(gas['pressure_min_bar'])} to {number(gas['pressure_max_bar'])} bar{empty}"
    return labelled("Oil pressure", text)


def _energy(energy: Document) -> list[str]:
    text = (
        f"{number(energy['work_J'] / 1e3)} kJ from the toolbar; balance open by "
        f"{energy['residual_share']:.0e} of its power".replace("e-0", "e−").replace("e-", "e−")
    )
    return labelled("Work", text)
