"""What is assumed to be in doubt where nobody has measured: the table [prior] of a file, one key for each value."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from scenarios.doubt.doubtful import BY_NAME, Doubtful
from sim.unit import quantity

MOST_TIMES = 20.0


def _times(default: float, name: str) -> Any:
    one = BY_NAME[name]
    doc = f"{one.words}, times and divided by; 1: known"
    return quantity(default, "1", 1.0, MOST_TIMES, doc, source=one.source)


def _plus(default: float, unit: str, high: float, name: str, edge: str = "") -> Any:
    one = BY_NAME[name]
    doc = f"{one.words}, plus and minus; 0: known"
    return quantity(default, unit, 0.0, high, doc, edge=edge, source=one.source)


@dataclass(frozen=True, kw_only=True)
class Prior:
    """How far values may be from this file's where nobody measured: 19 of 20 fields or units like it lie within.

    `_times`: by a factor, up and down alike; `_plus`: by an amount. `rowbench fit` puts [uncertain] in its place.
    """

    soil_strength_times: float = _times(1.5, "soil_strength")
    sinkage_moduli_times: float = _times(1.5, "sinkage_moduli")
    sinkage_exponent_plus: float = _plus(0.15, "1", 0.5, "sinkage_exponent")
    speed_term_plus: float = _plus(0.02, "1/(km/h)", 0.2, "speed_term")
    strength_scatter_times: float = _times(1.67, "strength_scatter")
    strength_length_times: float = _times(2.0, "strength_length")
    roughness_times: float = _times(4.0, "roughness")
    edge_width_times: float = _times(1.3, "edge_width")
    face_pressure_times: float = _times(2.0, "face_pressure")
    disc_friction_times: float = _times(1.6, "disc_friction")
    boot_force_times: float = _times(2.0, "boot_force")
    tyre_stiffness_times: float = _times(1.4, "tyre_stiffness")
    tyre_damping_times: float = _times(2.0, "tyre_damping")
    wheel_place_plus: float = _plus(0.010, "m", 0.1, "wheel_place", "mm")
    unit_mass_times: float = _times(1.05, "unit_mass")
    downforce_times: float = _times(1.05, "downforce")
    seal_friction_times: float = _times(2.0, "seal_friction")
    gas_volume_times: float = _times(1.1, "gas_volume")
    precharge_times: float = _times(1.1, "precharge")
    gas_temperature_plus: float = _plus(25.0, "K", 40.0, "gas_temperature", "degC apart")
    press_spring_times: float = _times(1.1, "press_spring")
    toolbar_tyres_times: float = _times(1.4, "toolbar_tyres")
    stone_contact_times: float = _times(2.0, "stone_contact")
    dig_error: float = quantity(0.003, "m", 0.0, 0.03, "a depth dug and read, plus and minus", edge="mm")
    cone_factor: float = quantity(1.0, "1", 0.1, 10.0, "soil strength over the reading of a penetrometer")
    cone_factor_times: float = quantity(1.3, "1", 1.0, MOST_TIMES, "that factor, times and divided by; 1: known")

    def of(self, one: Doubtful) -> float:
        """The range of a value in doubt: a factor (TIMES) or an amount [SI] (PLUS)."""
        return float(getattr(self, one.field))
