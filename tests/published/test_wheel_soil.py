"""Sinkage and rolling resistance of a wheel against the published forms and their worked values.

Sources: Wong, Theory of Ground Vehicles, Table 2.3 (soil constants: `seen` in public code or from memory) and the
rigid-wheel sinkage z = [3W/((3 − n)(k_c + b k_φ)√D)]^(2/(2n+1)) (Li & Bingham 2022, NASA white paper
20220010732, `seen`); Brixius 1987 and ASABE D497 for the motion resistance (`seen`); Maclaurin's sinkage of vehicle
tyres over cone index (the formula seen in public code); a press wheel in a soil bin (abstract seen). The impedance of
a wheel in small motion follows from the rate law by hand (`derived`), Z = (K′ + iωb)(k + iωc)/(K′ + k + iω(b + c)).
"""

from __future__ import annotations

import cmath
import math

import pytest
from every import every

from sim.laws.wheel_soil import (
    SoilConstants,
    brixius_area,
    motion_resistance,
    sinkage_constant,
    soil_constants,
    static_load,
    wheel_on_soil,
)
from sim.unit import GaugeWheel, PressWheel, Soil

WIDTH, DIAMETER = 0.10, 0.40  # m, of the worked values

# n, k_c kN/m^(n+1), k_φ kN/m^(n+2), sinkage mm at 1 kN and 2 kN, compaction resistance N at 1 kN and 2 kN
SOILS = {
    "dry sand": (1.10, 0.99, 1528.43, 76.11, 117.37, 328.0, 814.6),
    "sandy loam, 15 %": (0.70, 5.27, 1515.04, 27.08, 48.24, 199.6, 532.9),
    "clayey soil, 38 %": (0.50, 13.19, 692.15, 23.02, 46.05, 191.9, 542.9),
    "LETE sand": (0.793, 102.0, 5301.0, 12.33, 21.07, 133.1, 348.0),
    "North Gower clayey loam": (0.73, 41.6, 2471.0, 18.19, 31.96, 162.9, 431.9),
}


def sinkage(soil: str, load: float) -> float:
    """Sinkage [m] at which `static_load` carries the load [N], by bisection of the law the march uses."""
    n, k_c, k_phi = SOILS[soil][:3]
    constant = sinkage_constant(n, 1e3 * k_c, 1e3 * k_phi, WIDTH, DIAMETER)
    low, high = 0.0, 1.0
    for _ in range(100):
        mid = 0.5 * (low + high)
        low, high = (mid, high) if static_load(mid, constant, n) < load else (low, mid)
    return 0.5 * (low + high)


@every("soil", SOILS)
@every("load", [1000.0, 2000.0])
def test_rolling_sinkage(published, soil, load):
    status = "values from memory" if soil.startswith("North") else "computed from constants seen in public code"
    published(
        f"sinkage at {load / 1e3:.0f} kN, wheel 0.40 × 0.10 m, {soil}",
        source="Bekker–Wong rigid wheel; Wong, Table 2.3",
        status=status,
        value=SOILS[soil][3 if load < 1500 else 4],
        ours=1e3 * sinkage(soil, load),
        unit="mm",
        rel=5e-4,
    )


def test_work_of_sinking_is_the_compaction_resistance(published):
    """R_c = (k_c + b k_φ) z^(n+1)/(n+1) at our sinkage: the resistance is left to Brixius, the sinkage is ours."""
    values, ours = [], []
    for soil, row in SOILS.items():
        n, k_c, k_phi = row[:3]
        for load, value in zip((1000.0, 2000.0), row[5:], strict=True):
            z = sinkage(soil, load)
            values.append(value)
            ours.append(1e3 * (k_c / WIDTH + k_phi) * WIDTH * z ** (n + 1) / (n + 1))
    published.worst(
        "compaction resistance from our sinkage, five soils at 1 and 2 kN", source="Bekker; Wong, Table 2.3",
        status="computed", values=values, ours=ours, unit="N", rel=1e-3,
    )  # fmt: skip


def test_sinkage_scales_with_load(published):
    ratios, ours = [], []
    for soil, row in SOILS.items():
        ratios.append(3.0 ** (2.0 / (2.0 * row[0] + 1.0)))
        ours.append(sinkage(soil, 1500.0) / sinkage(soil, 500.0))
    published.worst(
        "z ∝ W^(2/(2n+1)), three times the load, five soils", source="Bekker–Wong", status="derived", values=ratios,
        ours=ours, rel=1e-9,
    )  # fmt: skip


def test_no_load_in_the_air():
    assert static_load(-0.01, 3e5, 0.6) == 0.0
    assert static_load(0.0, 3e5, 0.6) == 0.0


# cone index kPa: B_n, ρ (b 0.1 m, d 0.4 m, W 1 kN, δ/h 0.2, no slip)
BRIXIUS = [(450, 20.57, 0.0886), (900, 41.14, 0.0643), (1200, 54.86, 0.0582), (1800, 82.29, 0.0522)]


@every(("cone_index", "number", "resistance"), BRIXIUS)
def test_brixius(published, cone_index, number, resistance):
    area = brixius_area(WIDTH, DIAMETER, 0.2)
    common = {"source": "Brixius 1987; ASABE D497", "status": "computed from the form seen in public code"}
    ours = 1e3 * cone_index * area / 1000.0
    published(f"wheel number B_n at {cone_index} kPa", value=number, ours=ours, rel=2e-4, **common)
    published(
        f"motion resistance ratio at {cone_index} kPa", value=resistance,
        ours=motion_resistance(1000.0, 1e3 * cone_index * area), rel=1e-3, **common,
    )  # fmt: skip


def test_brixius_resistance_grows_with_load():
    area = 1.2e6 * brixius_area(WIDTH, DIAMETER)
    light, heavy = motion_resistance(500.0, area), motion_resistance(1500.0, area)
    assert heavy - 0.04 == pytest.approx(3.0 * (light - 0.04))
    assert motion_resistance(0.0, area) == 0.04
    assert math.isclose(brixius_area(0.1, 0.4, 0.0) * 2.0, brixius_area(0.1, 0.4, 0.2))


def sunk_by(load: float, soil: SoilConstants) -> float:
    """Sinkage [m] that carries a load [N] at rest, at the soil's reference strength."""
    return (load / soil.load) ** (1.0 / (soil.exponent + 0.5))


def impedance(frequency: float, load: float = 1000.0, speed: float = 10 / 3.6) -> complex:
    """N̂/q̂ [N/m] of the default gauge wheel on the default soil at a mean load [N], shaken by 10 µm.

    The tyre's deflection is marched by `wheel_on_soil` over ten periods (RK4), the last one is compared.
    """
    wheel, per_period, size = GaugeWheel(), 400, 1e-5
    soil = soil_constants(Soil(), wheel.width, wheel.radius)
    k, c = wheel.tyre_stiffness, wheel.tyre_damping
    omega, h = 2.0 * math.pi * frequency, 1.0 / (frequency * per_period)
    rest = load / k + sunk_by(load, soil)

    def wheel_at(time: float, deflection: float):
        squash, rate = rest + size * math.sin(omega * time), size * omega * math.cos(omega * time)
        return wheel_on_soil(squash - deflection, rate, deflection, 1.0, 0.0, soil, k, c, 1.0 / c, speed)

    deflection, turned = load / k, 0.0j
    for i in range(10 * per_period):
        t = i * h
        if i >= 9 * per_period:
            turned += (wheel_at(t, deflection).load - load) * cmath.exp(-1j * omega * t)
        a = wheel_at(t, deflection).tyre_rate
        b = wheel_at(t + h / 2, deflection + h / 2 * a).tyre_rate
        d = wheel_at(t + h / 2, deflection + h / 2 * b).tyre_rate
        e = wheel_at(t + h, deflection + h * d).tyre_rate
        deflection += h / 6 * (a + 2 * b + 2 * d + e)
    return 2j * turned / per_period / size


@every(("frequency", "stiffness", "angle"), [(5.0, 98.61, 15.5), (20.0, 141.87, 47.4)])
def test_impedance_of_the_gauge_wheel(published, frequency, stiffness, angle):
    z = impedance(frequency)
    common = {"source": "rate law and tyre in series, small motion", "status": "derived"}
    published(
        f"stiffness of the gauge wheel in small motion at {frequency:g} Hz, 1 kN, 10 km/h", value=stiffness,
        ours=abs(z) / 1e3, unit="kN/m", rel=2e-4, **common,
    )  # fmt: skip
    published(
        "by how much its load leads", value=angle, ours=math.degrees(cmath.phase(z)), unit="°", within=0.06, **common
    )


def test_load_at_a_sinkage_is_in_proportion_to_strength(published):
    wheel = GaugeWheel()
    soil = soil_constants(Soil(), wheel.width, wheel.radius)
    k, c = wheel.tyre_stiffness, wheel.tyre_damping

    def carried(strength: float) -> float:
        """Load [N] at 6 mm of sinkage that does not change: δ is where the tyre stands still."""
        load = static_load(0.006, soil.load, soil.exponent) * strength
        return wheel_on_soil(0.006, 0.0, load / k, strength, 0.0, soil, k, c, 1.0 / c, 2.0).load

    published(
        "load at a given sinkage, twice the cone index", source="Maclaurin; Brixius 1987; Janosi",
        status="seen (public code)", value=2.0, ours=carried(2.0) / carried(1.0), rel=1e-9,
    )  # fmt: skip


def maclaurin(load: float, wheel: GaugeWheel, deflection: float, cone_index: float = 1.2e6) -> float:
    """Sinkage z = 0.224 d/N^1.25 [m], N = CI b^0.8 d^0.8 δ^0.4/W."""
    d = 2.0 * wheel.radius
    number = cone_index * wheel.width**0.8 * d**0.8 * deflection**0.4 / load
    return 0.224 * d / number**1.25


def test_sinkage_against_cone_index(published):
    """Maclaurin at 1 kN in 1.2 MPa: 4.5 mm at our tyre's 5 mm of deflection, 2.2 mm at 20 mm."""
    wheel = GaugeWheel()
    soil = soil_constants(Soil(), wheel.width, wheel.radius)
    soft, hard = (1e3 * maclaurin(1000.0, wheel, deflection) for deflection in (0.005, 0.020))
    assert (soft, hard) == (pytest.approx(4.5, abs=0.05), pytest.approx(2.2, abs=0.05))
    published.band(
        "sinkage of the gauge wheel at 1 kN, 1.2 MPa, tyre deflected 5–20 mm", source="Maclaurin, vehicle tyres",
        status="computed from a formula seen in public code", low=hard, high=soft,
        ours=1e3 * sunk_by(1000.0, soil), unit="mm", hit=False,
        why="the formula was fitted on the tyres of vehicles and is carried on here to a small wheel",
    )  # fmt: skip


def test_press_wheel_of_the_soil_bin(published, cross):
    run = cross("flat")
    press, load = PressWheel(), run.series["press_load"][-1]
    soil = soil_constants(Soil(), press.width, press.radius)
    common = {"source": "press wheel on prepared sandy loam, soil bin (DEM study, Canada)", "status": "seen (abstract)"}
    unlike = "the bin's soil was prepared and the load is not stated; ours runs on firm soil"
    published.band(
        "sinkage of the press wheel", low=25.2, high=27.7, ours=1e3 * sunk_by(load, soil),
        unit="mm", hit=False, why=unlike, **common,
    )  # fmt: skip
    published.band(
        "rolling resistance of the press wheel", low=89.9, high=113.6, ours=press.rolling * load, unit="N", hit=False,
        why=unlike, **common,
    )  # fmt: skip
