"""The pressure chart against a calculation by hand and against the reference equation of state of nitrogen.

Sources: the hand calculation is elementary statics and the ideal gas (`derived`), with the figures written out for
the default unit; Span et al. 2000 reference equation through CoolProp 8.0.0 (`computed`).
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from CoolProp.CoolProp import PropsSI

from analysis.setting_up.pressure_chart import chart
from scenarios.load import load
from sim.hydraulics.cylinder import lever

SPAN = "Span et al. 2000 (CoolProp 8.0.0)"
KGF, ATM = 9.80665, 101325.0
PRESSURES = [30e5, 40e5, 60e5, 80e5, 100e5]
TOP = 200e5  # the range of the project's gas law ends here [Pa]

# The default unit by hand. Piston 32 mm; its pin 260 mm along the link, the toolbar's pin 50 mm behind and 430 mm
# over the link's front pin; links 550 mm, level at the nominal angle, stops at ±28°.
AREA = 8.04248e-4  # π/4 · 0.032² [m²]
NOMINAL = 0.478539  # √(0.21² + 0.43²) [m]
BOTTOM = 0.580532  # √(0.179566² + 0.552063²)
HIGH = 0.356468  # √(0.179566² + 0.307937²)
RATIO = 0.424777  # 0.43 · 0.26/0.478539/0.55
RATIO_RATE = 0.28725  # (0.233627² − 0.26² + 0.21 · 0.26)/0.478539/0.55² [1/m]


@pytest.fixture(scope="module")
def scenario():
    return load("rough", changes={"settings.oil_pressure_bar": 60})


def test_downforce_and_lever_by_hand(scenario):
    at = lever(scenario.unit, 0.0)
    assert at.length == pytest.approx(NOMINAL, rel=1e-5)
    assert at.ratio == pytest.approx(RATIO, rel=1e-5)
    assert at.ratio_rate == pytest.approx(RATIO_RATE, rel=1e-4)
    line = chart(scenario, [60e5]).states[0].lines[0]
    assert line.downforce / KGF == pytest.approx(209.02, abs=0.02)  # 6e6 Pa · 8.04248e-4 m² · 0.424777/9.80665


def test_an_ideal_gas_by_hand(scenario):
    ideal = replace(scenario, settings=replace(scenario.settings, gas="ideal"))
    cold = chart(ideal, [60e5], cold=0.0).states[0]
    line = cold.lines[0]
    # 24 bar at 20 °C are 25.01325 bar absolute · 273.15/293.15 at 0 °C
    assert (cold.full_pressure + ATM) / 1e5 == pytest.approx(23.3067, rel=1e-5)
    volume = 0.7 * 23.3067 / 61.01325  # gas at 60 bar [l]
    assert volume == pytest.approx(0.267396, rel=1e-5)
    assert line.share == pytest.approx(volume / 0.7, rel=1e-5)
    up, down = AREA * (HIGH - NOMINAL) * 1e3, AREA * (BOTTOM - NOMINAL) * 1e3
    assert (up, down) == pytest.approx((-0.098176, 0.082027), rel=1e-4)
    slow = [61.01325 * volume / (volume + change) for change in (up, down)]
    fast = [61.01325 * (volume / (volume + change)) ** 1.4 for change in (up, down)]
    assert slow == pytest.approx([96.411, 46.690], rel=1e-4)
    found = [(end.pressure + ATM) / 1e5 for end in (line.top, line.bottom)]
    assert found == pytest.approx(slow, rel=1e-4)
    assert [(end.fast_pressure + ATM) / 1e5 for end in (line.top, line.bottom)] == pytest.approx(fast, rel=1e-4)
    # stiffness: 0.424777² · (8.04248e-4)² · 6.101325e6/2.67396e-4 + 6e6 · 8.04248e-4 · 0.28725
    assert line.spring_slow == pytest.approx(2663.0 + 1386.1, rel=2e-4)
    assert line.spring_fast == pytest.approx(1.4 * 2663.0 + 1386.1, rel=2e-4)
    assert chart(ideal, [60e5], 0.0, 35.0).warmed / 1e5 == pytest.approx(61.01325 * 308.15 / 273.15 - 1.01325, rel=1e-6)


def test_the_chart_against_real_nitrogen(published, scenario):
    """Every pressure that the chart shows, cold and hot, from the same filling and the same volumes by CoolProp."""
    s, space = scenario.settings, scenario.unit.accumulator.volume
    density = PropsSI("D", "P", s.precharge + ATM, "T", s.precharge_temperature, "Nitrogen")
    mass = density * space
    ours: dict[str, list[float]] = {name: [] for name in ("full", "slow", "fast", "spring slow", "spring fast")}
    real: dict[str, list[float]] = {name: [] for name in ours}
    for state in chart(scenario, PRESSURES, cold=-20.0, hot=45.0).states:
        t = state.temperature
        ours["full"].append((state.full_pressure + ATM) / 1e5)
        real["full"].append(PropsSI("P", "D", density, "T", t, "Nitrogen") / 1e5)
        for line in state.lines:
            p = line.oil_pressure + ATM
            rho = PropsSI("D", "P", p, "T", t, "Nitrogen")
            volume, entropy = mass / rho, PropsSI("S", "P", p, "T", t, "Nitrogen")
            for end, length in ((line.top, HIGH), (line.bottom, BOTTOM)):
                there = volume + AREA * (length - NOMINAL)
                if there > space:
                    continue
                slow = PropsSI("P", "D", mass / there, "T", t, "Nitrogen")
                fast = PropsSI("P", "D", mass / there, "S", entropy, "Nitrogen")
                for name, found, value in (("slow", end.pressure, slow), ("fast", end.fast_pressure, fast)):
                    if value <= TOP:
                        ours[name].append((found + ATM) / 1e5)
                        real[name].append(value / 1e5)
            lift = line.oil_pressure * AREA * RATIO_RATE
            bulk = {
                "spring slow": rho * PropsSI("d(P)/d(D)|T", "P", p, "T", t, "Nitrogen"),
                "spring fast": rho * PropsSI("A", "P", p, "T", t, "Nitrogen") ** 2,
            }
            for name, modulus in bulk.items():
                ours[name].append((line.spring_slow if name.endswith("slow") else line.spring_fast) / 1e3)
                real[name].append((RATIO**2 * AREA**2 * modulus / volume + lift) / 1e3)
    assert len(ours["slow"]) > 14 < len(ours["fast"])
    for name, words, unit in (
        ("full", "pressure below which the cushion is lost", "bar"),
        ("slow", "oil pressure at the stops, slow move", "bar"),
        ("fast", "oil pressure at the stops, fast move", "bar"),
        ("spring slow", "spring rate at the disc, slow", "N/mm"),
        ("spring fast", "spring rate at the disc, fast", "N/mm"),
    ):
        published.worst(
            f"{words}, −20 and 45 °C, 30–100 bar", source=SPAN, status="computed", values=real[name], ours=ours[name],
            unit=unit, rel=0.01,
        )  # fmt: skip


def test_warming_of_trapped_oil_against_real_nitrogen(published, scenario):
    found = chart(scenario, [60e5], 0.0, 35.0)
    rho = PropsSI("D", "P", 60e5 + ATM, "T", 273.15, "Nitrogen")
    hot = PropsSI("P", "D", rho, "T", 308.15, "Nitrogen")
    published(
        "60 bar set at 0 °C, read at 35 °C with the oil trapped", source=SPAN, status="computed",
        value=hot / 1e5, ours=(found.warmed + ATM) / 1e5, unit="bar", rel=0.01,
    )  # fmt: skip
    assert math.isclose(found.own[0].downforce, 60e5 * AREA * RATIO, rel_tol=1e-5)
