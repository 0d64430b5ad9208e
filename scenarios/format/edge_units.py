"""Units at the edge (files, tables, commands) and their conversion to SI: one table for all of them."""

from __future__ import annotations

import math
from typing import NamedTuple

from sim.unit import KELVIN


class EdgeUnit(NamedTuple):
    """How a unit is written at the end of a key, and its conversion: SI = (value + offset)·factor/divisor.

    Either factor or divisor is 1, so that round figures convert without a second rounding.
    """

    suffix: str
    factor: float = 1.0
    divisor: float = 1.0
    offset: float = 0.0


EDGE_UNITS: dict[str, EdgeUnit] = {
    "1": EdgeUnit(""),
    "1/km": EdgeUnit(""),  # counts per length and area keep their unit inside, and say it in the field's name
    "1/(100 m)": EdgeUnit(""),
    "1/ha": EdgeUnit(""),
    "1/(km/h)": EdgeUnit("per_kmh"),  # the speed law of D497 is written in km/h; inside too
    "m": EdgeUnit("m"),
    "mm": EdgeUnit("mm", divisor=1000.0),
    "c/m": EdgeUnit("c_per_m"),
    "m3": EdgeUnit("m3"),
    "l": EdgeUnit("l", divisor=1000.0),
    "deg": EdgeUnit("deg", factor=math.pi / 180.0),
    "s": EdgeUnit("s"),
    "h": EdgeUnit("h", factor=3600.0),
    "m/s": EdgeUnit("m_per_s"),
    "mm/s": EdgeUnit("mm_per_s", divisor=1000.0),
    "km/h": EdgeUnit("kmh", divisor=3.6),
    "kg": EdgeUnit("kg"),
    "kg m2": EdgeUnit("kg_m2"),
    "kg/m3": EdgeUnit("kg_per_m3"),
    "N": EdgeUnit("N"),
    "kN": EdgeUnit("kN", factor=1e3),
    "N m": EdgeUnit("Nm"),
    "N/mm": EdgeUnit("N_per_mm", factor=1e3),
    "kN/m": EdgeUnit("kN_per_m", factor=1e3),
    "MN/m": EdgeUnit("MN_per_m", factor=1e6),
    "N s/m": EdgeUnit("Ns_per_m"),
    "kN s/m": EdgeUnit("kNs_per_m", factor=1e3),
    "s/m": EdgeUnit("s_per_m"),
    "s/rad": EdgeUnit("s_per_rad"),
    "N m/rad": EdgeUnit("Nm_per_rad"),
    "kN m/rad": EdgeUnit("kNm_per_rad", factor=1e3),
    "N m s/rad": EdgeUnit("Nms_per_rad"),
    "Pa s/m3": EdgeUnit("Pa_s_per_m3"),
    "bar": EdgeUnit("bar", factor=1e5),
    "MPa": EdgeUnit("MPa", factor=1e6),
    "GPa": EdgeUnit("GPa", factor=1e9),
    "degC": EdgeUnit("degC", offset=KELVIN),
    "degC apart": EdgeUnit("degrees"),  # a difference of temperatures
    "kN/m^(n+1)": EdgeUnit("kN_per_m_n1", factor=1e3),
    "kN/m^(n+2)": EdgeUnit("kN_per_m_n2", factor=1e3),
}


def file_key(name: str, edge: str) -> str:
    """Key in a file: the field's name with the suffix of its unit.

    >>> file_key("edge_width", "mm"), file_key("face_factor", "1")
    ('edge_width_mm', 'face_factor')
    """
    suffix = EDGE_UNITS[edge].suffix
    return f"{name}_{suffix}" if suffix else name


def to_si(value: float, edge: str) -> float:
    """A value in its edge unit → SI."""
    unit = EDGE_UNITS[edge]
    return (value + unit.offset) * unit.factor / unit.divisor


def to_edge(value: float, edge: str) -> float:
    """A value in SI → the shortest figure in its edge unit that converts back to the same value.

    >>> to_edge(8.0 / 3.6, "km/h")
    8.0
    """
    unit = EDGE_UNITS[edge]
    raw = value * unit.divisor / unit.factor - unit.offset
    for digits in range(1, 17):
        short = float(f"{raw:.{digits}g}")
        if to_si(short, edge) == value:
            return short
    return raw


def bound_to_edge(value: float, edge: str, toward: float) -> float:
    """A bound in SI → a round figure in its edge unit, moved by less than 0.1 % `toward` a value inside.

    >>> bound_to_edge(-1.2, "deg", 0.0), bound_to_edge(0.05, "mm", 0.0)
    (-68.75, 50.0)
    """
    exact = float(f"{to_edge(value, edge):.12g}")
    if len(repr(exact)) <= 7:
        return exact
    place = 10.0 ** (math.floor(math.log10(abs(exact))) - 3)
    step = math.floor if to_edge(toward, edge) < exact else math.ceil
    return float(f"{step(exact / place) * place:.4g}")


def distance_text(metres: float) -> str:
    """A distance in words.

    >>> distance_text(12.34), distance_text(111195.0)
    ('12.3 m', '111 km')
    """
    return f"{metres:.3g} m" if metres < 1000.0 else f"{metres / 1e3:.3g} km"


def number_text(value: float) -> str:
    """A figure as short as it goes without loss: 8.0 → 8, 0.00069 stays.

    >>> number_text(8.0), number_text(0.05), number_text(1e12)
    ('8', '0.05', '1e+12')
    """
    short = f"{value:.6g}"
    return short if float(short) == value else repr(value)


def unit_text(edge: str) -> str:
    """The unit as people write it: ' mm', ' °C', '' for a plain number."""
    spoken = {"1": "", "deg": "°", "degC": " °C", "c/m": " c/m", "1/km": " per km", "1/(100 m)": " per 100 m"}
    spoken |= {"1/ha": " per ha", "1/(km/h)": " per km/h", "degC apart": " °C"}
    text = spoken.get(edge, f" {edge}")
    return text.replace("m2", "m²").replace("m3", "m³")
