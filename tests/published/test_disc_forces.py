"""The disc law against the bearing estimate it stems from, and against what the D497 speed slope gives.

Sources: bearing estimate F_v = p t √(2Rd − d²) (`derived`); ASABE D497 coulter row A 55, B 2.7 (values from
memory): its slope is a parameter of the soil, so that row is a calibration.
"""

from __future__ import annotations

import math

import pytest
from every import every

from sim.laws.disc import disc_force
from sim.unit import Soil

RADIUS, EDGE, PRESSURE = 0.2286, 0.005, 1.2e6


def level(depth: float, *, speed_term=1.0, face=0.0, friction=0.0, tilt=0.0, sweep=0.0, vz=0.0, width=EDGE):
    """Disc force in level motion at 2 m/s (vz: falling or rising)."""
    return disc_force(
        depth, 2.0, vz, PRESSURE, speed_term, width, RADIUS, face, friction,
        math.sin(tilt), math.cos(tilt), math.sin(sweep), math.cos(sweep),
    )  # fmt: skip


@every(("depth", "chord", "force"), [(25, 103.9, 0.62), (50, 142.7, 0.86), (75, 169.3, 1.02), (95, 185.5, 1.11)])
def test_bearing_estimate(published, depth, chord, force):
    f_x, f_z, edge, _, _ = level(1e-3 * depth)
    common = {"source": "bearing of a thin edge p·t·c", "status": "derived"}
    published(
        f"leading half chord of a disc R 0.2286 m at {depth} mm", value=chord, ours=1e3 * f_z / (PRESSURE * EDGE),
        unit="mm", rel=1e-3, **common,
    )  # fmt: skip
    published("its vertical force, 5 mm edge, 1.2 MPa", value=force, ours=f_z / 1e3, unit="kN", within=0.006, **common)
    assert edge == f_z
    assert -f_x == pytest.approx(PRESSURE * EDGE * 1e-3 * depth)


def test_force_grows_with_the_root_of_depth(published):
    shallow, deep = level(0.002)[1], level(0.008)[1]
    published(
        "thin edge, force at four times the depth (d << R)", source="F_v ∝ d^½", status="derived", value=2.0,
        ours=deep / shallow, rel=0.01,
    )  # fmt: skip


def test_speed_slope_of_the_coulter(published):
    """(A + 12 B)/(A + 4 B) = 1.33 with the ratio B/A that the soil's default takes over."""
    a_v = Soil().speed_factor
    slow, fast = (level(0.05, speed_term=1.0 + a_v * s)[0] for s in (4.0, 12.0))
    published(
        "coulter draught at 12 km/h over 4 km/h", source="ASABE D497, coulter A 55, B 2.7", status="memory (high)",
        value=(55 + 2.7 * 12) / (55 + 2.7 * 4), ours=fast / slow, rel=1e-6, kind="calibration",
    )  # fmt: skip


def test_arc_integral_by_quadrature():
    """Pressure on the arc from ψ_t behind the bottom to the surface ahead, summed over its normal, any motion."""
    depth, vz = 0.05, -0.15
    turn = math.atan2(0.15, 2.0)
    surface = math.acos(1 - depth / RADIUS)
    n = 20_000
    arc = [surface - (surface + turn) * (i + 0.5) / n for i in range(n)]
    part = (surface + turn) / n * RADIUS * PRESSURE * EDGE
    up = sum(math.cos(a) for a in arc) * part
    back = sum(math.sin(a) for a in arc) * part
    f_x, f_z, *_ = level(depth, vz=vz)
    assert f_z == pytest.approx(up, rel=1e-6)
    assert -f_x == pytest.approx(back, rel=1e-6)


def test_face_force_by_its_parts():
    """N_f = k_f q f_v (2/3) c h, F_z += N_f sin τ cos ε, F_x −= N_f(sin ε cos τ + μ), Y = N_f cos τ cos ε."""
    depth, tilt, sweep, k, mu, f_v = 0.05, 0.3, 0.1, 0.04, 0.25, 1.4
    chord = math.sqrt(depth * (2 * RADIUS - depth))
    normal = k * PRESSURE * f_v * 2 / 3 * chord * depth
    f_x, f_z, edge, face, side = level(depth, speed_term=f_v, face=k, friction=mu, tilt=tilt, sweep=sweep)
    bare = level(depth, speed_term=f_v)
    assert face == pytest.approx(normal)
    assert edge == bare[1]
    assert f_z - bare[1] == pytest.approx(normal * math.sin(tilt) * math.cos(sweep))
    assert bare[0] - f_x == pytest.approx(normal * (math.sin(sweep) * math.cos(tilt) + mu))
    assert side == pytest.approx(normal * math.cos(tilt) * math.cos(sweep))


def test_out_of_the_ground_and_beyond_the_arc():
    assert level(0.0)[:3] == (0.0, 0.0, 0.0)
    steep = level(0.05, vz=-40.0)  # falls almost straight: the whole chord on both sides bears
    chord = math.sqrt(0.05 * (2 * RADIUS - 0.05))
    assert steep[1] == pytest.approx(PRESSURE * EDGE * 2 * chord)
    rising = level(0.05, vz=40.0)
    assert rising[1] == pytest.approx(0.0, abs=1e-6)
