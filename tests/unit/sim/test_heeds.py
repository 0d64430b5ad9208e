"""What is to be heeded, kind by kind: said just beyond its bound, not at it, and told with its own numbers."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import NamedTuple

from every import every

from sim.heeds import KINDS, Met, heeds, precharge_heeds, pressure_heeds
from sim.hydraulics.accumulator import Fill
from sim.hydraulics.gas_rule import GasRule
from sim.record import DepthSetting
from sim.unit import Accumulator, Rock, Settings, Unit

UNIT, SETTINGS = Unit(), Settings()
SPACE, R, RP = UNIT.accumulator.volume, UNIT.gauge_wheel.radius, UNIT.press_wheel.radius
REACHED = DepthSetting(1.7, 0.69, 0.0117, 0.0283, 1060.0, -0.28, True)
CUSHION = Fill(0.02, 0.6 * SPACE, 25e5, True)
CALM = Met(90e5, 280.0, 310.0, 0.03, 4.0, 0.02, 5.0, knock=9e3, step=2e-3)


class Ready(NamedTuple):
    """What stands before the first step."""

    setting: DepthSetting
    gas: Fill


def told(unit=UNIT, settings=SETTINGS, setting=REACHED, gas=CUSHION, **met):
    return heeds(unit, settings, Ready(setting, gas), Rock(), CALM._replace(**met))


def test_a_calm_crossing_has_nothing_to_heed():
    assert told() == ()
    assert pressure_heeds(200e5, 200e5) == ()


@every(
    ("kind", "words", "barred", "beyond", "within"),
    [
        ("not_reached", "does not hold the disc", False, {"setting": replace(REACHED, reached=False)}, {}),
        ("no_cushion", "is below the full-gas pressure 69 bar", False, {"gas": Fill(0.02, SPACE, 70e5, False)}, {}),
        ("little_gas", "gas fills only 24 % of the accumulator", False,
         {"gas": replace(CUSHION, volume=0.2499 * SPACE)}, {"gas": replace(CUSHION, volume=0.25 * SPACE)}),
        ("gas_range", "200.1 bar, above 200", False, {"pressure": 200.1e5}, {"pressure": 200e5}),
        ("gas_range", "−40.7 °C, below −40.1", False, {"coldest": 232.4}, {"coldest": 233.0}),
        ("gas_range", "147.2 °C, above 146.9", False, {"hottest": 420.4}, {"hottest": 420.0}),
        ("shared", "shared by 3 units", False, {"unit": replace(UNIT, accumulator=Accumulator(shared_by=3))}, {}),
        ("gauge_deep", "101 mm at 4.0 m, over half its radius (200 mm)", False,
         {"gauge_squash": 0.505 * R}, {"gauge_squash": 0.5 * R}),
        ("gauge_lost", "202 mm at 4.0 m, more than its radius (200 mm)", True, {"gauge_squash": 1.01 * R}, {}),
        ("press_deep", "76 mm at 5.0 m, over half its radius (150 mm)", False,
         {"press_squash": 0.505 * RP}, {"press_squash": 0.5 * RP}),
        ("press_lost", "152 mm at 5.0 m, more than its radius (150 mm)", True, {"press_squash": 1.01 * RP}, {}),
        ("blow", "too short for steps of 40 ms", False, {"step": 0.04}, {"step": 0.04, "knock": 0.0}),
        ("energy", "open by 1.1e-03", True, {"energy_share": 1.1e-3}, {"energy_share": 1e-3}),
    ],
)  # fmt: skip
def test_each_kind_beyond_its_bound_and_not_at_it(kind, words, barred, beyond, within):
    heard = told(**beyond)
    assert [heed.kind for heed in heard] == [kind]
    found = heard[0]
    assert found.kind in KINDS
    assert words in found.text
    assert found.barred is barred
    assert not found.text.endswith(".")
    assert told(**within) == ()


def test_at_the_radius_itself_the_wheel_is_only_deep():
    (found,) = told(gauge_squash=R)
    assert (found.kind, found.barred) == ("gauge_deep", False)


def test_the_ideal_gas_has_no_range():
    assert told(settings=Settings(gas="ideal"), pressure=300e5) == ()


def test_the_files_own_pressure():
    (found,) = pressure_heeds(200.3e5, 200e5)
    assert found.kind == "pressure"
    assert not found.barred
    assert found.text == "oil pressure reached 200.3 bar, above 200 bar (limits.gas_pressure_warning_bar)"


def test_the_worse_has_the_larger_size():
    """By it the worst of several grounds or rows is found."""
    for worse, less in (
        ({"gas": replace(CUSHION, volume=0.1 * SPACE)}, {"gas": replace(CUSHION, volume=0.2 * SPACE)}),
        ({"gauge_squash": 1.5 * R}, {"gauge_squash": 1.1 * R}),
        ({"energy_share": 0.1}, {"energy_share": 0.01}),
        ({"pressure": 300e5}, {"pressure": 250e5}),
    ):
        assert told(**worse)[0].size > told(**less)[0].size
    assert pressure_heeds(250e5, 200e5)[0].size > pressure_heeds(220e5, 200e5)[0].size


@every(
    ("oil", "precharge", "words"),
    [
        (40, 50, "too high for 40 bar of oil: 1.43 of the lowest working pressure (hot), above 0.9"),
        (60, 24, "too low for 60 bar of oil: a hump presses the gas to 5.5 times it (cold), above 4"),
    ],
)
def test_a_precharge_that_does_not_suit(oil, precharge, words):
    s = Settings(oil_pressure=oil * 1e5, precharge=precharge * 1e5)
    (found,) = precharge_heeds(UNIT, s, GasRule())
    assert (found.kind, found.barred) == ("precharge", False)
    assert f"a precharge of {precharge} bar is {words}" in found.text
    low, high = (float(text) * 1e5 for text in re.findall(r"([\d.]+) to ([\d.]+) bar suits$", found.text)[0])
    for suits in (low, high):
        assert precharge_heeds(UNIT, replace(s, precharge=suits), GasRule()) == ()
    assert precharge_heeds(UNIT, s, GasRule(100.0, 100.0)) == ()
    assert found.size > 1.0


def test_where_no_precharge_suits_a_larger_accumulator_is_told():
    small = replace(UNIT, accumulator=Accumulator(volume=0.05e-3))
    for precharge in (8e5, 30e5):
        (found,) = precharge_heeds(small, Settings(precharge=precharge), GasRule())
        assert found.text.endswith("no precharge suits, only a larger accumulator would")
