"""The rest of `rowbench modes`, under `--details`: changes, distances, transfer, random ground, seals."""

from __future__ import annotations

import math

import numpy as np

from analysis.modes.found import Found
from analysis.modes.rough import Both, Rough
from analysis.present.edge import kmh, mm
from analysis.present.texts import number, paragraph, percent, short, table
from sim.record import PINS

CHANGES = {
    "aslant": "crossing them at {value:.0f}°",
    "more_pressure": "{value:.4g} bar",
    "less_pressure": "{value:.4g} bar",
    "tyre_damping": "a gauge tyre that damps twice as much",
    "tyre_stiffness": "a gauge tyre half as stiff",
}


def kmh_text(speed: float) -> str:
    """A speed [m/s] in km/h, to a tenth."""
    return short(round(kmh(speed), 1))


def mm_text(length: float) -> str:
    """A length [m] in whole mm; a dash where there is none."""
    return number(mm(length), 0) if math.isfinite(length) else "–"


def detail_lines(found: Found) -> list[str]:
    """Lines of all of it."""
    foot = paragraph(_seals(found))
    return [
        *paragraph("Damping: 0.1 rings on, above 0.7 it hardly swings."), "", *_changes_table(found), "",
        *_spacings(found), "", *_transfer(found), "", *_rough_table(found.rough), *_pins(found.rough), "", *foot,
    ]  # fmt: skip


def _changes_table(found: Found) -> list[str]:
    before = found.at_own
    rows = [("as it is", mm_text(before.swing), percent(before.wheel_off, 0) if not before.problem else "–")]
    for one in found.changes:
        crossed = one.found
        rows.append((CHANGES[one.name].format(value=one.value), mm_text(crossed.swing),
                     "–" if crossed.problem else percent(crossed.wheel_off, 0)))  # fmt: skip
    return table((f"These ridges at {kmh_text(before.speed)} km/h", "± mm", "wheel off"), rows, indent=0)


def _spacings(found: Found) -> list[str]:
    """The worst speed by distance."""
    chart, own = found.chart, found.scenario.settings.speed
    low, high = float(chart.speeds[0]), float(chart.speeds[-1])
    rows = []
    for spacing in (0.2, 0.3, 0.4, 0.5, 0.6, 0.8, 1.0, 1.5, 2.0, 3.0):
        peak = chart.peak(spacing, low, high)
        gains = chart.at(spacing)
        known = np.isfinite(gains)
        at_own = float(np.interp(own, chart.speeds[known], gains[known]))
        at_peak = "–" if peak is None else number(float(np.interp(peak, chart.speeds[known], gains[known])), 1)
        bridged = " (bridged)" if spacing < chart.bridged_below else ""
        rows.append(
            (f"{short(spacing)} m{bridged}", "none" if peak is None else kmh_text(peak), at_peak, number(at_own, 1))
        )
    head = (
        f"Ridges {number(mm(chart.height), 0)} mm high, apart", "worst at km/h", "times their height",
        f"at {kmh_text(own)} km/h",
    )  # fmt: skip
    note = (
        f"By small motions, {kmh_text(low)} to {kmh_text(high)} km/h; none: no speed stands out. Bridged: the wheel "
        "rides over the furrows, and the whole model swings less."
    )
    return [*table(head, rows, indent=0), *paragraph(note)]


def _transfer(found: Found) -> list[str]:
    """Ground to depth, gauge load and main pins at the file's speed."""
    own = found.own
    x = np.log(own.spacings)
    rows = []
    for spacing in (0.2, 0.3, 0.5, 0.8, 1.2, 2.0, 3.0):
        load = found.own.load_share(2.0e-3) * float(own.linear.told.gauge_load)
        values = (own.depth, load, own.pin("main_lower_front") * 1e-3, own.pin("gauge_arm") * 1e-3)
        depth, *loads = (float(np.interp(math.log(spacing), x, value)) for value in values)
        rows.append((f"{short(spacing)} m", number(depth, 2), *(number(one, 0) for one in loads)))
    head = ("For each mm of waves", "depth mm", "gauge load N", "lower front N", "gauge arm N")
    at = kmh_text(found.scenario.settings.speed)
    note = f"Amplitudes by small motions at {at} km/h; lower front: the main pin of that name, along its load at rest."
    return [*table(head, rows, indent=0), *paragraph(note)]


def _rough_table(rough: Rough) -> list[str]:
    rows = [("this ground", *_both(rough.own))] if rough.own.whole else []
    rows += [(f"heights alone, class {one.name}", *_both(one)) for one in rough.classes]
    rows += [(f"strength alone, CV {number(cv, 2)}", *_both(one)) for cv, one in rough.soil]
    head = ("Depth SD, mm", "small", "whole", "apart", "wheel off")
    return table(head, rows, indent=0)


def _both(one: Both) -> tuple[str, ...]:
    if one.whole is None:
        return ("–", "–", "–", "–")
    apart = number(100.0 * one.apart, 0)
    return _tenth(one.small.depth), _tenth(one.whole.depth), f"{apart} %", percent(one.wheel_off, 1)


def _pins(rough: Rough) -> list[str]:
    small, whole = rough.own.small, rough.own.whole
    if whole is None:
        return []
    rows = [(pin.replace("_", " "), number(small.pins[pin], 0), number(whole.pins[pin], 0)) for pin in PINS]
    return ["", *table(("Pin loads on this ground, SD in N", "small", "whole"), rows, indent=0)]


def _seals(found: Found) -> str:
    told = (
        f"Seals and fitting as a damper in line with the piston: {number(found.rub / 1e3)} kN s/m where ridges of this "
        f"height meet the bounce, {number(found.rub_held / 1e3)} while the seals are stuck."
    )
    spectra = found.rough.spectra
    if spectra is None:
        return told
    return (
        f"{told} On this ground {number(spectra.rub / 1e3)}: depth SD {_tenth(spectra.slipping.depth)} mm; "
        f"{_tenth(spectra.loose.depth)} without any, {_tenth(spectra.stuck.depth)} with seals that never slip. A load "
        f"that scattered evenly (Gaussian) would leave the wheel bare {percent(spectra.lift_off)} of the way; the "
        f"whole model says {percent(found.rough.own.wheel_off)}."
    )


def _tenth(length: float) -> str:
    return number(mm(length))
