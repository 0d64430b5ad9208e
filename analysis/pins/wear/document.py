"""What `rowbench pins --json` prints: SI units or the unit in the key."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from analysis.pins.duty.duty import Duty
from analysis.pins.duty.settings import Setting
from analysis.pins.duty.strikes import MOST, Spread, spread
from analysis.pins.wear.at_settings import AtSetting
from analysis.pins.wear.life import Needed, PinLife, Pins, clearance
from analysis.pins.wear.materials import MATERIALS, Span
from analysis.pins.wear.told import SEASONS, Told
from analysis.present.edge import bar, finite, kmh
from sim.record import PINS

if TYPE_CHECKING:
    from analysis.pins.duty.extremes import Passing


def pins_document(told: Told) -> dict[str, Any]:
    """Settings, the year's work, every pin, the one told in full with what it would need."""
    found, settings = told.pins, told.work.settings
    return {
        "scenario": told.work.name,
        "crossed": _crossed(told),
        "settings": {"oil_pressure_bar": bar(settings.oil_pressure), "speed_kmh": kmh(settings.speed)},
        "year": {
            "hectares": found.farm.hectares, "hectares_given": found.farm.given, "working_width_m": found.farm.width,
            "travel_m": found.farm.travel, "hours": found.farm.hours, "lubricated_share": found.farm.lubricated,
            "side_slope_rad": found.unit.pins.side_slope, "upper_share": found.unit.pins.upper_share,
            "worn_out_play_m": found.unit.pins.worn_out_play,
        },
        "wears_out_first": found.first.name if found.first.years else None,
        "pins": {
            life.name: _pin(life, duty, found)
            for life, duty in zip(found.lives, told.duties, strict=True)
        },
        "told": {
            "pin": told.of.name,
            "ten_years": None if told.needed is None else _needed(told.needed),
            "play_mm_after_seasons": _seasons(told),
            "wear_with_over_without": {cost.what: cost.ratio for cost in told.costs},
        },
        "common_practice": {"main_pin": found.first_main.name, "years": [_needed(need) for need in told.practice]},
        "warnings": list(told.work.warnings),
    }  # fmt: skip


def _crossed(told: Told) -> dict[str, Any]:
    rows = told.work.rows
    return {
        "runs": told.stretch.runs, "length_m": told.over.distance, "seeds": list(told.work.grounds),
        "paddock_rows": None if rows is None else {
            "rows": rows.rows, "of_rows": rows.all_rows, "passes": rows.passes, "of_passes": rows.all_passes,
        },
        "wear_known_within_share": finite(told.stretch.known_within(told.of.name)),
    }  # fmt: skip


def beside_document(
    told: Told, passed: Sequence[Passing] | None, tried: Sequence[tuple[Setting, AtSetting | str]]
) -> dict[str, Any]:
    """What stones bring, how often they pass a limit, and one pin at other settings; each where there is some."""
    found = told.stretch.strikes
    made: dict[str, Any] = {}
    if told.stones:
        most = _spread(spread(found, MOST))
        made["stones"] = {
            "met": found.stones, "contact_stiffness_N_per_m": told.work.stiffness, "most_loaded_pin": most,
            "pins": {name: _spread(spread(found, name)) for name in PINS},
            "passing": None if passed is None else [_passing(one) for one in passed],
        }  # fmt: skip
    if tried:
        made["tried"] = {"pin": told.of.name, "settings": [_tried(at, one) for at, one in tried]}
    return made


def _spread(of: Spread) -> dict[str, Any]:
    return {"strikes": of.strikes, "half_below_N": finite(of.middle), "one_in_ten_over_N": finite(of.tenth),
            "highest_N": finite(of.highest)}  # fmt: skip


def _passing(one: Passing) -> dict[str, Any]:
    return {
        "pin": one.pin, "limit_N": one.limit, "contact_stiffness_N_per_m": one.stiffness, "strikes": one.strikes,
        "passed": one.passed, "stones_per_ha": one.stones_per_hectare, "expected_per_ha": finite(one.expected),
        "low_95_per_ha": finite(one.low), "high_95_per_ha": finite(one.high), "note": one.note or one.reason,
    }  # fmt: skip


def _tried(at: Setting, one: AtSetting | str) -> dict[str, Any]:
    where = {"oil_pressure_bar": bar(at.oil_pressure), "speed_kmh": kmh(at.speed)}
    if isinstance(one, str):
        return {**where, "failed": one}
    return {
        **where, "failed": "", "peak_N": one.peak, "equivalent_N": finite(one.equivalent),
        "life_years": _times(one.life.years, 1.0), "strikes": _spread(one.strikes),
        "strikes_most_loaded_pin": _spread(one.hardest),
    }  # fmt: skip


def _pin(life: PinLife, duty: Duty, found: Pins) -> dict[str, Any]:
    bush, of = life.duty, MATERIALS[life.duty.pin.material]
    return {
        "peak_N": duty.peak,
        "rms_N": duty.rms,
        "mean_N": duty.mean,
        "equivalent_N": finite(duty.equivalent),
        "turning_rad_per_m": bush.sliding,
        "diameter_m": bush.pin.diameter,
        "span_m": bush.pin.span,
        "bush_length_m": bush.pin.length,
        "material": bush.pin.material,
        "lubrication": bush.pin.lubrication,
        "bushes": bush.pin.bushes,
        "worse_bush": bush.side or None,
        "bush_peak_N": bush.peak,
        "bush_rms_N": bush.rms,
        "bush_mean_N": bush.mean,
        "bush_in_plane_mean_N": bush.in_plane,
        "bush_couple_mean_N": bush.couple_part,
        "bush_pressure_peak_Pa": bush.pressure_peak,
        "bush_pressure_rms_Pa": bush.pressure_rms,
        "edge_pressure_Pa": finite(bush.edge),
        "sliding_speed_rms_m_per_s": bush.velocity,
        "pressure_velocity_W_per_m2": bush.pressure_velocity(found.speed),
        "pin_stress_Pa": bush.stress,
        "asked_over_limit": {one.name: finite(one.share) for one in life.asked},
        "limits_from": of.limits_from,
        "wear_factor_m2_per_N": list(life.factor),
        "wear_factor_from": of.wear_from,
        "wear_m_per_1000_ha": _times(life.wear_per_hectare, 1000.0),
        "life_years": _times(life.years, 1.0),
        "life_ha": _times(life.years, found.farm.hectares),
        "limited_by": life.limit,
    }


def _times(span: Span | None, factor: float) -> list[float] | None:
    return None if span is None else [value * factor for value in span]


def _needed(need: Needed) -> dict[str, Any]:
    return {
        "years": need.years,
        "wear_factor_m2_per_N": need.factor,
        "bush_length_m": list(need.length),
        "span_m": list(need.span),
        "lubricated_share": need.lubricated,
        "greasings_a_year": need.greasings,
    }


def _seasons(told: Told) -> dict[str, list[float] | None]:
    found = clearance(told.of, told.pins.farm, SEASONS)
    return {f"{n:g}": _times(span, 1e3) for n, span in zip(SEASONS, found, strict=True)}
