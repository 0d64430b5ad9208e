"""Conversion between edge units and SI."""

from __future__ import annotations

import math

import pytest
from every import every

from scenarios.format.edge_units import EDGE_UNITS, bound_to_edge, file_key, number_text, to_edge, to_si, unit_text
from scenarios.format.tables import walk

# Worked by hand from the definitions of the units (SI brochure; 1 bar = 1e5 Pa).
BY_HAND = [
    (60.0, "bar", 6e6),
    (36.0, "km/h", 10.0),
    (8.0, "mm", 0.008),
    (180.0, "deg", math.pi),
    (20.0, "degC", 293.15),
    (-40.0, "degC", 233.15),
    (1.2, "MPa", 1.2e6),
    (2.5, "GPa", 2.5e9),
    (0.7, "l", 0.7e-3),
    (2.0, "N/mm", 2000.0),
    (240.0, "kN/m", 240e3),
    (0.6, "MN/m", 0.6e6),
    (5.0, "kN s/m", 5000.0),
    (60.0, "kN m/rad", 60e3),
    (5000.0, "kN/m^(n+2)", 5e6),
    (40.0, "kN/m^(n+1)", 40e3),
    (20.0, "kN", 20e3),
    (5.0, "mm/s", 0.005),
    (0.9, "1", 0.9),
]


@every(("edge_value", "edge", "si"), BY_HAND)
def test_hand_worked_conversions(edge_value, edge, si):
    assert to_si(edge_value, edge) == pytest.approx(si, rel=1e-15)
    assert to_edge(si, edge) == pytest.approx(edge_value, rel=1e-12)


def test_every_edge_unit_of_the_parameters_is_known():
    used = {key.edge for _, key in walk()}
    assert used <= set(EDGE_UNITS)
    assert set(EDGE_UNITS) - used == {"m/s"}  # kept for later keys; all others are in use


def test_suffixes_are_distinct_but_for_plain_numbers():
    suffixes = [unit.suffix for unit in EDGE_UNITS.values() if unit.suffix]
    assert len(suffixes) == len(set(suffixes))


def test_file_key_has_no_suffix_for_a_plain_number():
    assert file_key("waviness", "1") == "waviness"
    assert file_key("stop_up", "deg") == "stop_up_deg"


@every("edge", EDGE_UNITS)
@every("value", [1.0, 0.1, 12.34, 250.0])
def test_round_figures_survive_the_way_in_and_out(value, edge):
    assert to_edge(to_si(value, edge), edge) == pytest.approx(value, rel=1e-12)


def test_bounds_are_round_and_lie_inside():
    assert bound_to_edge(1.2, "deg", 0.0) == 68.75  # 1.2 rad = 68.7549°
    assert bound_to_edge(-0.05, "deg", -0.5) == -2.865  # −0.05 rad = −2.86479°, moved into the range
    assert bound_to_edge(233.15, "degC", 293.0) == -40.0


@every(("value", "text"), [(8.0, "8"), (0.05, "0.05"), (0.049090909090909095, "0.049090909090909095")])
def test_figures_lose_nothing(value, text):
    assert number_text(value) == text
    assert float(number_text(value)) == value


def test_units_as_people_write_them():
    assert [unit_text(edge) for edge in ("mm", "deg", "degC", "1", "kg m2")] == [" mm", "°", " °C", "", " kg m²"]
