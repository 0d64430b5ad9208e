"""Sinkage and rolling resistance of a wheel against the published forms and their worked values.

Sources: Wong, Theory of Ground Vehicles, Table 2.3 (soil constants: `seen` in public code or from memory) and the
rigid-wheel sinkage z = [3W/((3 − n)(k_c + b k_φ)√D)]^(2/(2n+1)) (Li & Bingham 2022, NASA white paper
20220010732, `seen`); Brixius 1987 and ASABE D497 for the motion resistance (`seen`).
"""

from __future__ import annotations

import math

import pytest
from every import every

from sim.laws.wheel_soil import brixius_area, motion_resistance, sinkage_constant, static_load

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
