"""The document that `rowbench modes --json` prints; every value with its unit in its key."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from analysis.modes.crossed import Crossed
from analysis.modes.found import Found
from analysis.modes.rough import Both, Rough, Spectra, Spread
from analysis.modes.shapes import Mode
from analysis.modes.verdict import verdict
from analysis.modes.words import NAMES, ridge_sentences, rough_sentences
from analysis.present.edge import bar, finite, kmh, mm
from sim.record import PINS

Document = dict[str, Any]


def modes_document(found: Found) -> Document:
    """All of it."""
    s = found.scenario.settings
    return {
        "scenario": found.scenario.name,
        "oil_pressure_bar": bar(s.oil_pressure),
        "speed_kmh": kmh(s.speed),
        "answer": [*ridge_sentences(found), *rough_sentences(found.rough, found)],
        "modes": [_mode(one, s.speed) for one in found.modes],
        "modes_while_seals_are_stuck": [_mode(one, s.speed) for one in found.held],
        "seals_as_damper_kNs_per_m": {"on_these_ridges": found.rub / 1e3, "stuck": found.rub_held / 1e3},
        "derivatives_error": found.linear.error,
        "ridges": _ridges(found),
        "chart": _chart(found),
        "transfer": _transfer(found),
        "ground": _rough(found.rough),
        "warnings": list(found.warnings),
    }


def _mode(one: Mode, speed: float) -> Document:
    moved = {
        name: {"size": abs(value), "phase_deg": math.degrees(math.atan2(value.imag, value.real))}
        for name, value in (
            ("toolbar_heave_m", one.heave), ("toolbar_pitch_rad", one.pitch), ("arm_angle_rad", one.arm),
            ("press_arm_angle_rad", one.press_arm), ("gauge_tyre_deflection_m", one.tyre),
            ("gauge_wheel_sinkage_m", one.soil),
        )
    }  # fmt: skip
    return {
        "name": NAMES[one.kind], "kind": one.kind, "frequency_Hz": one.frequency, "damping_ratio": one.damping,
        "ridges_that_meet_it_m": one.spacing(speed), "shape": moved,
    }  # fmt: skip


def _ridges(found: Found) -> Document:
    asked = found.asked
    judged = verdict(found.crossed, found.scenario.limits.depth_tolerance)
    rule = found.rule
    return {
        "spacing_m": asked.spacing,
        "height_mm": mm(asked.height),
        "source": asked.source,
        "by_speed": [
            {**_crossed(one), "by_small_motions_mm": finite(mm(small))}
            for one, small in zip(found.crossed, found.small.tolist(), strict=True)
        ],
        "kind": judged.kind,
        "worst_speed_kmh": None if judged.worst is None else kmh(judged.worst.speed),
        "within_tolerance_up_to_kmh": None if judged.within is None else kmh(judged.within),
        "changes": [{"name": one.name, "value": one.value, **_crossed(one.found)} for one in found.changes],
        "resonates_within_these_speeds": found.resonates,
        "speed_to_avoid_kmh_per_m": None
        if rule is None
        else {"value": kmh(rule.per_metre), "from_spacing_m": rule.low, "to_spacing_m": rule.high},
    }


def _crossed(one: Crossed) -> Document:
    return {
        "speed_kmh": kmh(one.speed), "depth_swing_mm": finite(mm(one.swing)), "worst_error_mm": finite(mm(one.worst)),
        "wheel_off_share": finite(one.wheel_off), "gauge_load_swing_N": finite(one.load_swing),
        "problem": one.problem or None,
    }  # fmt: skip


def _values(array: NDArray[np.float64]) -> list[Any]:
    """As lists, None for what is not known."""
    return [_values(row) if np.ndim(row) else finite(float(row)) for row in array]


def _chart(found: Found) -> Document:
    chart = found.chart
    return {
        "speed_kmh": [kmh(speed) for speed in chart.speeds],
        "spacing_m": _values(chart.spacings),
        "depth_swing_per_height": _values(chart.depth),
        "gauge_load_swing_share": _values(chart.load_share),
        "bounce_Hz": _values(chart.bounce),
        "bridged_below_m": chart.bridged_below,
    }


def _transfer(found: Found) -> Document:
    own = found.own
    load = own.load_share(2.0) * float(own.linear.told.gauge_load)
    return {
        "spacing_m": _values(own.spacings),
        "depth_per_ground": _values(own.depth),
        "gauge_load_N_per_mm": _values(load * 1e-3),
        "pins_N_per_mm": {pin: _values(own.pin(pin) * 1e-3) for pin in PINS},
    }


def _rough(rough: Rough) -> Document:
    part, soil = rough.part_from, rough.soil_parts_from
    return {
        "by_spectrum": None if rough.spectra is None else _spectra(rough.spectra),
        "this_ground": _both(rough.own),
        "heights_alone": [{"class": one.name, **_both(one)} for one in rough.classes],
        "heights_part_from_class": None if part is None else part.name,
        "strength_alone": [{"variation_cv": cv, **_both(one)} for cv, one in rough.soil],
        "strength_parts_from_cv": soil,
    }


def _spectra(spectra: Spectra) -> Document:
    return {
        **_spread(spectra.slipping),
        "seals_as_damper_kNs_per_m": spectra.rub / 1e3,
        "while_seals_are_stuck": _spread(spectra.stuck),
        "without_seals": _spread(spectra.loose),
        "wheel_off_share_if_gaussian": spectra.lift_off,
    }


def _both(one: Both) -> Document:
    return {
        "small_motions": _spread(one.small),
        "whole_model": None if one.whole is None else _spread(one.whole),
        "depth_apart": finite(one.apart),
        "wheel_off_share": finite(one.wheel_off),
        "at_stop_share": finite(one.at_stop),
        "disc_out_share": finite(one.out_of_soil),
        "problem": one.problem or None,
    }


def _spread(one: Spread) -> Document:
    return {"depth_sd_mm": mm(one.depth), "gauge_load_sd_N": one.gauge_load, "pin_sd_N": dict(one.pins)}
