"""The pressure chart: against the march's own hydraulics, its rules kept at what it advises, sentences from numbers."""

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from drawn import amiss
from every import every
from packed_model import packed

from analysis.present.cautions import PRESSURE_NOTE
from analysis.present.figure_style import save
from analysis.setting_up.figure_pressures import pressures_figure
from analysis.setting_up.precharge import change_over_travel, precharge, sizes, travel_angles
from analysis.setting_up.pressure_chart import bottom_pressure, chart
from analysis.setting_up.pressure_words import pressures_text
from scenarios.load import load
from sim.hydraulics.accumulator import pushing, with_accumulator
from sim.hydraulics.cylinder import cylinder_length, downforce, lever
from sim.hydraulics.gas_rule import SHARE, SQUEEZE
from sim.hydraulics.oil import hydraulics
from sim.hydraulics.working import full_pressure, highest_working, lowest_working
from sim.laws.gas import NITROGEN
from sim.unit import ATMOSPHERE, KELVIN

ANGLES = np.radians((-28.0, -20.0, -5.0, 0.0, 8.0, 20.0, 28.0))


@pytest.fixture(scope="module")
def scenario():
    return load("rough", changes={"settings.oil_pressure_bar": 60, "search.pressures_bar": "30:90:7"})


def changed(scenario, **settings):
    return replace(scenario, settings=replace(scenario.settings, **settings))


def text_of(scenario, *, wanted=0.5, travel=None, **options):
    found = chart(scenario, **options)
    made = pressures_text(found, precharge(found), sizes(found, wanted, travel), scenario.title)
    return " ".join(made.split())


@every("angle", ANGLES)
def test_the_lever_is_the_slope_of_the_cylinders_length(scenario, angle):
    unit, h = scenario.unit, 1e-5
    at, low, high = (lever(unit, float(angle + d)) for d in (0.0, -h, h))
    rise = high.height - low.height
    assert at.ratio == pytest.approx(-(high.length - low.length) / rise, rel=1e-8)
    assert at.ratio_rate == pytest.approx((high.ratio - low.ratio) / rise, rel=1e-7)
    assert at.length == pytest.approx(cylinder_length(unit, float(angle)), rel=1e-14)


def test_the_nominal_downforce_is_that_of_a_run(scenario):
    for state in chart(scenario).states:
        for line in state.lines:
            assert line.downforce == pytest.approx(downforce(scenario.unit, line.oil_pressure), rel=1e-10)


@every("oil_bar", [15.0, 22.0, 26.0, 60.0, 85.0])
def test_pressures_are_those_of_the_march_at_the_same_volume(scenario, oil_bar):
    """With and without cushion, at every arm angle, gas at its temperature and warmed by a fast move."""
    s = replace(scenario.settings, oil_pressure=oil_bar * 1e5, gas_temperature=278.15)
    m = packed(scenario.unit, settings=s)
    at = pushing(scenario.unit, s, s.oil_pressure, s.gas_temperature)
    for angle in ANGLES:
        length = cylinder_length(scenario.unit, float(angle))
        _, p_oil, *_ = hydraulics(m, NITROGEN, length, 0.0, s.gas_temperature, 0.0)
        assert at.pressure(angle, fast=False) == pytest.approx(p_oil - ATMOSPHERE, rel=1e-9, abs=1e-3)
        warm = at.gas.fast_temperature(at.volume(angle))
        _, p_oil, *_ = hydraulics(m, NITROGEN, length, 0.0, warm, 0.0)
        assert at.pressure(angle, fast=True) == pytest.approx(p_oil - ATMOSPHERE, rel=1e-9, abs=1e-3)


@every("fast", [False, True])
@every("oil_bar", [18.0, 40.0, 90.0])
def test_the_spring_rate_is_the_slope_of_the_downforce(scenario, oil_bar, fast):
    """Tangent by the formula against a central difference over 0.2 mm, with and without cushion."""
    at = pushing(scenario.unit, scenario.settings, oil_bar * 1e5, 283.15)
    h = 1e-4 / scenario.unit.main_links.length
    rise = lever(scenario.unit, h).height - lever(scenario.unit, -h).height
    slope = (at.downforce(h, fast) - at.downforce(-h, fast)) / rise
    assert at.spring_rate(fast) == pytest.approx(slope, rel=1e-4)


def test_cold_and_hot_differ_as_they_must(scenario):
    cold, hot = chart(scenario).states
    assert cold.full_pressure < scenario.settings.precharge < hot.full_pressure
    for a, b in zip(cold.lines, hot.lines, strict=True):
        assert a.share < b.share  # colder gas is denser at the same pressure
        assert b.spring_slow < a.spring_slow < a.spring_fast
        assert a.top.share < a.share < a.bottom.share
        assert a.bottom.downforce < a.downforce < a.top.downforce
        assert a.bottom.fast_downforce < a.bottom.downforce
        assert a.top.downforce < a.top.fast_downforce
    same = chart(scenario, None, 20.0, 20.001).states[0]
    assert same.full_pressure == pytest.approx(scenario.settings.precharge, rel=1e-9)


def test_the_cushion_ends_where_the_chart_says(scenario):
    unit, s = scenario.unit, scenario.settings
    at = 0.0 + KELVIN
    full = full_pressure(unit, s, at)
    below, above = chart(scenario, [full - 1e3, full + 1e3], 0.0).states[0].lines
    assert (below.cushion, above.cushion) == (False, True)
    least = bottom_pressure(unit, s, at)
    short, enough = chart(scenario, [least - 1e3, least + 1e3], 0.0).states[0].lines
    assert (short.cushion_at_bottom, enough.cushion_at_bottom) == (False, True)
    middle = chart(scenario, [0.5 * (full + least)], 0.0).states[0].lines[0]
    pushed = pushing(unit, s, middle.oil_pressure, at)
    sine = middle.lost_at / unit.main_links.length
    assert pushed.volume(math.asin(sine)) == pytest.approx(unit.accumulator.volume, rel=1e-9)
    assert middle.bottom.downforce <= 0.0
    assert below.spring_slow > 50.0 * above.spring_slow


def test_the_precharges_advised_keep_their_rules_to_the_edge(scenario):
    found = chart(scenario)
    advice = precharge(found)
    unit, s = scenario.unit, scenario.settings
    cold, hot = (state.temperature for state in found.states)
    with_most, with_least = (replace(s, precharge=p) for p in (advice.most, advice.least))
    lowest = lowest_working(unit, with_most, s.oil_pressure, hot) + ATMOSPHERE
    assert full_pressure(unit, with_most, hot) + ATMOSPHERE == pytest.approx(SHARE * lowest, rel=1e-6)
    highest = highest_working(unit, with_least, s.oil_pressure, cold) + ATMOSPHERE
    assert highest == pytest.approx(SQUEEZE * (full_pressure(unit, with_least, cold) + ATMOSPHERE), rel=1e-6)
    assert advice.smoothing + ATMOSPHERE == pytest.approx(0.6 * (s.oil_pressure + ATMOSPHERE))
    assert advice.verdict == "low"
    for oil, rule in ((advice.lowest_oil, "most"), (advice.highest_oil, "least")):
        again = precharge(chart(changed(scenario, oil_pressure=oil)))
        assert getattr(again, rule) == pytest.approx(s.precharge, rel=1e-6)
    assert highest_working(unit, s, advice.warned_oil, cold) == pytest.approx(200e5, rel=1e-6)


@every(("bar", "verdict"), [(24.0, "low"), (35.0, "within"), (50.0, "high")])
def test_the_verdict_on_a_precharge_follows_it(scenario, bar, verdict):
    one = changed(scenario, precharge=bar * 1e5)
    found = precharge(chart(one))
    assert found.verdict == verdict
    words = {"low": "is below them", "within": "lies within them", "high": "is above them"}
    assert f"The file's {bar:.1f} bar {words[verdict]}" in text_of(one)


def test_an_accumulator_of_the_size_found_is_as_even_as_asked(scenario):
    found = chart(scenario)
    for size in sizes(found, 0.6, 0.1):
        unit = with_accumulator(scenario.unit, size.volume)
        at = next(state.temperature for state in found.states if state.name == size.state)
        angles = travel_angles(scenario.unit, 0.1)
        assert change_over_travel(unit, scenario.settings, at, size.fast, angles) == pytest.approx(0.6, abs=1e-5)
        smaller = with_accumulator(scenario.unit, 0.98 * size.volume)
        assert change_over_travel(smaller, scenario.settings, at, size.fast, angles) > 0.6
    cold_slow, cold_fast, hot_slow, hot_fast = (size.volume for size in sizes(found, 0.6))
    assert hot_slow < cold_slow < cold_fast > hot_fast


def test_the_lever_alone_sets_a_floor_to_evenness(scenario):
    """However large the accumulator, what is left is the change of the motion ratio over the travel."""
    for size in sizes(chart(scenario), 0.3):
        assert size.volume is None
        low, middle, high = (lever(scenario.unit, a).ratio for a in (*travel_angles(scenario.unit, None), 0.0))
        floor = (max(low, middle, high) - min(low, middle, high)) / lever(scenario.unit, 0.0).ratio
        assert floor < size.least < 1.02 * floor
        assert size.lever == pytest.approx(floor)
    text = text_of(scenario, wanted=0.3)
    assert f"the lever of the cylinder alone leaves {100 * floor:.0f} %" in text
    assert "None:" not in text_of(scenario)
    no_cushion = text_of(changed(scenario, precharge=70e5))
    assert "at this precharge the gas comes to its end over this travel" in no_cushion
    assert "the lever of the cylinder alone" not in no_cushion


def test_travel_stops_bound_the_travel(scenario):
    down, up = travel_angles(scenario.unit, 0.05)
    assert lever(scenario.unit, up).height == pytest.approx(0.05)
    assert lever(scenario.unit, down).height == pytest.approx(-0.05)
    assert travel_angles(scenario.unit, 0.9) == travel_angles(scenario.unit, None)


def test_sentences_follow_the_numbers(scenario):
    base = text_of(scenario)
    assert "60 bar set at 0 °C with the oil trapped reads 69.1 bar at 35 °C: 241 in place of 209 kgf a row" in base
    assert "lost below 22.2 bar at 0 °C (the precharge there)" in base
    assert "lost below 25.4 bar at 35 °C" in base
    assert "the file names none" in base
    other = text_of(changed(scenario, oil_pressure=50e5, precharge=30e5), cold=5.0, hot=40.0)
    found = chart(changed(scenario, oil_pressure=50e5, precharge=30e5), None, 5.0, 40.0)
    assert f"50 bar set at 5 °C with the oil trapped reads {found.warmed / 1e5:.1f} bar at 40 °C" in other
    assert f"lost below {found.states[0].full_pressure / 1e5:.1f} bar at 5 °C" in other
    assert PRESSURE_NOTE in base
    assert "the plate of accumulator" in base


def test_a_pressure_without_cushion_is_told(scenario):
    hollow = changed(scenario, oil_pressure=60e5, precharge=50e5)
    assert "60 bar at 35 °C: the cushion is lost once the disc is 254 mm under its nominal place." in text_of(hollow)
    full = changed(scenario, oil_pressure=60e5, precharge=70e5)
    stiff = text_of(full)
    short = full_pressure(full.unit, full.settings, KELVIN) - 60e5
    assert 3e5 < short < 6e5
    assert f"60 bar at 0 °C: no cushion at all, {short / 1e5:.1f} bar too low." in stiff
    assert "stiff" in stiff
    assert "Full: the gas has come to its end" in stiff


def test_pressures_over_the_files_highest_are_marked(scenario):
    limited = replace(scenario, limits=replace(scenario.limits, max_oil_pressure=70e5))
    found = chart(limited)
    assert found.allowed == (True, True, True, True, True, False, False)
    text = text_of(limited)
    assert "*: over the 70 bar that the file allows" in text
    assert "80 * 279" in text
    assert "its own 60 bar keeps to it" in text
    assert "its own 60 bar is over that" in text_of(
        replace(scenario, limits=replace(scenario.limits, max_oil_pressure=55e5))
    )
    assert "*:" not in text_of(scenario)


def test_a_small_accumulator_leaves_the_gas_law_and_says_so(scenario):
    small = replace(scenario, unit=with_accumulator(scenario.unit, 0.2e-3))
    line = chart(small, [60e5]).states[0].lines[0]
    assert line.top.downforce is None
    assert line.evenness(False) is None
    text = text_of(small)
    assert "–: the gas would be pressed beyond its law." in text
    json.dumps(chart(small).to_dict(), allow_nan=False)


def test_shared_accumulators_and_ideal_gas_are_named(scenario):
    shared = replace(scenario.unit, accumulator=replace(scenario.unit.accumulator, volume=5.6e-3, shared_by=8))
    text = text_of(replace(scenario, unit=shared))
    assert "shared by 8 units" in text
    assert "each has 0.7 l" in text
    assert "ideal gas" in text_of(changed(scenario, gas="ideal"))
    assert "ideal gas" not in text_of(scenario)


def test_json_has_units_and_no_nan(scenario):
    found = chart(scenario)
    d = found.to_dict()
    json.dumps([d, precharge(found).to_dict(), [size.to_dict() for size in sizes(found, 0.5)]], allow_nan=False)
    assert d["oil_pressures_bar"] == [30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0]
    line = d["states"]["cold"]["lines"][3]
    assert line["downforce_kgf"] == pytest.approx(209.0, abs=0.1)
    assert line["spring_rate_slow_N_per_mm"] == pytest.approx(found.states[0].lines[3].spring_slow / 1e3)
    assert set(line["top"]) >= {"slow_downforce_kgf", "fast_downforce_kgf", "gas_share"}


def test_the_figure_shows_the_chart(scenario, tmp_path):
    found = chart(scenario)
    figure = pressures_figure(found, scenario.title)
    told = " ".join(text.get_text().replace("\n", " ") for text in figure.texts)
    own = found.own[0]
    assert f"60 bar give 209 kgf a row, {own.bottom.downforce / 9.80665:.0f} to" in told
    force = figure.axes[0]
    nominal = next(line for line in force.lines if line.get_color() == "#000000")
    at = float(np.interp(60.0, nominal.get_xdata(), nominal.get_ydata()))
    assert at == pytest.approx(own.downforce / 9.80665, rel=1e-6)
    assert amiss(figure) == []
    assert all(axes.get_legend() is None for axes in figure.axes)  # the legend stands under them all
    for axes, dashed in zip(figure.axes, (("top", "bottom"), (), ("top", "bottom")), strict=True):
        looks = {len(line._unscaled_dash_pattern[1] or ()) for line in axes.lines if len(line.get_xdata()) > 2}
        assert (2 in looks) == bool(dashed)  # dashes without a dot: bottom of travel, in whichever panel
        assert {text.get_text() for text in axes.texts} >= set(dashed)
    save(figure, tmp_path / "a.png")
    other = changed(scenario, oil_pressure=40e5)
    again = pressures_figure(chart(other), other.title)
    assert "40 bar give 139 kgf a row" in " ".join(text.get_text().replace("\n", " ") for text in again.texts)
