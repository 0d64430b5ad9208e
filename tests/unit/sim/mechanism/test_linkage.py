"""Both parallelograms: closures, their derivatives, the perfect depth linkage, its faults and its errors.

The yardstick is a Newton solution of the two loop equations in the angles of the four moving parts, with derivatives
by the complex step; it shares no formula with `sim.mechanism.linkage`.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from every import every
from packed_model import CRANK, packed

from sim.errors import LinkageError
from sim.laws.gas import NITROGEN
from sim.mechanism.linkage import (
    CHANGE_POINT_SINE,
    actuator_length,
    check_travel,
    closures,
    drift,
    setting_ratios,
    travel,
    wheel_over_disc,
)
from sim.setting import rest_at
from sim.unit import DepthLinkage, GaugeWheel, MainLinks, Unit


def loop_angles(unit: Unit, crank_angle: float, theta: complex) -> np.ndarray:
    """Angles of bell crank, rod, gauge arm, turnbuckle from the loop equations; θ may be complex."""
    link, arm = unit.depth_linkage, unit.gauge_wheel

    def at(angle):
        return np.array([np.cos(angle), np.sin(angle)])

    u1 = unit.main_links.length * np.array([-np.cos(theta), np.sin(theta)])
    crank = np.array(link.crank_pivot) + link.crank * at(crank_angle)
    bell = u1 + np.array(link.bell_pivot)
    w = np.array([crank_angle, math.pi - np.real(theta), 3.9, -1.6], dtype=complex)
    for _ in range(60):
        phi, eta, beta, tau = w
        first = crank + link.rod * at(eta) - bell - link.bell_first * at(phi)
        end = bell + link.bell_second * at(phi + link.bell_angle)
        second = end + link.turnbuckle * at(tau) - u1 - np.array(arm.arm_pivot) - arm.lug * at(beta)

        def turn(angle):
            return at(angle + math.pi / 2)

        zero = np.zeros(2)
        jacobian = np.concatenate(
            [
                np.array([-link.bell_first * turn(phi), link.rod * turn(eta), zero, zero]).T,
                np.array(
                    [
                        link.bell_second * turn(phi + link.bell_angle),
                        zero,
                        -arm.lug * turn(beta),
                        link.turnbuckle * turn(tau),
                    ]
                ).T,
            ]
        )
        w = w - np.linalg.solve(jacobian, np.concatenate([first, second]))
    return w


def derivatives(unit: Unit, crank_angle: float, theta: float) -> tuple[np.ndarray, np.ndarray]:
    """First and second derivatives of the four angles to θ: complex step, and its central difference."""

    def slope(t):
        return loop_angles(unit, crank_angle, t + 1e-40j).imag / 1e-40

    h = 2e-3
    second = (8 * (slope(theta + h) - slope(theta - h)) - (slope(theta + 2 * h) - slope(theta - 2 * h))) / (12 * h)
    return slope(theta), second


def mismatched(seed: int) -> Unit:
    """The default unit with every length and pivot of the depth linkage a little wrong."""
    rng = np.random.default_rng(seed)

    def off(value: float, by: float = 0.02) -> float:
        return value + by * rng.uniform(-1, 1)

    link = DepthLinkage(
        crank_pivot=(off(0.0), off(0.0)), bell_pivot=(off(0.0), off(0.0)), crank=off(0.12, 0.01),
        bell_first=off(0.12, 0.01), bell_second=off(0.12, 0.01), bell_angle=math.radians(off(90.0, 5.0)),
        rod=off(0.55), turnbuckle=off(0.525, 0.01),
    )  # fmt: skip
    arm = replace(GaugeWheel(), lug=off(0.15, 0.01), arm_pivot=(off(0.02), off(-0.48, 0.01)))
    return replace(Unit(), depth_linkage=link, gauge_wheel=arm)


UNITS = [Unit(), *(mismatched(seed) for seed in range(8))]
ANGLES = np.radians([-34.0, -20.0, -5.0, 0.0, 11.0, 28.0, 34.0])


@every("unit", UNITS)
def test_closures_against_the_loop_equations(unit):
    m = packed(unit)
    for theta in ANGLES:
        k = closures(m, float(theta))
        phi, eta, beta, tau = loop_angles(unit, CRANK, float(theta)).real
        second = phi + unit.depth_linkage.bell_angle
        for vector, length, angle in (
            ((k.bx, k.bz), unit.depth_linkage.bell_first, phi),
            ((k.ex, k.ez), unit.depth_linkage.bell_second, second),
            ((k.gx, k.gz), unit.gauge_wheel.lug, beta),
            ((k.rodx, k.rodz), unit.depth_linkage.rod, eta),
            ((k.tx, k.tz), unit.depth_linkage.turnbuckle, tau),
        ):
            assert vector == pytest.approx((length * math.cos(angle), length * math.sin(angle)), abs=1e-13)
        assert k.per_rod * (k.rodz * k.bx - k.rodx * k.bz) == pytest.approx(1.0, rel=1e-11)
        assert k.per_buckle * (k.tz * k.gx - k.tx * k.gz) == pytest.approx(1.0, rel=1e-11)


@every("unit", UNITS)
def test_derivatives_against_the_complex_step(unit):
    m = packed(unit)
    for theta in ANGLES:
        k = closures(m, float(theta))
        first, second = derivatives(unit, CRANK, float(theta))
        assert [k.phi_t, k.eta_t, k.beta_t, k.tau_t] == pytest.approx(first, abs=1e-11)
        np.testing.assert_allclose([k.phi_tt, k.eta_tt, k.beta_tt, k.tau_tt], second, rtol=1e-6, atol=2e-8)


def test_main_parallelogram():
    m = packed()
    for theta in ANGLES:
        k = closures(m, float(theta))
        assert (k.u1x, k.u1z) == pytest.approx(
            (-0.12 - 0.55 * math.cos(theta), 0.10 + 0.55 * math.sin(theta)), abs=1e-15
        )
        assert (k.u1x_t, k.u1z_t) == pytest.approx((0.55 * math.sin(theta), 0.55 * math.cos(theta)), abs=1e-15)


@every("crank", [80.0, 90.0, 97.5, 104.0, 115.0])
def test_perfect_linkage_keeps_depth_over_the_whole_travel(crank):
    unit = Unit()
    m = packed(unit, math.radians(crank))
    for theta in travel(unit, n=101):
        k = closures(m, float(theta))
        reach = m.arm_l / m.lug
        assert abs(k.beta_t * reach * k.gx) < 1e-12  # ∂(wheel bottom − disc bottom)/∂θ [m/rad]
        assert abs(k.beta_t * reach * k.gz) < 1e-12
        assert abs(k.beta_tt) < 1e-11
    over = [wheel_over_disc(unit, math.radians(crank), float(t)) for t in travel(unit, n=101)]
    assert np.ptp(over) < 1e-13


def test_wheel_of_a_perfect_linkage_loads_the_arm_like_one_fixed_to_the_carrier():
    """What a newton under the wheel gives on θ is what a newton anywhere on the carrier gives: l cos θ."""
    unit = Unit()
    m = packed(unit)
    law = NITROGEN
    for theta in travel(unit, n=21):
        rest = rest_at(m, law, 5.0, float(theta), -0.3, 1.2e6)
        assert rest.arm_per_load == pytest.approx(unit.main_links.length * math.cos(theta), abs=1e-12)
    tilted = packed(mismatched(1))
    assert abs(rest_at(tilted, law, 5.0, 0.3, -0.3, 1.2e6).arm_per_load - 0.55 * math.cos(0.3)) > 1e-3


@every("offset", [(0.0, 0.010), (0.010, 0.0), (-0.007, 0.007)])
@every("where", ["crank_pivot", "bell_pivot"])
def test_drift_of_a_misplaced_pivot(offset, where):
    """A pivot 10 mm off: the drift over arm travel is that of an independent solution."""
    unit = replace(Unit(), depth_linkage=replace(DepthLinkage(), **{where: offset}))
    angles = travel(unit, n=15)

    def wheel(theta: float) -> float:
        beta = loop_angles(unit, CRANK, theta).real[2]
        return unit.gauge_wheel.arm_length * math.sin(beta)

    exact = np.array([wheel(float(t)) - wheel(0.0) for t in angles])
    assert drift(unit, CRANK, angles) == pytest.approx(exact, abs=1e-12)
    assert np.ptp(exact) > 0.001
    m = packed(unit)
    lug = unit.gauge_wheel.arm_length / unit.gauge_wheel.lug
    compiled = [lug * (closures(m, float(t)).gz - closures(m, 0.0).gz) for t in angles]
    assert compiled == pytest.approx(exact, abs=1e-12)


@every(
    ("change", "rod", "fault"),
    [
        ({"crank_pivot": (0.0, 1e-5)}, 0.0, (0.0, 1e-5)),
        ({"crank_pivot": (1e-5, 0.0)}, 0.0, (1e-5, 0.0)),
        ({"bell_pivot": (0.0, 1e-5)}, 0.0, (0.0, -1e-5)),
        ({"rod": 0.55 + 1e-5}, 1e-5, (0.0, 0.0)),
    ],
)
def test_small_faults_follow_the_linear_formula(change, rod, fault):
    """δφ(θ) = [δL_r + (−cos θ, sin θ)·(e_F − e_R)]/(r_c sin(α + θ)), less its value at nominal, times dz/dφ.

    A misplaced bell crank also moves the turnbuckle's end, the same at every arm angle: it drops out of the drift.
    """
    unit = replace(Unit(), depth_linkage=replace(DepthLinkage(), **change))
    angles = np.radians([-25.0, -10.0, 15.0, 25.0])
    alpha, r = CRANK, 0.12

    def turn(theta):
        return (rod - np.cos(theta) * fault[0] + np.sin(theta) * fault[1]) / (r * np.sin(alpha + theta))

    eps = 1e-6
    per_angle = (wheel_over_disc(Unit(), alpha + eps, 0.0) - wheel_over_disc(Unit(), alpha - eps, 0.0)) / (2 * eps)
    expected = (turn(angles) - turn(0.0)) * per_angle
    assert drift(unit, alpha, angles) == pytest.approx(expected, rel=2e-3, abs=1e-10)


def test_default_faults_in_millimetres():
    """F 1 mm high: −0.8 mm of depth at +20°, +0.7 at −20°; R high: the other way round."""
    angles = np.radians([20.0, -20.0])
    high = replace(Unit(), depth_linkage=DepthLinkage(crank_pivot=(0.0, 0.001)))
    assert 1e3 * drift(high, CRANK, angles) == pytest.approx([-0.8, 0.7], abs=0.05)
    high = replace(Unit(), depth_linkage=DepthLinkage(bell_pivot=(0.0, 0.001)))
    assert 1e3 * drift(high, CRANK, angles) == pytest.approx([0.8, -0.7], abs=0.05)


def test_ratios_of_the_two_adjustments():
    """Turnbuckle 1 mm longer: 2.0 mm shallower; actuator 1 mm longer: 2.5 mm shallower; 0.416 m at the setting."""
    ratios = setting_ratios(Unit(), CRANK)
    assert ratios.turnbuckle == pytest.approx(-2.0, abs=0.05)
    assert ratios.actuator == pytest.approx(-2.5, abs=0.05)
    assert ratios.actuator_length == pytest.approx(0.416, abs=5e-4)
    longer = replace(Unit(), depth_linkage=DepthLinkage(turnbuckle=0.526))
    change = wheel_over_disc(longer, CRANK, 0.0) - wheel_over_disc(Unit(), CRANK, 0.0)
    assert 1e3 * change == pytest.approx(ratios.turnbuckle, abs=0.02)


def test_actuator_length_by_hand():
    pin = 0.10 * np.array([math.cos(CRANK), math.sin(CRANK)])
    assert actuator_length(Unit(), CRANK) == pytest.approx(float(np.hypot(*(pin - [0.40, 0.05]))), abs=1e-15)


@every(
    ("link", "part"),
    [
        (DepthLinkage(turnbuckle=0.80), "turnbuckle between bell crank and gauge arm"),
        (DepthLinkage(turnbuckle=0.20), "turnbuckle between bell crank and gauge arm"),
        (DepthLinkage(rod=0.90), "rod between crank and bell crank"),
        (DepthLinkage(rod=0.20), "rod between crank and bell crank"),
    ],
)
def test_open_closure_names_part_and_angles(link, part):
    unit = replace(Unit(), depth_linkage=link)
    with pytest.raises(LinkageError, match=r"cannot be closed at arm angle 5\.0°, crank angle 97\.5°") as caught:
        wheel_over_disc(unit, CRANK, math.radians(5.0))
    assert str(caught.value).startswith(part)
    assert "mm" in str(caught.value)


@every("name", ["rod", "turnbuckle"])
def test_near_a_change_point_names_part_and_angles(name):
    """Made longer bit by bit, the part is refused for its change point before its loop opens."""
    part = {"rod": "rod between crank and bell crank", "turnbuckle": "turnbuckle between bell crank and gauge arm"}[
        name
    ]
    said = []
    for longer in np.linspace(0.0, 0.2, 401):
        length = getattr(DepthLinkage(), name) + float(longer)
        unit = replace(Unit(), depth_linkage=replace(DepthLinkage(), **{name: length}))
        try:
            wheel_over_disc(unit, CRANK, 0.0)
        except LinkageError as error:
            if str(error).startswith(part):
                said.append(str(error))
    assert "comes near a change point at arm angle 0.0°, crank angle 97.5° (sin γ = 0." in said[0]
    assert f"allowed: above {CHANGE_POINT_SINE}" in said[0]
    assert "cannot be closed" in said[-1]


def test_a_unit_is_refused_over_its_whole_travel():
    """Fine at the nominal arm angle, but not at the end of a longer travel."""
    unit = replace(Unit(), main_links=MainLinks(stop_up=math.radians(65.0), stop_down=math.radians(-65.0)))
    wheel_over_disc(unit, math.radians(115.0), 0.0)
    with pytest.raises(LinkageError, match=r"change point|cannot be closed"):
        check_travel(unit, math.radians(115.0))
    check_travel(Unit(), math.radians(115.0))
